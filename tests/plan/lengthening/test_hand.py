"""A cut that a hand can make: every line of the solver is one, in printed steps, and lines from outside are told apart."""

from dataclasses import replace

import numpy as np
import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from collum.case.model import Held, Tooth
from collum.core import tooth as anatomy
from collum.core.ring import STATIONS_DEG
from collum.plan import judge_tooth, plan_tooth
from collum.plan.lengthening.procedures.bone_surgery import best_printed
from collum.plan.lengthening.solver.bone_programme import BoneLines
from collum.plan.lengthening.solver.bounds import most_bone_mm, neck_of
from collum.plan.lengthening.solver.hand import Neck, hand_faults, shape_of_cut
from collum.plan.lengthening.solver.hand_bone import bone_faults, changes_of, width_mm
from collum.plan.lengthening.solver.programme import Programme
from collum.plan.lengthening.solver.site_depths import PrintedCut
from collum.plan.lengthening.solver.whole_steps import fitted, most_apart_mm
from collum.wire.plan.site_document import site_document
from collum.wire.speaking import speaker
from tests.making.teeth import broken_premolar, case_of, overgrown_premolar, readings, row
from tests.measuring.as_peer import route_plan
from tests.measuring.necks import EVIDENCE, drawn_neck
from tests.plan.lengthening.test_programme import programme
from tests.plan.lengthening.test_soft_tissue import moved

SITES = (0, 6, 12, 18, 24, 30)
ON_STEP_MM = 1e-6  # printed with six decimals
NOTHING = np.zeros(36)
DRAWS = 1_000


def neck(margin_mm: np.ndarray = NOTHING, number: int = 21) -> Neck:
    arc = np.diff(anatomy.arc_mm(number, np.append(STATIONS_DEG, 360)))
    return Neck(margin_mm=margin_mm, arc_mm=arc, sites=SITES, limits=EVIDENCE.limits)


def scallop(height_mm: float) -> np.ndarray:
    """A margin that rises by `height_mm` from the middle of each side to the papillae."""
    return np.asarray(height_mm * np.sin(np.deg2rad(STATIONS_DEG)) ** 2)


def ids(found: tuple) -> set[str]:  # type: ignore[type-arg]  # of faults
    return {fault.id for fault in found}


def shaped(seed: int, number: int, scallop_mm: float) -> Programme:
    """A made programme on the neck of a tooth, with rules of its own that ask for a cut somewhere."""
    rng = np.random.default_rng(seed)
    made = programme(seed)
    wave = sum(rng.normal(0, 0.5) * np.cos(np.deg2rad(k * STATIONS_DEG + rng.uniform(0, 360))) for k in (1, 2, 3))
    margin = scallop(scallop_mm) + 0.3 * wave
    upper = tuple(replace(one, mean_mm=one.mean_mm + 1.5 * wave - rng.uniform(-1, 2)) for one in made.upper)
    shape = shape_of_cut(neck(margin, number))
    low = np.minimum(made.cut_low_mm + wave, 0)
    return replace(made, upper=upper, cut_low_mm=low, margin_mm=margin, shape=shape)


@settings(max_examples=25, deadline=None)
@given(st.integers(0, 10_000), st.sampled_from([11, 41, 45, 36]), st.floats(0, 4))
def test_no_printed_line_is_beyond_a_hand_or_a_guard(seed: int, number: int, scallop_mm: float) -> None:
    made = shaped(seed, number, scallop_mm)
    lines = PrintedCut(made).needed()
    assert made.shape is not None
    assert hand_faults(made.shape.neck, lines.cut_mm) == ()
    at_sites = -lines.cut_mm[list(SITES)]
    assert at_sites / 0.5 == pytest.approx(np.round(at_sites / 0.5), abs=ON_STEP_MM)
    assert (lines.cut_mm >= made.cut_low_mm - 1e-4).all()
    assert (lines.cut_mm == PrintedCut(made).needed().cut_mm).all()


@pytest.mark.campaign
@settings(max_examples=1_500, deadline=None)
@given(st.integers(0, 1_000_000), st.sampled_from([11, 12, 23, 41, 45, 26, 36]), st.floats(0, 5))
def test_of_many_printed_lines_none_is_beyond_a_hand(seed: int, number: int, scallop_mm: float) -> None:
    made = shaped(seed, number, scallop_mm)
    assert made.shape is not None
    assert hand_faults(made.shape.neck, PrintedCut(made).needed().cut_mm) == ()


@pytest.mark.parametrize("depth_mm", [0.0, 0.5, 2.0])
def test_a_healthy_scallop_followed_by_the_cut_passes(depth_mm: float) -> None:
    assert hand_faults(neck(scallop(4.0)), np.full(36, -depth_mm)) == ()


def test_a_good_line_drawn_by_hand_passes() -> None:
    """1.5 mm over the facial side of a flat margin, run out to both papillae as a smooth curve."""
    arc = np.concatenate([[0], np.cumsum(neck().arc_mm)[:-1]])
    along = np.minimum(arc, neck().arc_mm.sum() - arc)
    drawn = np.where(along < 5.0, -0.75 * (1 + np.cos(np.pi * along / 5.0)), 0)
    assert hand_faults(neck(), drawn) == ()


@pytest.mark.parametrize(
    ("fault", "cut_mm"),
    [
        ("shallow_site", {0: -0.3}),
        ("depth_change", {0: -0.5, 1: -0.1}),
        ("margin_bend", {9: -0.4}),
        ("ridge", {2: -0.4, 3: -0.4, 4: -0.4}),
        ("second_low", {0: -0.5, 1: -0.5, 35: -0.5, 6: -0.9, 5: -0.9, 7: -0.9}),
    ],
)
def test_a_line_beyond_a_bound_is_told_by_its_name(fault: str, cut_mm: dict[int, float]) -> None:
    line = NOTHING.copy()
    line[list(cut_mm)] = list(cut_mm.values())
    assert fault in ids(hand_faults(neck(), line))


@pytest.mark.parametrize(("change", "beyond"), [(0.59, False), (0.61, True)])
def test_the_change_of_depth_is_bounded_where_it_is_said_to_be(change: float, beyond: bool) -> None:
    along = np.concatenate([[0], np.cumsum(neck().arc_mm)[:-1]])
    line = -np.maximum(np.minimum(change * along, 0.3 * (6 - along)), 0)
    assert ("depth_change" in ids(hand_faults(neck(), line))) is beyond


@pytest.mark.parametrize(("steeper", "beyond"), [(0.0, False), (0.05, True)])
def test_todays_slope_is_the_bound_where_it_is_steeper(steeper: float, beyond: bool) -> None:
    steep = neck(scallop(6.0))
    assert np.max(np.abs(np.diff(steep.margin_mm)) / steep.arc_mm[:-1]) > 1.5
    line = -steeper * scallop(6.0) / 6.0 - 1  # deeper at the papillae eases the scallop, less deep makes it steeper
    assert ("margin_slope" in ids(hand_faults(steep, -2 - line))) is beyond


CREST = np.full(36, -3.0)


def bone(*stations: int, mm: float = 0.5) -> np.ndarray:
    taken = NOTHING.copy()
    taken[list(stations)] = mm
    return taken


@pytest.mark.parametrize(
    ("fault", "taken"),
    [
        ("shallow_bone", bone(*range(-4, 5), mm=0.3)),
        ("crest_slope", bone(*range(-4, 5), mm=1.0)),
        ("narrow_bone", bone(-1, 0, 1)),
        ("low_between", bone(*range(5, 14))),
        ("neighbour_bone", bone(*range(36), mm=1.5)),
    ],
)
def test_bone_work_beyond_a_bound_is_told_by_its_name(fault: str, taken: np.ndarray) -> None:
    most = np.where(np.abs(np.arange(36) - 9) <= 2, 1.0, 6.0)
    assert fault in ids(bone_faults(neck(), CREST, taken, most))


def test_bone_taken_evenly_all_round_passes_and_changes_are_measured_round_the_neck() -> None:
    assert bone_faults(neck(), CREST, np.full(36, 0.5), np.full(36, 6.0)) == ()
    runs = changes_of(bone(34, 35, 0, 1, 20) > 0)
    assert sorted(run.tolist() for run in runs) == [[20], [34, 35, 0, 1]]
    assert width_mm(np.arange(36), neck().arc_mm) == pytest.approx(anatomy.perimeter_mm(21))


@pytest.mark.parametrize("tooth", [overgrown_premolar(), broken_premolar()])
@pytest.mark.parametrize("route", ["soft tissue only", "soft tissue and bone", "extrusion first"])
def test_every_route_is_printed_as_a_hand_can_make_it(tooth, route) -> None:  # type: ignore[no-untyped-def]  # names of routes
    """Judged as it is printed: verdict and chance are those of this line."""
    case = case_of(tooth)
    prepared = drawn_neck(case, DRAWS)
    plan = plan_tooth(case, 0, prepared)
    made = route_plan(route, prepared, plan.wishes, plan.perimeter_mm)
    on = neck_of(prepared)
    assert hand_faults(on, made.cut_mm) == ()
    depths, taken = made.cut_mm[list(on.sites)], made.treatment.bone_mm[list(on.sites)]
    assert depths / 0.5 == pytest.approx(np.round(depths / 0.5), abs=2 * ON_STEP_MM)
    assert taken / 0.5 == pytest.approx(np.round(taken / 0.5), abs=2 * ON_STEP_MM)
    crest = prepared.margin_mm - prepared.crest_depth_mm.mean(axis=1)
    assert bone_faults(on, crest, made.treatment.bone_mm, most_bone_mm(prepared)) == ()


def test_a_held_handle_goes_first_and_is_told_where_it_breaks_a_bound() -> None:
    free, deep = (replace(overgrown_premolar(), held=Held(cut={"F": mm})) for mm in (-0.5, -2.4))
    found = []
    for tooth in (free, deep):
        case = case_of(tooth)
        route = plan_tooth(case, 0, drawn_neck(case, DRAWS)).route("soft tissue only")
        assert route.plan is not None
        assert route.plan.cut_mm[0] == pytest.approx(tooth.held.cut["F"], abs=1e-4)
        found.append(ids(route.hand_faults))
    assert found[0] == set()
    assert found[1]


def test_a_moved_line_is_judged_and_told_not_forbidden() -> None:
    case = case_of(overgrown_premolar())
    prepared = drawn_neck(case, DRAWS)
    line = NOTHING.copy()
    line[30] = -1.3
    route = judge_tooth(case, 0, prepared, moved(prepared, line, np.full(36, -0.5))).route("soft tissue only")
    assert route.plan is not None and route.plan.assessment.graded
    assert {"depth_change", "margin_bend"} <= ids(route.hand_faults)


def test_a_cut_of_which_too_little_lasts_is_only_to_see() -> None:
    """A healthy sulcus: what is cut grows back; the flag says so at the sites that are cut by a step or more."""
    case = case_of(overgrown_premolar(readings={**overgrown_premolar().readings, "bone_sounding": readings(row(*[3.5] * 6))}))
    prepared = drawn_neck(case, DRAWS)
    route = judge_tooth(case, 0, prepared, moved(prepared, np.full(36, -0.5), np.full(36, -0.5))).route("soft tissue only")
    assert route.forecast is not None
    assert route.forecast.only_to_see.all()


def test_whole_steps_fit_beside_each_other_and_the_deepest_give_in_only_where_they_must() -> None:
    """Stations 0, 2 and 4 on the way from one to the next may differ by 0.6 mm each two; all others are free."""
    flat, nothing_asked = np.full(36, 0.3), {0: 1.5, 2: 0.0, 4: 0.0}
    apart = most_apart_mm(flat, flat)
    assert apart[0, 4] == pytest.approx(1.2)
    assert apart[0, 34] == pytest.approx(0.6)
    free = np.full(36, 6.0)
    assert fitted(nothing_asked, free, apart, 0.5, deepen=True) == {0: 1.5, 2: 1.0, 4: 0.5}
    assert fitted(nothing_asked, free, apart, 0.5, deepen=False) == {0: 0.5, 2: 0.0, 4: 0.0}
    closed = free.copy()
    closed[3] = 0  # nothing at all between two stations
    assert fitted(nothing_asked, closed, apart, 0.5, deepen=True) == {0: 0.5, 2: 0.0, 4: 0.0}
    assert most_apart_mm(flat, flat, {(0, 18): 0.0})[0, 17] == pytest.approx(0.3)


@settings(max_examples=50, deadline=None)
@given(st.integers(0, 10_000), st.booleans())
def test_fitted_depths_are_whole_steps_that_no_bound_parts(seed: int, deepen: bool) -> None:
    rng = np.random.default_rng(seed)
    apart = most_apart_mm(rng.uniform(0, 0.4, 36), rng.uniform(0, 0.4, 36))
    deepest = rng.uniform(0, 5, 36)
    fits = fitted({site: float(rng.uniform(0, 4)) for site in SITES}, deepest, apart, 0.5, deepen=deepen)
    for one, depth in fits.items():
        assert depth == round(depth / 0.5) * 0.5
        assert (depth <= deepest + apart[one] + ON_STEP_MM).all()
        assert all(depth <= fits[other] + apart[one, other] + ON_STEP_MM for other in SITES)


def as_free(bone_mm: np.ndarray) -> BoneLines:
    return BoneLines(cut_mm=NOTHING, finish_mm=NOTHING, bone_mm=bone_mm, reserve_share=NOTHING, lacking_mm=NOTHING, cost=0)


def test_bone_is_taken_as_little_as_keeps_every_rule() -> None:
    """The first lines that keep every rule are taken, those that take less bone come first."""
    less, more, most = (as_free(np.full(36, mm)) for mm in (0.5, 1.0, 1.5))
    assert best_printed(iter((less, more, most)), lambda one: [-0.3 if one is less else 0.0, 0.0]) is more
    assert best_printed(iter((less,)), lambda _: [-0.3]) is less
    assert best_printed(iter((less, more)), lambda _: [-1.0]) is less


def test_the_deepest_place_is_a_site_where_one_is_worked_on() -> None:
    case = case_of(overgrown_premolar())
    prepared = drawn_neck(case, DRAWS)
    line = NOTHING.copy()
    line[[28, 30]] = -2.0, -1.0  # the deeper one between DL at 24 and DF at 30
    route = judge_tooth(case, 0, prepared, moved(prepared, line, np.full(36, -0.5))).route("soft tissue only")
    assert route.plan is not None
    assert route.plan.deepest_site(-line) == 30
    assert route.plan.deepest_site(np.eye(36)[28]) == 28


def test_a_site_that_is_left_beside_a_cut_is_marked_as_its_run_out() -> None:
    case = case_of(overgrown_premolar())
    prepared = drawn_neck(case, DRAWS)
    line = NOTHING.copy()
    line[30] = -1.0
    plan = judge_tooth(case, 0, prepared, moved(prepared, line, np.full(36, -0.5)))
    route = plan.route("soft tissue only")
    marked = {
        site: site_document(plan, route, site, speaker(lambda said, _: said.key)) for site in plan.prepared.inputs.tooth.sites
    }
    assert {site for site, said in marked.items() if said.cut} == {"DF"}
    assert {site for site, said in marked.items() if said.run_out} == {"F", "DL"}
    assert all(said.stop_below_margin_mm == pytest.approx(0, abs=ON_STEP_MM) for said in marked.values() if not said.cut)


MIRROR = {"MF": "DF", "DF": "MF", "ML": "DL", "DL": "ML"}


def turned(tooth: Tooth, name_of: dict[str, str]) -> Tooth:
    """The tooth with its sites named anew and in the other order."""
    kinds = {kind: {name_of.get(site, site): found for site, found in by.items()} for kind, by in tooth.readings.items()}
    return replace(tooth, sites=tooth.sites[::-1], readings=kinds)


@pytest.mark.parametrize("name_of", [{}, MIRROR], ids=["order of sites", "mirror"])
@pytest.mark.parametrize("tooth", [overgrown_premolar(), broken_premolar()], ids=["overgrown", "broken"])
def test_mirror_and_order_of_sites_move_no_verdict(tooth: Tooth, name_of: dict[str, str]) -> None:
    """The draws follow the sites, so chances differ by their error and printed depths with them; no verdict does."""
    found = []
    for one in (tooth, turned(tooth, name_of)):
        case = case_of(one)
        plan = plan_tooth(case, 0, drawn_neck(case, DRAWS))
        found.append({route.name: route.verdict for route in plan.routes})
    assert found[0] == found[1]

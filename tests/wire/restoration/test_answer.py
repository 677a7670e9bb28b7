"""The answer for a tooth: on which line, with which verdict, what would make it hold, and nothing missing that passes."""

from collections.abc import Mapping
from dataclasses import replace
from typing import Any

import numpy as np
import pytest

from collum.app.demo import demo_cases
from collum.app.plans.planning import Planner
from collum.app.speaking import words
from collum.case.facts import Widths
from collum.case.model import Patient, Reading, Root, Tooth
from collum.case.parts import patient_facts, tooth_facts, written
from collum.case.reading_kinds import ReadingKind
from collum.case.stump_layout import CEMENTS as CEMENTS_OF_A_CASE
from collum.core.crown.old_crown import OldCrown, grounds_for_loss
from collum.core.crown.retention import CEMENTS
from collum.core.support.support import attached_area_share
from collum.evidence import all_constants
from collum.plan import PlannedTooth
from collum.plan.lengthening.planned import PlannedLines, PlannedRoute
from collum.plan.lengthening.procedures.procedure import Treatment
from collum.plan.lengthening.procedures.soft_tissue import SOFT_TISSUE
from collum.plan.restoration import ToothRestoration, restoration_of_tooth
from collum.plan.restoration.parts import joint_probability, verdict_of
from collum.vocabulary import RouteName, Verdict
from collum.wire.restoration.answer import answer, part_said
from collum.wire.restoration.document import ToothRestorationDocument
from collum.wire.restoration.to_document import tooth_restoration_document
from tests.making.teeth import broken_premolar, case_of, overgrown_premolar, readings, row
from tests.measuring.planned import planned_of, with_lines, with_routes, with_tooth

KEYS = {constant.key for constant in all_constants()}
Readings = Mapping[ReadingKind, Mapping[str, tuple[Reading, ...]]]


def answered(tooth: Tooth, plan: PlannedTooth | None = None, **patient: object) -> ToothRestoration:
    about = Patient(reference="T-1", facts=patient_facts(patient))
    return restoration_of_tooth(planned_of(tooth) if plan is None else with_tooth(plan, tooth), about)


def document(tooth: Tooth, plan: PlannedTooth | None = None, **patient: object) -> ToothRestorationDocument:
    return tooth_restoration_document(answered(tooth, plan, **patient), words)


def lines_of(plan: PlannedTooth, name: RouteName) -> PlannedLines:
    route = plan.route(name)
    assert route is not None and route.lines is not None
    return route.lines


def said(document: ToothRestorationDocument) -> list[str]:
    return [sentence.key.removeprefix("restoration.") for sentence in document.routes[0].answer]


@pytest.fixture(scope="module")
def broken() -> Tooth:
    """Root-filled, of everything read: root, walls, junction. Enough sound tooth is left for a route to be recommended."""
    filling = {"root_filling": {"quality": "good", "sound_length_mm": 13.0}}
    tooth = broken_premolar(facts=tooth_facts(filling), root=Root(length_mm=14.0))
    return replace(tooth, readings={**tooth.readings, "sound_height": readings(row(*[1.0] * 6))})


@pytest.fixture(scope="module")
def plan(broken: Tooth) -> PlannedTooth:
    return planned_of(broken)


def test_the_recommended_route_alone_is_judged_and_the_support_of_all(broken: Tooth, plan: PlannedTooth) -> None:
    found = document(broken, plan)
    assert plan.recommended is not None
    assert [route.route for route in found.routes] == [plan.recommended]
    assert found.because.key == "restoration.because.recommended"
    lined = [route.name for route in plan.routes if route.lines is not None]
    assert [support.route for support in found.support] == lined and len(lined) > 1


def test_without_a_recommended_route_each_with_a_line_is_judged(broken: Tooth, plan: PlannedTooth) -> None:
    found = document(broken, replace(plan, recommended=None))
    assert [route.route for route in found.routes] == [support.route for support in found.support]
    assert found.because.key == "restoration.because.each"


def test_without_any_line_nothing_is_judged(broken: Tooth, plan: PlannedTooth) -> None:
    found = document(broken, with_routes(plan, lambda route: replace(route, lines=None)))
    assert (found.routes, found.support) == ([], [])
    assert found.because.key == "restoration.because.no_line"


def test_the_worse_of_our_verdict_and_of_the_plans_counts(broken: Tooth, plan: PlannedTooth) -> None:
    steep = replace(broken, restoration=replace(broken.restoration, convergence_deg=6.0))

    def with_(verdict: Verdict) -> ToothRestorationDocument:
        def judged(route: PlannedRoute) -> PlannedRoute:
            found = route.graded.get("resistance")
            graded = {} if found is None else {"resistance": replace(found, verdict=verdict)}
            return replace(route, graded={**route.graded, **graded})

        return document(steep, with_routes(plan, judged))

    verdicts: tuple[Verdict, ...] = ("short", "in doubt")
    for verdict in verdicts:
        part = next(part for part in with_(verdict).routes[0].parts if part.id == "resistance")
        assert part.verdict == verdict
        assert part.said[-1].key == "restoration.part.by_the_draws"
        assert part.said[-1].parameters["probability"] == part.probability


def test_where_the_plan_keeps_what_is_short_on_the_line_as_it_runs_it_is_said(broken: Tooth, plan: PlannedTooth) -> None:
    """A facial line 2 mm up makes the crown roll over it, which four sides on a level line do not see."""
    up = 2.5 * ((np.arange(36) < 7) | (np.arange(36) > 29))

    def as_before(route: PlannedRoute) -> PlannedRoute:
        """The line is changed, and what the plan found on the other one stays."""
        if route.lines is None:
            return route
        return replace(route, lines=replace(route.lines, finish_mm=route.lines.finish_mm + up))

    uneven = with_routes(plan, as_before)
    wide = {**written(broken.facts), "neck_width_mm": {"facial_oral": 9.0, "mesiodistal": 7.0}}
    found = document(replace(broken, facts=tooth_facts(wide)), uneven)
    part = next(part for part in found.routes[0].parts if part.id == "resistance")
    assert part.verdict == "short" and part.probability is not None and part.probability < 0.1
    said = ["resistance.short", "part.uneven", "part.chance", "part.band_share"]
    assert [one.key.removeprefix("restoration.") for one in part.said] == said


def moved(plan: PlannedTooth, up_mm: float) -> PlannedTooth:
    """The plan with every finish line moved."""
    return with_lines(plan, lambda lines: replace(lines, finish_mm=lines.finish_mm + up_mm))


def test_a_line_too_high_is_answered_with_what_would_make_it_hold(broken: Tooth, plan: PlannedTooth) -> None:
    low, high = document(broken, plan), document(broken, moved(plan, 2.0))
    assert low.routes[0].stump is not None and high.routes[0].stump is not None
    ferrule = high.routes[0].ferrule
    assert ferrule.least_loaded_mm == pytest.approx(max((low.routes[0].ferrule.least_loaded_mm or 0) - 2, 0), abs=1e-5)
    told = said(high)
    assert told[0] == "answer.short" and "would.ferrule" in told
    would = next(one for one in high.routes[0].answer if one.key == "restoration.would.ferrule")
    assert would.parameters["more_mm"] == pytest.approx(ferrule.wanted_mm - (ferrule.least_loaded_mm or 0))
    assert high.routes[0].stump.height_mean_mm == pytest.approx(low.routes[0].stump.height_mean_mm - 2, abs=1e-5)


def test_a_line_above_the_top_leaves_no_stump(broken: Tooth, plan: PlannedTooth) -> None:
    route = document(broken, moved(plan, 20)).routes[0]
    assert route.stump is None and route.stump_absent is not None and route.retention == []
    assert route.stump_absent.key == "restoration.stump.line_above_top"
    assert next(part for part in route.parts if part.id == "resistance").verdict == "short"


@pytest.mark.parametrize(
    ("changes", "kept"),
    [({}, True), ({"sound_measured": None}, False), ({"sound_measured": False}, False), ({"walls": False}, False)],
    ids=["all read", "caries not known", "caries not out", "walls not read"],
)
def test_a_ferrule_rests_on_sound_tooth_and_measured_walls(
    broken: Tooth, plan: PlannedTooth, changes: dict[str, Any], kept: bool
) -> None:
    walls = changes.pop("walls", True)
    kinds: Readings = {kind: read for kind, read in broken.readings.items() if walls or kind not in ("wall_thickness",)}
    tooth = replace(broken, readings=kinds, **changes)
    found = answered(tooth, moved(plan, -1)).routes[0].ferrule
    assert found.map.extent in ("all round", "on the loaded sides")
    assert found.verdict == ("kept" if kept else "in doubt")


def test_a_wall_read_on_one_side_says_nothing_of_the_other(broken: Tooth, plan: PlannedTooth) -> None:
    kinds = {**broken.readings, "wall_thickness": readings({"F": 2.5})}
    sectors = document(replace(broken, readings=kinds), plan).routes[0].ferrule.sectors
    assert sectors[0].wall_left_mm is not None and sectors[4].wall_left_mm is None


def test_a_thin_wall_is_no_ferrule(broken: Tooth, plan: PlannedTooth) -> None:
    kinds = {**broken.readings, "wall_thickness": readings(row(2.5, 2.5, 2.5, 1.2, 2.5, 2.5))}
    found = document(replace(broken, readings=kinds), moved(plan, -1)).routes[0].ferrule
    assert found.sectors[4].state == "thin wall" and found.sectors[4].counted_mm == 0
    assert found.least_loaded_mm == 0


def test_a_vital_tooth_gets_no_post_and_no_best_gain() -> None:
    found = document(overgrown_premolar()).routes[0]
    assert [post.status for post in found.posts] == ["no post"] and found.posts[0].reason == "vital"
    assert found.ferrule.sound_wall and found.ferrule.optimum == []
    assert [one.key for one in found.ferrule.optimum_said] == ["restoration.optimum.vital"]


def test_the_post_counts_from_the_line_and_the_crest_after_bone(broken: Tooth, plan: PlannedTooth) -> None:
    every = {one.route: one for one in document(broken, replace(plan, recommended=None)).routes}
    bone = every["soft tissue and bone"]
    post = bone.posts[0]
    lines, cej_mm = lines_of(plan, "soft tissue and bone"), plan.draws.levels["cej"].mean + plan.draws.margin_mm
    assert lines.treatment.bone_mm.max() > 0
    assert post.finish_below_cej_mm == pytest.approx(np.mean(cej_mm) - np.mean(lines.finish_mm), abs=1e-5)
    length = {rule.rule: rule.length_mm for rule in post.rules}
    assert length["apical_seal"] == pytest.approx(14 - post.finish_below_cej_mm - 5, abs=1e-5)
    crest = float(np.mean(cej_mm) - np.mean(bone.crest_after_height_mm))
    assert length["half_of_root_in_bone"] == pytest.approx(crest - post.finish_below_cej_mm + (14 - crest) / 2, abs=1e-5)
    assert not post.root_from_handbook


def test_a_root_that_was_not_measured_takes_the_handbooks_and_says_so(broken: Tooth, plan: PlannedTooth) -> None:
    found = document(replace(broken, root=Root()), plan)
    assert found.routes[0].posts[0].root_from_handbook
    assert "restoration.post.root_from_handbook" in [one.key for one in found.routes[0].posts[0].said]
    assert "restoration.assumed.root" in [one.key for one in found.assumed]


def test_an_empty_window_names_both_rules_and_what_opens_it(broken: Tooth, plan: PlannedTooth) -> None:
    post = document(replace(broken, root=Root(length_mm=13.0)), plan).routes[0].posts[0]
    assert post.status == "empty" and post.clash is not None
    assert post.clash.said.key == f"restoration.clash.{post.clash.least}.{post.clash.most}"
    length = {rule.rule: rule.length_mm or 0 for rule in post.rules}
    assert post.clash.gap_mm == pytest.approx(length[post.clash.least] - length[post.clash.most], abs=1e-5)
    assert post.openers and all(opener.high_mm >= opener.low_mm for opener in post.openers)


def test_a_window_that_no_single_change_opens_says_so(broken: Tooth, plan: PlannedTooth) -> None:
    post = document(replace(broken, root=Root(length_mm=9.0)), plan).routes[0].posts[0]
    assert (post.status, post.openers) == ("empty", [])
    assert "restoration.post.nothing_opens" in [one.key for one in post.said]


def test_molar_roots_that_may_carry_a_post_come_first() -> None:
    for number, roots in ((46, ["distal", "mesial"]), (26, ["oral", "facial"])):
        found = document(overgrown_premolar(number=number, vital=False)).routes[0].posts
        assert [post.root for post in found] == roots
        assert found[1].reason == "root_not_allowed"


def test_pins_stand_where_walls_are_missing(broken: Tooth, plan: PlannedTooth) -> None:
    assert document(broken, plan).routes[0].pins == []
    wide = {
        "missing_walls": ["MF", "DL", "MF"],
        "neck_width_mm": {"facial_oral": 10.0, "mesiodistal": 10.0},
        "pulp_width_mm": {"facial_oral": 2.0, "mesiodistal": 2.0},
    }
    pins = document(replace(broken, facts=tooth_facts({**written(broken.facts), **wide})), plan).routes[0].pins
    assert [len(one.pins) for one in pins] == [2, 2, 2, 2]
    small, largest = pins[0], pins[-1]
    assert small.state == "enough"
    # as near to the surface as is allowed: 10 / 2 less the axial reduction, 1 mm of dentine and half of the pin
    assert np.hypot(small.pins[0].x_mm, small.pins[0].y_mm) == pytest.approx(5 - 1.2 - 1 - small.diameter_mm / 2, abs=0.3)
    assert largest.diameter_mm > small.diameter_mm
    unknown = {**wide, "pulp_width_mm": {}}
    assert document(replace(broken, facts=tooth_facts(unknown)), plan).routes[0].pins[0].state == "not assessed"


def test_an_extruded_tooth_is_trimmed_back_and_keeps_less_root_in_bone(broken: Tooth, plan: PlannedTooth) -> None:
    """Edge and top come to lie lower on the tooth by what it was raised; the best gain starts from the shorter root."""
    raised = lines_of(plan, "extrusion first").treatment.extruded_mm
    assert raised > 0
    planned_edge = plan.draws.levels["occlusal_edge"].mean + plan.draws.margin_mm + (broken.restoration.planned_edge_mm or 0)
    found = document(broken, replace(plan, recommended="extrusion first")).routes[0]
    assert found.planned_edge_height_mm == pytest.approx(planned_edge - raised, abs=1e-5)
    basis = answered(broken, replace(plan, recommended="extrusion first")).routes[0].basis
    cej, crest = (np.mean(np.array(line)[[9, 27]]) for line in (basis.cej_mm, basis.crest_mm))
    edge = np.mean(planned_edge[[9, 27]])
    by_hand = (edge - crest) / (14 - raised - (cej - crest))  # out of bone over in bone, before any more is won
    nothing_more = [one for one in found.ferrule.optimum if one.gain_mm == 0]
    assert nothing_more and all(one.crown_to_root_ratio == pytest.approx(by_hand, abs=1e-5) for one in nothing_more)


def test_support_before_and_after_is_the_plans_own(broken: Tooth, plan: PlannedTooth) -> None:
    told = {route.name: route.summary.crown_to_root for route in Planner(200).plan(case_of(broken)).teeth[0].routes}
    for one in document(broken, plan).support:
        summary = told[one.route]
        assert summary is not None
        assert (one.before_ratio, one.after_ratio, one.norm_ratio) == (
            summary.before_ratio,
            summary.after_ratio,
            summary.norm_ratio,
        )
        if one.route in ("restore without lengthening", "soft tissue only"):
            assert one.attached_after_share == one.attached_before_share
        else:
            assert one.attached_after_share < one.attached_before_share
    levels, taken_mm = plan.draws.levels, lines_of(plan, "soft tissue and bone").treatment.bone_mm
    below = np.mean(levels["cej"].mean) - np.mean(levels["crest"].mean) + np.mean(taken_mm)
    by_hand = float(attached_area_share(below / 14, False) / attached_area_share(1.15 / 14, False))
    bone = next(one for one in document(broken, plan).support if one.route == "soft tissue and bone")
    assert bone.attached_after_share == pytest.approx(by_hand, abs=1e-5)


def test_the_old_crown_is_judged_by_the_stump_as_it_was_found(broken: Tooth, plan: PlannedTooth) -> None:
    assert document(broken, plan).old_crown is None
    stump = {"height_mm": 2.0, "convergence_deg": 30.0, "ferrule_mm": 0.5, "cement": "temporary", "caries": False}
    recorded = {"old_crown": {"failures": 2}, "old_stump": stump}
    found = document(replace(broken, facts=tooth_facts(recorded)), plan, bruxism="certain").old_crown
    assert found is not None and found.failures == 2
    sides = {ground.cause: ground.side for ground in found.grounds}
    for cause in ("resistance", "height", "convergence", "ferrule", "cement", "load"):
        assert sides[cause] == "for", cause
    assert sides["caries"] == "against" and sides["wall"] == "against" and sides["post"] == "not assessed"
    by_core = grounds_for_loss(OldCrown(molar=False, height_mm=2.0, base_mm=7.0, convergence_deg=30.0))
    share = next(one for one in by_core.speaking_for if one.cause == "resistance").figures["share"]
    first = found.grounds[0]
    assert first.cause == "resistance" and first.said.parameters["percent"] == int(100 * share)


@pytest.mark.parametrize("bruxism", ["suspected", None])
def test_what_is_not_known_of_the_old_crown_speaks_neither_way(broken: Tooth, plan: PlannedTooth, bruxism: str | None) -> None:
    patient = {} if bruxism is None else {"bruxism": bruxism}
    overgrown = replace(broken, state="overgrown", facts=tooth_facts({"old_crown": {"failures": 1}}))
    found = document(overgrown, plan, **patient).old_crown
    assert found is not None
    sides = {ground.cause: ground.side for ground in found.grounds}
    assert {cause for cause, side in sides.items() if side == "for"} == set()
    assert sides["load"] == sides["height"] == "not assessed"


def test_every_key_beside_a_number_is_a_constant(broken: Tooth, plan: PlannedTooth) -> None:
    recorded = {**written(broken.facts), "old_stump": {"height_mm": 2.0, "convergence_deg": 30.0}}
    found = document(replace(broken, facts=tooth_facts(recorded)), plan).model_dump()
    keys = set(_under(found, "evidence"))
    assert len(keys) > 20 and keys <= KEYS


@pytest.mark.parametrize("vital", [False, None])
def test_of_a_tooth_without_a_living_pulp_the_canal_is_asked_for(broken: Tooth, plan: PlannedTooth, vital: bool | None) -> None:
    without = {key: found for key, found in written(broken.facts).items() if key != "pulp_width_mm"}
    found = document(replace(broken, vital=vital, facts=tooth_facts(without)), plan)
    said = [one.text for route in found.routes for one in route.laboratory] + [one.text for one in found.not_assessed]
    asked = [line for line in said if "canal at the finish line" in line]
    assert asked and all(("pulp" in line) is (vital is None) for line in asked)


def test_a_tooth_of_which_little_is_read_is_never_said_to_hold() -> None:
    tooth = overgrown_premolar(vital=None, sound_measured=None, root=Root())
    known = ("probing_depth", "bone_sounding", "crown_height")
    few: Readings = {kind: found for kind, found in tooth.readings.items() if kind in known}
    bare = replace(tooth, readings=few)
    plan, zero = planned_of(bare), np.zeros(36)
    treatment = Treatment(procedure=SOFT_TISSUE)
    lines = PlannedLines(cut_mm=zero, outer_cut_mm=zero, finish_mm=zero, cut=zero < 0, treatment=treatment)
    lined = with_routes(plan, lambda route: replace(route, lines=lines))
    found = document(bare, replace(lined, recommended="soft tissue only"))
    assert found.routes[0].verdict != "kept"
    assert next(part for part in found.routes[0].parts if part.id == "ferrule").verdict == "not assessed"
    assert {"unknown.sound_edge", "unknown.vital", "unknown.wall"} <= {
        one.key.removeprefix("restoration.") for one in found.not_assessed
    }


@pytest.mark.parametrize("asked_mm", [2.0, 9.0])
def test_a_material_is_held_to_the_height_that_the_route_asks(broken: Tooth, plan: PlannedTooth, asked_mm: float) -> None:
    """A route may ask less of a molar with grooves; then no class of material lacks what is not asked."""
    eased = with_routes(plan, lambda one: replace(one, concessions=replace(one.concessions, preparation_height_mm=asked_mm)))
    found = document(broken, eased).routes[0]
    assert found.stump is not None and found.stump.height_limit_mm == asked_mm
    for fit in found.materials:
        assert fit.height_mm is not None
        assert fit.height_short_mm == pytest.approx(max(0, asked_mm - fit.height_mm), abs=2e-6)  # both rounded to six digits


def test_what_is_in_doubt_is_said_before_what_is_enough_and_names_the_reading_that_would_tell() -> None:
    case = next(case for case in demo_cases() if case.patient.reference == "AQ-41")
    [route] = restoration_of_tooth(Planner(200).planned(case).teeth[0], case.patient).routes
    height = next(part for part in route.parts if part.id == "preparation_height")
    assert height.verdict == "in doubt" and height.probability is not None and height.probability >= height.confidence
    broad, enough = part_said(route, height)[:2]
    assert (broad.key, enough.key) == ("restoration.height.broad_if_wide", "restoration.height.kept")
    assert [said.key for said in answer(route)] == ["restoration.answer.in_doubt", broad.key]

    limit_mm = broad.parameters["width_mm"]
    assert isinstance(limit_mm, float)
    for width_mm, verdict in ((limit_mm - 0.1, "kept"), (limit_mm + 0.1, "in doubt")):
        facts = replace(case.teeth[0].facts, neck_width_mm=Widths(facial_oral=width_mm))
        measured = replace(case, teeth=(replace(case.teeth[0], facts=facts), *case.teeth[1:]))
        [again] = restoration_of_tooth(Planner(200).planned(measured).teeth[0], case.patient).routes
        assert next(part.verdict for part in again.parts if part.id == "preparation_height") == verdict


def test_all_together_hold_in_fewer_draws_than_the_weakest_alone_and_decide(broken: Tooth, plan: PlannedTooth) -> None:
    found = answered(broken, moved(plan, -0.5)).routes[0]
    together, alone = found.probability, [part.probability for part in found.parts]
    assert together is not None and together <= min(one for one in alone if one is not None)
    kept = tuple(replace(part, verdict="kept", least=(np.arange(100.0) - 6 - 8 * i,)) for i, part in enumerate(found.parts[:2]))
    assert [float(np.mean(part.least[0] >= 0)) for part in kept] == [0.94, 0.86]
    assert joint_probability(kept) == 0.86 and verdict_of(kept) == "in doubt"
    assert verdict_of(kept[:1]) == "kept"
    assert verdict_of((*kept[:1], replace(kept[1], verdict="short"))) == "short"


def test_the_band_holds_the_figure_and_a_length_for_the_post_has_its_chance(broken: Tooth, plan: PlannedTooth) -> None:
    route = document(broken, plan).routes[0]
    bands = {part.id: part.band for part in route.parts if part.band is not None}
    assert {"resistance", "preparation_height", "ferrule"} <= bands.keys()
    for name, band in bands.items():
        assert band.low <= band.high, name
    height = bands["preparation_height"]
    assert route.stump is not None and height.limit == route.stump.height_limit_mm
    assert height.low < height.value < height.high
    chances = [
        document(replace(broken, root=Root(length_mm=mm)), plan).routes[0].posts[0].probability
        for mm in (9.0, 13.0, 14.5, 20.0)
    ]
    assert chances == sorted(chances, key=lambda chance: chance or 0) and chances[0] == 0 and chances[-1] == 1


def test_a_case_and_the_core_know_the_same_cements() -> None:
    assert CEMENTS_OF_A_CASE == CEMENTS


def _under(part: Any, name: str) -> list[str]:
    """Return every string under a key, wherever it stands."""
    if isinstance(part, Mapping):
        here = part.get(name, [])
        found = [here] if isinstance(here, str) else list(here)
        return found + [key for value in part.values() for key in _under(value, name)]
    return [key for value in part for key in _under(value, name)] if isinstance(part, list) else []

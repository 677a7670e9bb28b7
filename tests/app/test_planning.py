"""Plans of cases: seeds, draws kept for live answers, and what must not change them."""

import json
from dataclasses import replace

import pytest

from collum.app.plans import planning
from collum.app.plans.planning import Cancelled, Hold, Planner, readings_seed
from collum.case.model import Case, FinishWish, Held, MirrorReading, Patient, Reading, RequirementWish, Restoration, Tooth
from tests.making.teeth import broken_premolar, case_of, healthy_premolar, overgrown_premolar, readings

DRAWS = 400


@pytest.fixture(scope="module")
def planner() -> Planner:
    return Planner(DRAWS)


def with_reading(tooth: Tooth, **changes: object) -> Tooth:
    """The tooth with its facial probing depth changed."""
    depths = dict(tooth.readings["probing_depth"])
    depths["F"] = (replace(depths["F"][0], **changes),)  # type: ignore[arg-type]  # fields of Reading
    return replace(tooth, readings={**tooth.readings, "probing_depth": depths})


CASE = case_of(overgrown_premolar())

SAME_SEED = {
    "tooth number": case_of(overgrown_premolar(number=35)),
    "reference": replace(CASE, patient=Patient(reference="OTHER-2", phenotype="unknown")),
    "wish for the finish line": case_of(
        overgrown_premolar(
            restoration=Restoration(finish=FinishWish(position="supragingival", mm=1.0, low_mm=1.0, high_mm=None))
        )
    ),
    "limit": case_of(overgrown_premolar(requirements=(RequirementWish(id="ferrule", limit=1.5, reason="post and core"),))),
    "held handle": case_of(overgrown_premolar(held=Held(cut={"L": -1.0}))),
    "note": replace(CASE, note="seen again"),
    "order of sites": case_of(overgrown_premolar(sites=("DF", "DL", "L", "ML", "MF", "F"))),
}
OTHER_SEED = {
    "value": case_of(with_reading(overgrown_premolar(), value_mm=3.1, step_mm=0.1)),
    "step": case_of(with_reading(overgrown_premolar(), step_mm=1.0)),
    "error": case_of(with_reading(overgrown_premolar(), error_mm=0.9)),
    "outcome": case_of(with_reading(overgrown_premolar(), outcome="beyond")),
    "state": case_of(overgrown_premolar(state="healthy")),
    "state of a site": case_of(overgrown_premolar(site_state={"F": "healthy"})),
    "bleeding": case_of(overgrown_premolar(bleeding=frozenset({"F"}))),
    "another reading": case_of(
        overgrown_premolar(readings={**overgrown_premolar().readings, "wall_thickness": readings({"F": 1.5})})
    ),
    "height at another tooth": case_of(
        overgrown_premolar(own_height_from=(MirrorReading(tooth=35, site="F", margin_to_crest_mm=3.0),))
    ),
}


@pytest.mark.parametrize("case", SAME_SEED.values(), ids=SAME_SEED.keys())
def test_what_is_no_reading_leaves_the_seed_alone(case: Case) -> None:
    assert readings_seed(case) == readings_seed(CASE)


@pytest.mark.parametrize("case", OTHER_SEED.values(), ids=OTHER_SEED.keys())
def test_every_part_of_a_reading_moves_the_seed(case: Case) -> None:
    assert readings_seed(case) != readings_seed(CASE)


def test_a_seed_survives_a_browser() -> None:
    seeds = [readings_seed(case) for case in OTHER_SEED.values()]
    assert all(0 <= seed < 2**53 for seed in seeds)
    assert max(seeds) > 2**50  # and is not short of bits


def test_the_plan_says_what_it_was_made_from(planner: Planner) -> None:
    made = planner.plan(CASE)
    assert (made.seed, made.draws) == (readings_seed(CASE), DRAWS)
    assert made.program_version == "0.1.0"
    assert made.safety_cleared is False
    assert len(made.input_sha256) == 64
    assert {c.key for c in made.constants} >= {"plan.limit.ferrule_mm", "neck.attachment.mean_mm"}


def test_the_same_case_gives_the_same_bytes_from_a_fresh_planner(planner: Planner) -> None:
    assert planner.plan(CASE).model_dump_json() == Planner(DRAWS).plan(CASE).model_dump_json()


def test_another_seed_gives_other_numbers_and_is_printed(planner: Planner) -> None:
    one, two = planner.plan(CASE, seed=1), planner.plan(CASE, seed=2)
    assert (one.seed, two.seed) == (1, 2)
    assert one.teeth[0].levels.crest != two.teeth[0].levels.crest


def test_the_input_hash_follows_a_tenth_of_a_millimetre(planner: Planner) -> None:
    moved = planner.plan(case_of(with_reading(overgrown_premolar(), value_mm=3.1, step_mm=0.1)))
    first = planner.plan(CASE)
    assert moved.input_sha256 != first.input_sha256
    assert moved.teeth[0].levels.sulcus_base != first.teeth[0].levels.sulcus_base


def test_wishes_and_holds_are_answered_from_the_same_draws(monkeypatch: pytest.MonkeyPatch) -> None:
    planner = Planner(DRAWS)
    first = planner.plan(CASE)

    def refuse(*_arguments: object) -> None:
        raise AssertionError("levels were drawn again")

    monkeypatch.setattr(planning, "draw_levels", refuse)
    for name in ("wish for the finish line", "limit", "held handle", "reference"):
        again = planner.plan(SAME_SEED[name])
        assert again.teeth[0].levels == first.teeth[0].levels, name
    with pytest.raises(AssertionError, match="drawn again"):
        planner.plan(OTHER_SEED["error"])


def test_a_moved_line_gets_the_numbers_of_the_plan_to_the_last_digit(planner: Planner) -> None:
    """On every route that has lines, of a tooth that leaves something to all of them."""
    case = case_of(broken_premolar())
    routes = [route for route in planner.plan(case).teeth[0].routes if route.cut_line_height_mm is not None]
    assert len(routes) == 4
    for route in routes:
        assert (
            route.cut_line_height_mm is not None and route.finish_line_height_mm is not None and route.extrusion_mm is not None
        )
        judged = planner.judge(
            case,
            tooth=0,
            route=route.name,
            cut_line_mm=route.cut_line_height_mm,
            finish_line_mm=route.finish_line_height_mm,
            bone_reduction_mm=route.bone_reduction_mm,
            extrusion_mm=route.extrusion_mm,
        )
        assert [(r.id, r.probability, r.verdict) for r in judged.requirements] == [
            (r.id, r.probability, r.verdict) for r in route.requirements
        ]
        assert judged.joint_probability == route.joint_probability
    assert max(routes[2].bone_reduction_mm or [0]) > 0
    assert routes[3].extrusion_mm is not None and routes[3].extrusion_mm > 0


def test_a_handle_in_the_hand_bends_the_line_there(planner: Planner) -> None:
    route = next(one for one in planner.plan(CASE).teeth[0].routes if one.name == "soft tissue only")
    assert route.cut_line_height_mm is not None and route.finish_line_height_mm is not None
    height = route.cut_line_height_mm[18] - 0.5
    hold = Hold(line="cut", station_deg=180, height_mm=height)
    judged = planner.judge(
        CASE, tooth=0, cut_line_mm=route.cut_line_height_mm, finish_line_mm=route.finish_line_height_mm, hold=hold
    )
    assert judged.cut_line_height_mm is not None
    assert judged.cut_line_height_mm[18] == pytest.approx(height, abs=1e-6)
    assert judged.cut_line_height_mm[0] == pytest.approx(route.cut_line_height_mm[0], abs=0.01)


def test_teeth_at_two_positions_draw_apart_and_each_alike_again(planner: Planner) -> None:
    two = Case(patient=CASE.patient, teeth=(healthy_premolar(number=35), healthy_premolar(number=45)))
    first, second = planner.plan(two).teeth
    assert first.levels.crest != second.levels.crest
    assert planner.plan(two).teeth[1] == second


def test_neighbours_are_read_and_not_planned(planner: Planner) -> None:
    two = Case(patient=CASE.patient, teeth=(healthy_premolar(number=44, role="neighbour"), overgrown_premolar()))
    assert [tooth.number for tooth in planner.plan(two).teeth] == [45]


def test_a_plan_that_is_no_longer_wanted_stops_between_teeth(planner: Planner) -> None:
    answers = iter([False, True])
    two = Case(patient=CASE.patient, teeth=(healthy_premolar(number=35), healthy_premolar(number=45)))
    with pytest.raises(Cancelled):
        planner.plan(two, cancelled=lambda: next(answers))


def test_the_kept_draws_are_bounded_and_the_oldest_go_first(monkeypatch: pytest.MonkeyPatch) -> None:
    monkeypatch.setattr(planning, "_CACHE_ENTRIES", 2)
    planner = Planner(100)
    cases = [case_of(with_reading(overgrown_premolar(), error_mm=error)) for error in (0.3, 0.4, 0.5)]
    for case in (cases[0], cases[1], cases[0], cases[2]):
        planner.plan(case)
    assert len(planner._kept) == 2
    calls: list[int] = []
    draw = planning.draw_levels
    monkeypatch.setattr(planning, "draw_levels", lambda *a: calls.append(1) or draw(*a))
    planner.plan(cases[0])
    assert not calls
    planner.plan(cases[1])
    assert calls


def test_the_kept_draws_take_bounded_memory(monkeypatch: pytest.MonkeyPatch) -> None:
    monkeypatch.setattr(planning, "_CACHE_BYTES", 1)
    planner = Planner(100)
    planner.plan(CASE)
    planner.plan(OTHER_SEED["error"])
    assert len(planner._kept) == 1


def test_a_plan_holds_no_time_path_or_number_that_is_none(planner: Planner) -> None:
    text = planner.plan(CASE).model_dump_json()
    assert "NaN" not in text and "Infinity" not in text
    assert not {"made_at", "time", "host", "path", "duration"} & _keys(json.loads(text))


def _keys(found: object) -> set[str]:
    if isinstance(found, dict):
        return set(found) | {key for value in found.values() for key in _keys(value)}
    return {key for value in found for key in _keys(value)} if isinstance(found, list) else set()


def test_more_error_in_one_reading_widens_its_band(planner: Planner) -> None:
    def spread(error_mm: float) -> float:
        case = case_of(_with_sounding_error(error_mm))
        levels = planner.plan(case, seed=3).teeth[0].levels.crest
        assert levels is not None
        return levels.sd_mm[0]

    assert spread(1.5) > spread(0.3)


def _with_sounding_error(error_mm: float) -> Tooth:
    tooth = overgrown_premolar()
    soundings = dict(tooth.readings["bone_sounding"])
    soundings["F"] = (Reading(value_mm=4.5, step_mm=0.5, error_mm=error_mm),)
    return replace(tooth, readings={**tooth.readings, "bone_sounding": soundings})

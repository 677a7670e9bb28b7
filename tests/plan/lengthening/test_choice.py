"""What is recommended of the routes, why, and what decides against them where nothing is open."""

from dataclasses import replace
from itertools import product
from types import SimpleNamespace
from typing import Any

import numpy as np
import pytest

from collum.case.facts import ToothFacts
from collum.case.model import Restoration, Tooth
from collum.core.ring import STATIONS
from collum.plan.lengthening.choice.choice import Recommendation, none_open, nothing_left, recommendation
from collum.plan.lengthening.findings import findings_of
from collum.plan.lengthening.grounds import Closing, Doubt, Ground, GroundId, LeastChange
from collum.plan.lengthening.procedures.procedure import Treatment
from collum.plan.lengthening.procedures.registry import procedure_of
from collum.plan.lengthening.route import Route, closed_route
from collum.plan.patient.standing import PatientStanding
from collum.plan.sentence import Sentence
from collum.vocabulary import ROUTES, RouteName, Verdict
from collum.wire.plan.choice_sentences import because, closings, conditions_said
from tests.measuring.necks import EVIDENCE

WITHOUT, ELEVATION, COVERAGE, SOFT, BONE, EXTRUSION = ROUTES
FOUR = (WITHOUT, SOFT, BONE, EXTRUSION)  # the others have tests of their own
HALF, TWO_THIRDS, THIRD, QUARTER = 0.5, 2 / 3, 1 / 3, 0.25
Said = Verdict | float  # a verdict, or the chance of what is in doubt


def tooth(number: int = 45, *, visible: bool = False, two_operations: bool | None = True) -> Tooth:
    facts = ToothFacts(two_operations_accepted=two_operations)
    return Tooth(number=number, restoration=Restoration(visible_zone=visible), facts=facts)


NOTHING_FOUND = findings_of(tooth(), PatientStanding(), EVIDENCE.limits)


def graded(verdict: Verdict, station: int | None = 0, least: float = 0.0) -> Any:
    return SimpleNamespace(verdict=verdict, worst_station=station, least=np.full(10, least), probability=0.5)


def route(name: RouteName, said: Said, rows: dict[str, Any] | None = None) -> Route:
    """A route with a verdict, or in doubt with a chance; `rows`: requirements beside its ferrule."""
    if said == "closed":
        return closed_route(name, closing("ankylosis"))
    verdict: Verdict = "in doubt" if isinstance(said, float) else said
    chance = said if isinstance(said, float) else {"kept": 0.95, "short": 0.05}.get(said)
    plan: Any = SimpleNamespace(
        assessment=SimpleNamespace(joint_probability=chance, graded={"ferrule": graded(verdict), **(rows or {})}, missing={}),
        treatment=Treatment(procedure=procedure_of(name), bone_mm=np.ones(STATIONS), extruded_mm=2.0),
        cut_mm=-np.ones(STATIONS),
        deepest_site=lambda worked_mm: int(np.argmax(worked_mm)),
        wishes=SimpleNamespace(rule=lambda _: SimpleNamespace(limit=2.0, confidence=0.9)),
        prepared=SimpleNamespace(evidence=EVIDENCE, limits=EVIDENCE.limits),
    )
    against = verdict == "short" or (isinstance(said, float) and said < THIRD)
    closed_by = closed_route(name, closing("mobility")).closed_by if against else None
    return Route(name=name, verdict=verdict, plan=plan, closed_by=closed_by)


def routes(*said: Said) -> list[Route]:
    """The four routes that most teeth have, in their order."""
    return [route(name, one) for name, one in zip(FOUR, said, strict=True)]


def closing(ground: GroundId) -> Closing:
    return Closing(kind="restorable_tooth", ground=Ground(id=ground), least_change=LeastChange(id="vertical_root_fracture"))


def found_of(made: list[Route], of: Tooth | None = None) -> Recommendation:
    return recommendation(made, of or tooth(), EVIDENCE.limits)


def name_of(made: list[Route], of: Tooth | None = None) -> str | None:
    found = found_of(made, of).route
    return None if found is None else found.name


@pytest.mark.parametrize(
    ("said", "name"),
    [
        (("kept", "kept", "kept", "kept"), WITHOUT),
        ((0.8, "kept", "not needed", "not needed"), SOFT),  # a small cut that is met before a crown that may fail
        (("short", "short", "kept", "kept"), BONE),
        (("short", "closed", 0.8, "kept"), EXTRUSION),
        ((0.8, "closed", "kept", "kept"), WITHOUT),
        (("short", "not needed", "short", "short"), SOFT),
        (("short", "short", 0.6, 0.8), EXTRUSION),  # of two in doubt the likelier
        (("short", "short", 0.7, 0.7), BONE),  # of equals the lesser
        ((0.7, 0.7, "short", "short"), WITHOUT),
        ((0.6, 0.7, "short", "short"), SOFT),
    ],
)
def test_the_least_burden_that_is_met_then_the_likelier_that_reaches_its_floor(said: tuple[Said, ...], name: RouteName) -> None:
    assert name_of(routes(*said)) == name


CHANCES = (0.24, 0.26, 0.32, 0.34, 0.49, HALF, 0.66, TWO_THIRDS, 0.85)


def expected(verdict: Said, name: RouteName, *, visible: bool) -> bool:
    """The rule as it is written, for one route alone, with bone open behind a cut of gum: burdens 1 against 3, in view 4."""
    if verdict in ("kept", "short", "closed"):
        return verdict == "kept"
    assert isinstance(verdict, float)
    if name in (WITHOUT, ELEVATION, COVERAGE):
        return verdict >= HALF
    if name == SOFT:
        return verdict > (QUARTER if visible else THIRD)
    return verdict >= (TWO_THIRDS if visible else HALF)


@pytest.mark.parametrize(("visible", "number"), [(False, 45), (False, 46), (True, 11), (True, 14)])
@pytest.mark.parametrize("name", ROUTES)
def test_the_table_of_verdict_burden_view_and_roots(name: RouteName, visible: bool, number: int) -> None:
    """One route with each verdict, the others short but for bone of little chance behind a cut of gum."""
    for said in ("kept", "short", "closed", *CHANCES):
        made = [route(one, said if one == name else "short") for one in ROUTES]
        if name == SOFT:
            made[ROUTES.index(BONE)] = route(BONE, 0.4)
        want = name if expected(said, name, visible=visible) else None
        assert name_of(made, tooth(number, visible=visible)) == want, said


@pytest.mark.parametrize(
    ("visible", "number", "open_next", "ratio"),
    [
        (False, 46, BONE, 1 / 3),
        (False, 45, BONE, 1 / 3),
        (True, 11, BONE, 1 / 4),
        (True, 14, BONE, 1 / 4),
        (False, 45, EXTRUSION, 1 / 4),
        (True, 11, EXTRUSION, 1 / 3),
        (True, 14, EXTRUSION, 1 / 4),
        (False, 45, None, 1 / 6),
    ],
)
def test_gum_goes_first_where_its_chance_is_over_the_ratio_of_the_burdens(
    visible: bool, number: int, open_next: RouteName | None, ratio: float
) -> None:
    for chance, goes in ((ratio - 0.01, False), (ratio + 0.01, True)):
        made = [route(WITHOUT, "short"), route(SOFT, chance), route(BONE, "short"), route(EXTRUSION, "short")]
        if open_next is not None:
            made[FOUR.index(open_next)] = route(open_next, 0.4)
        found = found_of(made, tooth(number, visible=visible))
        assert (found.staged is not None) is goes


def test_gum_first_goes_before_bone_that_is_met() -> None:
    made = routes("short", 0.41, "kept", "kept")
    found = found_of(made)
    assert found.route is made[1] and found.staged is not None
    said = because(found, made, NOTHING_FOUND, tooth(), words)
    assert said == Sentence(
        "plan.recommended.staged.soft_tissue_and_bone",
        {"act": "<plan.recommended.act.soft_tissue_only>", "of_ten": 4, "weeks": 4.0},
    )


@pytest.mark.parametrize(
    ("said", "key"),
    [
        (("short", 0.4, "short", "kept"), "staged.extrusion_first"),
        (("short", 0.4, 0.4, "short"), "staged.soft_tissue_and_bone_in_doubt"),
        (("short", 0.4, "short", 0.3), "staged.extrusion_first_in_doubt"),
        (("short", 0.4, "short", "closed"), "staged.none"),
        (("short", 0.3, 0.4, "short"), "talk_it_over"),
        ((0.3, 0.2, 0.4, "short"), "talk_it_over"),
        ((0.6, "short", "short", "short"), "in_doubt"),
    ],
)
def test_what_is_said_of_doubt(said: tuple[Said, ...], key: str) -> None:
    made = routes(*said)
    assert because(found_of(made), made, NOTHING_FOUND, tooth(), words).key == f"plan.recommended.{key}"


@pytest.mark.parametrize(
    ("rows", "goes"),
    [
        ({"keratinised_tissue_left": graded("kept", least=0.0)}, True),
        ({"keratinised_tissue_left": graded("in doubt", least=-0.1)}, False),  # 1.9 mm left for a later flap
        ({"clear_of_bone": graded("kept")}, True),
        ({"clear_of_bone": graded("in doubt")}, False),
        ({"clear_of_crest": graded("in doubt", station=9)}, False),  # mesial
        ({"definitive_finish_line": graded("in doubt", station=26)}, False),  # 10 degrees from distal
        ({"clear_of_crest": graded("kept", station=9)}, True),
        ({"clear_of_crest": graded("in doubt", station=12)}, True),  # the line angle, not between the teeth
        ({"preparation_height": graded("in doubt", station=9)}, True),  # no lack of bone
    ],
)
def test_gum_goes_first_only_where_the_conditions_of_a_second_operation_hold(rows: dict[str, Any], goes: bool) -> None:
    made = [route(WITHOUT, "short"), route(SOFT, 0.6, rows), route(BONE, "kept"), route(EXTRUSION, "short")]
    assert name_of(made) == (SOFT if goes else BONE)


@pytest.mark.parametrize(("accepts", "conditions"), [(True, ["provisional"]), (None, ["provisional", "two_operations"])])
def test_a_second_operation_that_was_not_asked_about_is_said_as_a_condition(
    accepts: bool | None, conditions: list[str]
) -> None:
    found = found_of(routes("short", 0.6, "kept", "short"), tooth(two_operations=accepts))
    assert [s.key.removeprefix("plan.recommended_if.") for s in conditions_said(found)] == conditions


def test_a_patient_who_wants_one_operation_has_no_staged_start() -> None:
    assert name_of(routes("short", 0.6, "kept", "short"), tooth(two_operations=False)) == BONE
    assert found_of(routes("short", 0.6, "short", "short"), tooth(two_operations=False)).why == "talk_it_over"


@pytest.mark.parametrize(("number", "name"), [(11, EXTRUSION), (14, BONE)])
def test_a_visible_tooth_with_one_root_is_raised_before_bone_is_taken(number: int, name: RouteName) -> None:
    assert name_of(routes("short", "short", "kept", 0.7), tooth(number, visible=True)) == name
    assert name_of(routes("short", "short", "kept", 0.6), tooth(number, visible=True)) == BONE
    assert name_of(routes("short", "short", "kept", "kept"), tooth(number)) == BONE


def test_a_finding_alone_leaves_the_lesser_route_before_one_that_is_likelier() -> None:
    made = routes("short", "short", 0.91, 0.95)
    made = [replace(one, doubts=(Doubt(id="growing"),)) for one in made]
    for one in made[2:]:
        one.plan.assessment.graded["ferrule"].verdict = "kept"  # type: ignore[union-attr]  # it is made with one
    found = found_of(made)
    assert found.route is made[2] and found.why == "doubt_left"
    assert because(found, made, NOTHING_FOUND, tooth(), words).key == "plan.recommended.doubt_left"


def test_what_needs_nothing_goes_before_a_route_that_a_finding_of_its_own_leaves_in_doubt() -> None:
    covered = replace(route(COVERAGE, 0.95), doubts=(Doubt(id="dam_not_tried"),))
    assert covered.plan is not None
    covered.plan.assessment.graded["ferrule"].verdict = "kept"  # type: ignore[union-attr]  # it is made with one
    made = [route(WITHOUT, 0.8), covered, route(SOFT, "not needed")]
    assert name_of(made) == SOFT
    assert name_of([*made[:2], route(SOFT, "short")]) == COVERAGE


def test_a_short_closed_or_unread_route_is_never_recommended() -> None:
    assert name_of(routes("short", "closed", "not assessed", "short")) is None
    made = [replace(one, plan=None) for one in routes("short", "short", "kept", "short")]
    assert name_of(made) is None  # nothing is offered


@pytest.mark.parametrize(
    ("said", "key"),
    [
        (("kept", "short", "short", "short"), "kept.restore_without_lengthening"),
        (("short", "kept", "short", "short"), "kept.soft_tissue_only"),
        (("short", "short", "kept", "short"), "kept.soft_tissue_and_bone"),
        (("short", "short", "short", "kept"), "kept.extrusion_first"),
        (("short", "not needed", "short", "short"), "not_needed"),
        (("short", "short", "not assessed", "short"), "not_assessed"),
        (("short", "short", "closed", "short"), "none"),
    ],
)
def test_why_is_said(said: tuple[Said, ...], key: str) -> None:
    made = routes(*said)
    assert because(found_of(made), made, NOTHING_FOUND, tooth(), words).key == f"plan.recommended.{key}"


def test_readings_that_are_missing_are_named_in_the_order_of_the_rules_they_block() -> None:
    made = routes("short", "not assessed", "short", "short")
    plan: Any = made[1].plan
    plan.assessment.missing = {
        "keratinised_tissue_left": "keratinised_width",
        "ferrule": "sound_height",
        "clear_of_crest": "bone_sounding",
        "papilla": "contact_point",
    }
    said = because(found_of(made), made, NOTHING_FOUND, tooth(), words)
    order = "<plan.reading.bone_sounding>, <plan.reading.sound_height>, <plan.reading.keratinised_width>"
    assert said == Sentence("plan.recommended.read_first", {"readings": order})


@pytest.mark.parametrize("one", ["kept", 0.6, "not needed", "not assessed"])
def test_nothing_is_a_last_resort_while_one_route_is_open_or_unread(one: Said) -> None:
    made = routes("short", "closed", one, "short")
    assert closings(found_of(made), made, words) == ((), False)


@pytest.mark.parametrize("said", list(product(("short", 0.2), repeat=2)))
def test_what_remains_is_said_where_every_route_is_short_closed_or_unlikely(said: tuple[Said, Said]) -> None:
    made = routes(said[0], "closed", said[1], "short")
    assert nothing_left(made, found_of(made))
    assert not nothing_left(made, replace(found_of(made), route=made[0]))
    assert none_open(made) is (0.2 not in said)


def test_one_fact_that_closes_all_is_said_once() -> None:
    made = [closed_route(name, closing("vertical_root_fracture")) for name in ROUTES]
    said, alike = closings(found_of(made), made, words)
    assert [s.key for s in said] == ["plan.last_resort.every_route"] and alike
    assert said[0].parameters["reason"] == "<plan.closing.vertical_root_fracture>"


def test_facts_that_differ_are_said_route_by_route() -> None:
    made = routes("short", "closed", "short", "short")
    said, alike = closings(found_of(made), made, words)
    assert [s.key for s in said] == [
        "plan.last_resort.restore_without_lengthening",
        "plan.last_resort.soft_tissue_only",
        "plan.last_resort.soft_tissue_and_bone",
        "plan.last_resort.extrusion_first",
    ]
    assert not alike
    assert said[1].parameters["reason"] != said[0].parameters["reason"]


def words(sentence: Sentence) -> str:
    return f"<{sentence.key}>"


def test_a_flap_that_takes_no_bone_is_not_told_as_bone_surgery() -> None:
    made = routes("short", "short", "kept", "short")
    plan: Any = made[2].plan
    plan.treatment = Treatment(procedure=procedure_of(BONE))
    assert because(found_of(made), made, NOTHING_FOUND, tooth(), words).key == "plan.recommended.kept.flap_without_bone"


@pytest.mark.parametrize(
    ("name", "done", "told"),
    [
        (WITHOUT, {}, Sentence("plan.recommended.act.restore_without_lengthening", {})),
        (SOFT, {"cut_mm": -2.0}, Sentence("plan.recommended.act.soft_tissue_only", {"amount_mm": 2.0, "station_deg": 180.0})),
        (SOFT, {"cut_mm": -0.4}, Sentence("plan.recommended.act.soft_tissue_only_least", {})),
        (
            BONE,
            {"bone_mm": 1.5},
            Sentence("plan.recommended.act.soft_tissue_and_bone", {"amount_mm": 1.5, "station_deg": 180.0}),
        ),
        (BONE, {"bone_mm": 0.0}, Sentence("plan.recommended.act.soft_tissue_and_bone_least", {})),
        (EXTRUSION, {"extruded_mm": 3.0}, Sentence("plan.recommended.act.extrusion_first", {"amount_mm": 3.0})),
        (EXTRUSION, {"extruded_mm": 0.4}, Sentence("plan.recommended.act.extrusion_first_least", {})),
    ],
)
def test_advice_begins_with_what_is_done_how_much_and_where(name: RouteName, done: dict[str, float], told: Sentence) -> None:
    made = routes(*("kept" if one == name else "short" for one in FOUR))
    plan: Any = made[FOUR.index(name)].plan
    at = {
        key: np.where(np.arange(STATIONS) == STATIONS // 2, amount, 0.0) for key, amount in done.items() if key != "extruded_mm"
    }
    plan.cut_mm = at.get("cut_mm", np.zeros(STATIONS))
    plan.treatment = Treatment(
        procedure=procedure_of(name), bone_mm=at.get("bone_mm", np.zeros(STATIONS)), extruded_mm=done.get("extruded_mm", 0.0)
    )
    said: list[Sentence] = []

    def hears(sentence: Sentence) -> str:
        said.append(sentence)
        return ""

    because(found_of(made), made, NOTHING_FOUND, tooth(), hears)
    assert said == [told]


def failing(place: int, *said: Said) -> list[Route]:
    """The four routes with one that failed."""
    made = routes(*said)
    made[place] = replace(made[place], verdict="not assessed", plan=None, closed_by=None, fault_id="id-1")
    return made


@pytest.mark.parametrize(
    ("said", "place", "name"),
    [
        (("short", "kept", "not needed", "not needed"), 0, None),
        (("kept", "short", "short", "short"), 1, WITHOUT),
        (("short", "short", "kept", "kept"), 3, BONE),
        (("short", "short", 0.6, "short"), 3, None),
        (("short", 0.6, "short", "short"), 2, None),
        (("short", "short", "short", "short"), 2, None),
    ],
)
def test_nothing_is_recommended_instead_of_a_route_that_failed(
    said: tuple[Said, ...], place: int, name: RouteName | None
) -> None:
    made = failing(place, *said)
    found = found_of(made)
    assert (None if found.route is None else found.route.name) == name
    assert (because(found, made, NOTHING_FOUND, tooth(), words).key == "plan.recommended.failed") == (name is None)
    assert closings(found, made, words) == ((), False)


CLOSING, CANAL = closing("acute_infection"), (Doubt(id="canal_open"),)
OUT, CLOSED = Doubt(id="sound_edge_before_caries_out"), ("closed", "closed", "closed", "closed")


@pytest.mark.parametrize(
    ("said", "found", "key", "named"),
    [
        (("short", "short", "kept", "kept"), {"doubts": (OUT, *CANAL)}, "afterwards", "<plan.first.caries_out>"),
        (("short", "short", "kept", "kept"), {"doubts": CANAL}, "afterwards", "<plan.first.canal>"),
        (("kept", "short", "kept", "kept"), {"doubts": CANAL}, "kept.restore_without_lengthening", None),  # nothing is cut
        (("short", "short", "short", "short"), {"doubts": CANAL}, "before", "<plan.first.canal>"),
        (CLOSED, {"everywhere": (CLOSING,), "doubts": CANAL}, "closed", "<plan.closing.acute_infection>"),
        (
            ("short", "short", "closed", "closed"),
            {"by_patient": {BONE: (CLOSING,)}},
            "closed",
            "<plan.closing.acute_infection>",
        ),
        (("short", "short", 0.2, "short"), {"by_patient": {EXTRUSION: (CLOSING,)}}, "talk_it_over", None),  # one is open
    ],
)
def test_what_has_to_be_done_or_to_heal_first_is_said_first(
    said: tuple[Said, ...], found: dict[str, Any], key: str, named: str | None
) -> None:
    made = routes(*said)
    told = because(found_of(made), made, replace(NOTHING_FOUND, **found), tooth(), words)
    assert told.key == f"plan.recommended.{key}"
    assert named is None or named in (told.parameters.get("first"), told.parameters.get("reason"))

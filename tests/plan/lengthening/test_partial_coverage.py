"""Partial coverage: what it asks in place of a ferrule, what closes it, and what leaves it unassessed or in doubt."""

from functools import cache
from typing import Any

import numpy as np
import pytest

from collum.app.speaking import words
from collum.case import from_document
from collum.plan import ToothPlan, plan_tooth
from collum.plan.lengthening.choice.choice import recommendation
from collum.plan.lengthening.requirements.places import stations_at
from collum.plan.lengthening.route import Route
from collum.plan.sentence import Sentence
from collum.wire.plan.choice_sentences import because
from collum.wire.plan.document import ToothDocument
from collum.wire.plan.to_document import tooth_document
from tests.making import clinic
from tests.measuring.necks import drawn_neck

DRAWS = 1_000
NAME, WITHOUT = "partial coverage", "restore without lengthening"
BOX_JUNCTION = [-1.5, -2.0, -2.0, -2.0, -1.5, -4.0, -4.5, -4.5, -4.5, -4.0]
VERY_LOW = clinic.low_crown(sites={"crown_height": [3.5, 3.0, 3.0] * 2, "sound_height": [3.0, 2.5, 2.5] * 2})


def planned(tooth: dict[str, Any], **of_patient: Any) -> ToothPlan:
    case = from_document(clinic.patient_with({key: held for key, held in tooth.items() if held is not None}, **of_patient))
    return plan_tooth(case, 0, drawn_neck(case, DRAWS))


def covered(**changes: Any) -> Route:
    return planned(clinic.low_crown(**changes)).route(NAME)


def sites(**readings: list[float] | None) -> Route:
    return covered(sites=readings)


def told(tooth: dict[str, Any], **of_patient: Any) -> ToothDocument:
    return tooth_document(planned(tooth, **of_patient), words)


def keys(document: ToothDocument, where: str) -> list[str]:
    (route,) = [one for one in document.routes if one.name == NAME]
    return [said.key.rpartition(".")[2] for said in getattr(route, where)]


@cache
def low() -> ToothPlan:
    return planned(clinic.low_crown())


def test_a_low_crown_with_walls_in_enamel_is_covered_and_nothing_is_cut() -> None:
    """Of 4.0 mm over the gum a crown lacks height even under 1.0 mm of ceramic; what is bonded has enough."""
    route = low().route(NAME)
    assert low().route(WITHOUT).verdict in ("short", "in doubt")
    assert route.verdict == "kept" and route.plan is not None
    assert recommendation(low().routes, low().prepared.inputs.tooth, low().prepared.limits).route is route
    limits = route.plan.limits
    assert (route.plan.finish_mm >= limits.coverage_above_gum_mm - limits.solver_tolerance_mm).all()
    assert not (route.plan.cut_mm < -limits.least_cut_mm).any()


def test_it_asks_for_no_ferrule_and_no_resistance_but_that_the_margin_is_on_tooth() -> None:
    plan = low().route(NAME).plan
    assert plan is not None
    assert plan.assessment.graded["resistance"] is None
    ferrule = plan.assessment.graded["ferrule"]
    assert ferrule is not None and ferrule.limit == 0
    height = plan.assessment.graded["preparation_height"]
    assert height is not None and height.limit == plan.limits.coverage_wall_height_mm
    others = [one.plan for one in low().routes if one.plan is not None and one.name != NAME]
    assert others
    for one in others:
        assert one.assessment.graded["enamel_at_margin"] is None and one.assessment.graded["walls_standing"] is None


@pytest.mark.parametrize(
    ("changes", "closes"),
    [
        ({"number": 12}, "front_tooth_uncovered"),
        ({"role": "abutment"}, "abutment_uncovered"),
        ({"contact": {"mesial": "pontic"}}, "abutment_uncovered"),
        ({"restoration": {"kind": "bridge abutment"}}, "abutment_uncovered"),
        ({"restoration": {"visible_zone": True}}, "crown_for_looks"),  # a full crown, for nothing else was written
        ({"restoration": {"visible_zone": True, "kind": "onlay"}}, None),
        (
            {"restoration": {"visible_zone": True, "kind": "onlay", "finish": {"position": "in the sulcus", "mm": 0.5}}},
            "crown_for_looks",
        ),
        ({"restoration": {"finish": {"position": "in the sulcus", "mm": 0.5}}}, None),
        ({"old_stump": {"post": True}}, "post_in_tooth"),
        ({"old_stump": {"post": False}}, "prepared_before"),
        ({"old_crown": {"failures": 1}}, "prepared_before"),
        ({"dam_and_matrix": "not dry"}, "not_dry"),
    ],
)
def test_what_closes_it_closes_no_other_route(changes: dict[str, Any], closes: str | None) -> None:
    tooth = clinic.low_crown()
    plan = planned({**tooth, **changes, "restoration": {**tooth["restoration"], **changes.get("restoration", {})}})
    route = plan.route(NAME)
    assert (None if route.closed_by is None else route.closed_by.requirement) == closes
    assert route.verdict == ("kept" if closes is None else "closed")
    others = [one for one in plan.routes if one.name not in (NAME, "deep margin elevation")]
    assert all(one.verdict != "closed" for one in others)


@pytest.mark.parametrize(
    ("changes", "doubts"),
    [
        ({"dam_and_matrix": None}, {"dam_not_tried"}),
        ({"sites": {"wall_thickness": None}}, {"cusps_not_measured"}),
    ],
)
def test_what_was_not_tried_or_measured_leaves_it_in_doubt(changes: dict[str, Any], doubts: set[str]) -> None:
    plan = planned(clinic.low_crown(**changes))
    assert plan.route(NAME).verdict == "in doubt"
    assert {doubt.id for doubt in plan.route(NAME).doubts} == doubts
    assert not any(doubt.id in doubts for one in plan.routes if one.name != NAME for doubt in one.doubts)


@pytest.mark.parametrize(
    ("kind", "blocked"),
    [("cej_height", "enamel_at_margin"), ("sound_height", "walls_standing"), ("crown_height", "walls_standing")],
)
def test_without_the_reading_that_decides_it_is_not_assessed(kind: str, blocked: str) -> None:
    route = sites(**{kind: None})
    assert route.verdict == "not assessed" and route.plan is not None
    assert route.plan.assessment.missing[blocked] == kind


# At so many sites the junction stands 3.0 mm over the gum: too little wall is left over it, and the margin stays on the root.
@pytest.mark.parametrize(("recessed", "verdicts"), [(0, {"kept"}), (4, {"in doubt"}), (6, {"short"})])
def test_enamel_over_three_quarters_of_the_margin_decides(recessed: int, verdicts: set[str]) -> None:
    plan = sites(cej_height=[3.0] * recessed + [-2.0] * (6 - recessed)).plan
    enamel = None if plan is None else plan.assessment.graded["enamel_at_margin"]
    assert enamel is not None and enamel.verdict in verdicts


def test_the_margin_follows_the_enamel_where_gum_has_receded() -> None:
    """The junction is 1.5 mm over the gum facially, under a wall of 3.5 mm: the margin is placed over it."""
    plan = sites(cej_height=[1.5, 1.0, -2.0, -2.0, -2.0, 1.0]).plan
    assert plan is not None
    enamel = plan.assessment.graded["enamel_at_margin"]
    assert enamel is not None and enamel.verdict == "kept"
    assert float(plan.finish_mm[0]) > 1.25 > float(covered().plan.finish_mm[0])


def test_chances_fall_with_enamel_and_with_walls() -> None:
    for name, readings in {
        "cej_height": [[mm] * 6 for mm in (-2.0, 1.5, 2.5, 3.5)],
        "sound_height": [[mm] * 6 for mm in (3.5, 2.0, 1.5, 1.0)],
    }.items():
        chances = [sites(**{name: heights}).chance or 0.0 for heights in readings]
        assert chances == sorted(chances, reverse=True) and chances[0] > 0.9 and chances[-1] < 0.1


@pytest.mark.parametrize(("margin_mm", "held"), [(-1.0, False), (2.5, True)])
def test_where_a_restoration_has_replaced_the_tooth_there_is_no_enamel(margin_mm: float, held: bool) -> None:
    """A filling that reaches under the gum on three sides, against fillings that end well over the margin."""
    route = covered(restoration_margin_mm=dict.fromkeys(("F", "MF", "M", "ML", "L"), margin_mm))
    assert (route.verdict == "kept") is held
    assert held or (route.closed_by is not None and route.closed_by.requirement == "enamel_at_margin")


@pytest.mark.parametrize(
    ("changes", "against"),
    [
        ({"sites": {"sound_height": [1.5] * 6}}, "walls_standing"),
        ({"sites": {"sound_height": [0.5] * 6}}, "walls_not_standing"),  # broken off at the gum: not to be raised all round
        ({"sites": {"wall_thickness": [0.5] * 6}}, "walls_standing"),
        ({"missing_walls": ["F", "MF", "L", "ML", "DL"]}, "walls_standing"),
    ],
)
def test_without_walls_it_is_never_offered(changes: dict[str, Any], against: str) -> None:
    plan = planned(clinic.low_crown(**changes))
    route = plan.route(NAME)
    assert route.verdict in ("short", "closed")
    assert route.closed_by is not None and route.closed_by.requirement == against
    assert recommendation(plan.routes, plan.prepared.inputs.tooth, plan.prepared.limits).route is not route


def test_a_box_is_raised_first_and_is_no_enamel() -> None:
    tooth = clinic.deep_box(sites={"cej_height": BOX_JUNCTION})
    plan = planned(tooth)
    route = plan.route(NAME)
    assert route.verdict == "kept" and route.plan is not None and route.plan.treatment.raised.any()
    enamel = route.plan.assessment.graded["enamel_at_margin"]
    assert enamel is not None and enamel.value == pytest.approx(1 - np.mean(route.plan.treatment.raised), abs=1 / 36)
    assert route.plan.treatment.procedure.steps_of(route.plan.treatment)[:3] == ("isolate", "raise_margin", "bitewing")
    chosen = recommendation([route], plan.prepared.inputs.tooth, plan.prepared.limits)
    said = because(chosen, [route], plan.findings, plan.prepared.inputs.tooth, lambda sentence: sentence.key)
    act = "plan.recommended.act.partial_coverage_distal"
    assert said == Sentence("plan.recommended.kept.partial_coverage", {"act": act})
    assert planned({**tooth, "dentine_seat_mm": {"distal": 0.9}}).route(NAME).verdict == "closed"
    assert recommendation(plan.routes, plan.prepared.inputs.tooth, plan.prepared.limits).route is plan.routes[1]


@pytest.mark.parametrize(
    ("changes", "cusps"),
    [
        ({"sites": {"wall_thickness": [2.0] * 6}}, "cusps_left"),
        ({"sites": {"wall_thickness": [2.0, 2.0, 1.5, 2.0, 2.0, 2.0]}}, "cusps_covered"),
        ({"vital": False, "sites": {"wall_thickness": [2.5] * 6}}, "cusps_covered"),
        ({"vital": False, "sites": {"wall_thickness": [3.0] * 6}}, "cusps_left"),
        ({"sites": {"wall_thickness": None}}, "cusps_unread"),
    ],
)
def test_thin_cusps_are_covered_and_those_of_a_root_filled_tooth_sooner(changes: dict[str, Any], cusps: str) -> None:
    said = keys(told(clinic.low_crown(**changes)), "means")
    assert [key for key in said if key.startswith("cusps")] == [cusps]
    assert "cover" in said or "metal_cover" in said


def test_a_very_low_crown_is_covered_in_metal() -> None:
    """1.5 mm of ceramic leave too little over the margin, 1.0 mm of metal leaves more."""
    route = planned(VERY_LOW).route(NAME)
    assert route.plan is not None and route.concessions.occlusal_reduction_mm == route.plan.limits.coverage_metal_mm
    assert "metal_cover" in keys(told(VERY_LOW), "means")


@pytest.mark.parametrize(
    ("bruxism", "said"), [("none", []), ("suspected", ["bruxism_suspected"]), ("certain", ["bruxism_certain"])]
)
def test_bruxism_is_said_and_moves_no_verdict(bruxism: str, said: list[str]) -> None:
    document = told(clinic.low_crown(), bruxism=bruxism)
    assert [key for key in keys(document, "explanation") if key.startswith("bruxism")] == said
    assert document.recommended_route == NAME


@pytest.mark.parametrize(
    ("site", "degrees"),
    [("F", [0, 10, 20, 30, 330, 340, 350]), ("M", [80, 90, 100]), ("ML", [110, 120, 130, 140, 150]), ("90", [80, 90, 100])],
)
def test_the_stations_of_a_site_reach_half_way_to_the_next(site: str, degrees: list[int]) -> None:
    assert [10 * station for station in np.flatnonzero(stations_at(site))] == degrees

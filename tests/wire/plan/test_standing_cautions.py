"""Each standing caution is said where what it warns of is planned, and not elsewhere."""

from typing import Any

import pytest

from collum.app.plans.planning import Planner
from collum.evidence.safety_rules import Procedure
from collum.plan.lengthening.procedures.registry import PROCEDURES
from collum.plan.safety import screen
from collum.wire.plan.document import PlanDocument
from collum.wire.plan.standing_cautions import ALWAYS, planned_procedures, standing_cautions
from tests.making.teeth import broken_premolar, case_of

OF_CURRENT = {
    "safety.alternative.current",
    "plan.caution.bone_distance",
    "plan.caution.no_metal",
    "plan.caution.no_data_soft_tissue",
    "safety.reminder.fire",
    "safety.reminder.heart_device",
    "safety.reminder.plate",
    "safety.reminder.smoke",
    "safety.without_pulp.touch",  # the tooth is root-filled
}
ROUTE_OF = {one.safety_procedure: one.id for one in PROCEDURES if one.safety_procedure is not None}
DOES: dict[Procedure, dict[str, Any]] = {
    "current": {},
    "bone": {"bone_reduction_mm": [0.0] * 35 + [1.0]},
    "movement": {"extrusion_mm": 2.0},
}


@pytest.fixture(scope="module")
def made() -> PlanDocument:
    return Planner(100).plan(case_of(broken_premolar()))


def said(made: PlanDocument, *planned: Procedure) -> set[str]:
    """Return the keys of what is said where these procedures are planned."""
    tooth = made.teeth[0]
    routes = [
        route.model_copy(
            update={
                "verdict": "in doubt" if route.name in [ROUTE_OF[one] for one in planned] else "short",
                "sites": [site.model_copy(update={"cut": True}) for site in route.sites],
                **next((DOES[one] for one in planned if ROUTE_OF[one] == route.name), {}),
            }
        )
        for route in tooth.routes
    ]
    screening = screen(case_of(broken_premolar()))
    return {sentence.key for sentence in standing_cautions([tooth.model_copy(update={"routes": routes})], screening)}


def test_what_current_does_is_warned_of_with_current_alone(made: PlanDocument) -> None:
    assert said(made, "current") >= OF_CURRENT
    for other in ("bone", "movement"):
        assert said(made, other) & OF_CURRENT == set()  # type: ignore[arg-type]  # each is a procedure


def test_what_is_known_of_regrowth_is_said_of_cuts_and_not_of_movement(made: PlanDocument) -> None:
    oral = "plan.caution.no_data_oral"
    assert [oral in said(made, one) for one in DOES] == [True, True, False]


def test_the_clinician_decides_whatever_is_planned(made: PlanDocument) -> None:
    for planned in ((), ("current",), ("bone",), ("movement",)):
        assert ALWAYS in said(made, *planned)  # type: ignore[arg-type]  # each is a procedure
    assert said(made) == {ALWAYS}


def test_a_route_that_is_short_or_changes_nothing_plans_nothing(made: PlanDocument) -> None:
    routes = [
        route.model_copy(update={"verdict": "in doubt", "sites": [], "bone_reduction_mm": None, "extrusion_mm": None})
        for route in made.teeth[0].routes
    ]
    assert planned_procedures(routes) == frozenset()
    assert planned_procedures(route.model_copy(update={"verdict": "short"}) for route in made.teeth[0].routes) == frozenset()

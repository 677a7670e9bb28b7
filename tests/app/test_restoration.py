"""The use case: the same answer from the same plan, every tooth of it, and the evidence beside its numbers."""

from dataclasses import replace

from collum.app.plans.planning import Planner
from collum.app.plans.restoration import restorations_of_plan
from collum.case.model import Case
from tests.making.teeth import broken_premolar, case_of, overgrown_premolar


def test_every_planned_tooth_is_answered_from_its_plan() -> None:
    neighbour = overgrown_premolar(number=46, role="neighbour")
    case: Case = replace(case_of(broken_premolar()), teeth=(broken_premolar(), neighbour, overgrown_premolar(number=35)))
    made = Planner(200).planned(case)
    plan, found = made.document, restorations_of_plan(case, made)
    assert [tooth.number for tooth in found.teeth] == [45, 35]
    assert (found.seed, found.draws, found.input_sha256) == (plan.seed, plan.draws, plan.input_sha256)
    assert found.safety_cleared is plan.safety_cleared
    assert found == restorations_of_plan(case, made)
    assert len({constant.key for constant in found.constants}) == len(found.constants)
    assert {constant.status for constant in found.constants} >= {"read", "memory", "common_practice"}

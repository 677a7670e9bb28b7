"""Whether a bridge holds by the rules, in one word and in sentences: the answer that stands before all its figures."""

from typing import Literal

from collum.plan.bridge.bridge_plan import BridgePlan
from collum.plan.bridge.weak_points import not_assessed, weak_points
from collum.plan.sentence import Sentence, say

BridgeVerdict = Literal["kept", "in doubt", "short", "not assessed"]


def answer(plan: BridgePlan) -> tuple[BridgeVerdict, list[Sentence]]:
    """Return the verdict and what it means.

    Short where a rule is not met; in doubt where something speaks against it that no rule decides; not assessed where nothing
    does but something was not read; kept where everything was judged.
    """
    weak = weak_points(plan)
    verdict: BridgeVerdict = "not assessed" if not_assessed(plan) else "kept"
    if weak:
        verdict = "short" if any(point.lacks for point in weak) else "in doubt"
    said = [say(f"bridge.answer.{verdict.replace(' ', '_')}")]
    if weak and not_assessed(plan):
        said.append(say("bridge.answer.and_not_assessed"))
    return verdict, said


def weakest_connector(plan: BridgePlan) -> tuple[int, Sentence]:
    """Return the connector that lacks most of its size, else the one that is bent most, and how it is named.

    Bent most: over all loads and all three stiffnesses of the abutments.
    """
    stress = plan.carried.worst_stress_mpa().max(axis=0)
    lacking = [
        (check.lacking_height_mm or 0) / check.need.height_mm + (check.lacking_area_mm2 or 0) / check.need.area_mm2
        for check in plan.connectors
    ]
    index = max(range(len(lacking)), key=lambda i: (lacking[i], float(stress[i])))
    one, two = plan.units[index].number, plan.units[index + 1].number
    how = "lacks" if lacking[index] else "bent_most"
    return index, say(f"bridge.weakest.{how}", one=one, two=two)

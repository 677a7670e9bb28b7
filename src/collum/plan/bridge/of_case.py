"""A bridge of a case, judged on the plans of its abutments."""

from collections.abc import Sequence

from collum.case import Case
from collum.plan.bridge.bridge_plan import BridgePlan, plan_bridge
from collum.plan.bridge.wishes import wishes_of
from collum.plan.lengthening.choice.choice import none_open
from collum.plan.lengthening.planned import PlannedTooth
from collum.plan.printed import as_line


def bridge_of_case(case: Case, index: int, teeth: Sequence[PlannedTooth]) -> BridgePlan:
    """Return the plan of a bridge by its index, with what the case wishes for it; `teeth`: the plans of its teeth.

    Raises BridgeFault where no plan can be made.
    """
    return plan_bridge(case, index, wishes_of(case.bridges[index]), _bone_lost_mm(teeth), _without_route(teeth))


def _without_route(teeth: Sequence[PlannedTooth]) -> set[int]:
    """Return the teeth for which every route is short or closed."""
    return {tooth.tooth.number for tooth in teeth if none_open(tooth.routes)}


def _bone_lost_mm(teeth: Sequence[PlannedTooth]) -> dict[int, float]:
    """Return what the recommended route of each tooth takes from its attachment: bone all round on average, and movement.

    Bone counts to the last place that is printed.
    """
    lost = {}
    for tooth in teeth:
        route = None if tooth.recommended is None else tooth.route(tooth.recommended)
        if route is not None and route.lines is not None:
            taken = as_line(route.lines.treatment.bone_mm)
            lost[tooth.tooth.number] = sum(taken) / len(taken) + route.lines.treatment.extruded_mm
    return {number: mm for number, mm in lost.items() if mm > 0}

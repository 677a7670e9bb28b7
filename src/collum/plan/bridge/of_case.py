"""A bridge of a case joined with the plans of its abutments, as it leaves the program."""

from collections.abc import Sequence

from collum.case import Case
from collum.plan.bridge.bridge_plan import plan_bridge
from collum.plan.bridge.document import BridgeDocument
from collum.plan.bridge.to_document import bridge_document, faulty_bridge_document
from collum.plan.bridge.units import BridgeFault
from collum.plan.bridge.wishes import wishes_of
from collum.plan.document import ToothDocument
from collum.plan.speaking import Words


def bridge_of_case(case: Case, index: int, teeth: Sequence[ToothDocument], words: Words) -> BridgeDocument:
    """Return a bridge by its index, with what the case wishes for it; `teeth` are the plans of the teeth of the case."""
    wishes = wishes_of(case.bridges[index])
    try:
        made = plan_bridge(case, index, wishes, _bone_lost_mm(teeth), _without_route(teeth))
    except BridgeFault as fault:
        return faulty_bridge_document(wishes.material, fault, words)
    return bridge_document(made, {tooth.number: tooth for tooth in teeth}, words)


def _without_route(teeth: Sequence[ToothDocument]) -> set[int]:
    """Return the teeth for which every route is short or closed."""
    return {tooth.number for tooth in teeth if all(route.verdict in ("short", "closed") for route in tooth.routes)}


def _bone_lost_mm(teeth: Sequence[ToothDocument]) -> dict[int, float]:
    """Return what the recommended route of each tooth takes from its attachment: bone all round on average, and movement."""
    lost = {}
    for tooth in teeth:
        for route in tooth.routes:
            if route.name == tooth.recommended_route:
                taken = route.bone_reduction or [0.0]
                lost[tooth.number] = sum(taken) / len(taken) + (route.extrusion_mm or 0.0)
    return {number: mm for number, mm in lost.items() if mm > 0}

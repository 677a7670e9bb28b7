"""Use case: the bridges of a case, judged from the case and from the plans of their abutments."""

import collum
from collum.app.speaking import words
from collum.case import Case
from collum.evidence import all_constants
from collum.plan import constant_document
from collum.plan.bridge import (
    BridgeDocument,
    BridgeFault,
    BridgesDocument,
    BridgeWishes,
    bridge_document,
    faulty_bridge_document,
    plan_bridge,
)
from collum.plan.document import PlanDocument

_CONSTANTS = ("bridge.", "pontic.")


def bridges_of_plan(case: Case, plan: PlanDocument, wishes: BridgeWishes) -> BridgesDocument:
    """Return every bridge of the case with the same wishes, joined with the plans of its abutments."""
    return BridgesDocument(
        format="collum-bridge/1",
        program_version=collum.__version__,
        units={"length": "mm", "angle": "deg", "force": "N", "stress": "MPa"},
        case_reference=plan.case_reference,
        invented=plan.invented,
        bridges=[_bridge(case, plan, index, wishes) for index in range(len(case.bridges))],
        safety_cleared=plan.safety_cleared,
        safety_reason=plan.safety_reason,
        constants=[constant_document(c) for c in all_constants() if c.key.startswith(_CONSTANTS)],
        seed=plan.seed,
        draws=plan.draws,
        input_sha256=plan.input_sha256,
    )


def _bridge(case: Case, plan: PlanDocument, index: int, wishes: BridgeWishes) -> BridgeDocument:
    try:
        made = plan_bridge(case, index, wishes, _bone_lost_mm(plan))
    except BridgeFault as fault:
        return faulty_bridge_document(wishes.material, fault, words)
    return bridge_document(made, {tooth.number: tooth for tooth in plan.teeth}, words)


def _bone_lost_mm(plan: PlanDocument) -> dict[int, float]:
    """Return what the recommended route of each tooth takes from its attachment: bone all round on average, and movement."""
    lost = {}
    for tooth in plan.teeth:
        for route in tooth.routes:
            if route.name == tooth.recommended_route:
                taken = route.bone_reduction or [0.0]
                lost[tooth.number] = sum(taken) / len(taken) + (route.extrusion_mm or 0.0)
    return {number: mm for number, mm in lost.items() if mm > 0}

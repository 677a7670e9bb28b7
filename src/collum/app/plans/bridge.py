"""Use case: the bridges of a case, judged from the case and from the plans of their abutments."""

import collum
from collum.app.plans.planning import PlannedCase
from collum.app.speaking import words
from collum.case import Case
from collum.evidence import all_constants
from collum.plan.bridge import BridgeFault, bridge_of_case, wishes_of
from collum.wire.bridge.document import BridgeDocument, BridgesDocument
from collum.wire.bridge.to_document import bridge_document, faulty_bridge_document
from collum.wire.of_plan import of_plan
from collum.wire.sources import constant_document

_CONSTANTS = ("bridge.", "pontic.", "neck.error.sounding", "plan.confidence.clear_of_bone")


def bridges_of_plan(case: Case, made: PlannedCase) -> BridgesDocument:
    """Return every bridge of the case with what it wishes for it, joined with the plans of its abutments."""
    return BridgesDocument(
        format="collum-bridge/2",
        program_version=collum.__version__,
        units={"length": "mm", "angle": "deg", "force": "N", "stress": "MPa"},
        bridges=[bridge_answer(case, index, made) for index in range(len(case.bridges))],
        constants=[constant_document(c) for c in all_constants() if c.key.startswith(_CONSTANTS)],
        **of_plan(made.document),
    )


def bridge_answer(case: Case, index: int, made: PlannedCase) -> BridgeDocument:
    """Return one bridge of the case by its index."""
    try:
        bridge = bridge_of_case(case, index, made.teeth)
    except BridgeFault as fault:
        return faulty_bridge_document(wishes_of(case.bridges[index]).material, fault, words)
    return bridge_document(bridge, {tooth.number: tooth for tooth in made.document.teeth}, words)

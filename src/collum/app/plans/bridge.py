"""Use case: the bridges of a case, judged from the case and from the plans of their abutments."""

import collum
from collum.app.speaking import words
from collum.case import Case
from collum.evidence import all_constants
from collum.plan import constant_document
from collum.plan.bridge import BridgesDocument, bridge_of_case
from collum.plan.document import PlanDocument

_CONSTANTS = ("bridge.", "pontic.", "neck.error.sounding", "plan.confidence.clear_of_bone")


def bridges_of_plan(case: Case, plan: PlanDocument) -> BridgesDocument:
    """Return every bridge of the case with what it wishes for it, joined with the plans of its abutments."""
    return BridgesDocument(
        format="collum-bridge/1",
        program_version=collum.__version__,
        units={"length": "mm", "angle": "deg", "force": "N", "stress": "MPa"},
        case_reference=plan.case_reference,
        invented=plan.invented,
        bridges=[bridge_of_case(case, index, plan.teeth, words) for index in range(len(case.bridges))],
        safety_cleared=plan.safety_cleared,
        safety_reason=plan.safety_reason,
        constants=[constant_document(c) for c in all_constants() if c.key.startswith(_CONSTANTS)],
        seed=plan.seed,
        draws=plan.draws,
        input_sha256=plan.input_sha256,
    )

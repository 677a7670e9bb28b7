"""Openings for tests of papers: made by the gate itself, for a screening in which everything was answered harmlessly."""

import json
from collections.abc import Mapping
from typing import Any

from collum.case import from_document
from collum.case.visit import Visit
from collum.evidence.safety_rules import Procedure
from collum.plan.safety import Opening, Screening, open_paper
from collum.plan.safety.gate import ToothGate
from tests.making.case_documents import case_document

OPENED_AT = "2026-11-25T08:00:00Z"


def harmless_screening(number: int, procedure: Procedure = "current") -> Screening:
    """Return the screening of one tooth in which nothing closes."""
    return Screening(
        procedure=procedure,
        plan="",
        case=from_document(case_document()),
        visit=Visit(index=0, date="2026-11-25", kind="cut", by="DN", opened_at=OPENED_AT),
        points=(),
        teeth=(ToothGate(number=number, points=(), shared_closed=False),),
    )


def opening_of(plan: Mapping[str, Any], procedure: Procedure, tooth: int = 0) -> Opening:
    """Return the opening of a procedure for the tooth at a position of a plan; Closed where the plan gives no ground."""
    return open_paper(harmless_screening(plan["teeth"][tooth]["number"], procedure), json.dumps(plan), tooth)

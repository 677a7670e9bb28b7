"""What the sheets of restoration and bridge show for a case document, planned with few draws and once for all tests."""

import json
from functools import cache
from typing import Any

from collum.app.plans.answers import answer_on
from collum.app.plans.planning import PlannedCase, Planner
from collum.case import from_document
from collum.papers import Answer, PaperKind

DRAWS = 300


def answer_of(kind: PaperKind, case: dict[str, Any], number: int) -> Answer | None:
    """Return the answer on a tooth, None for another kind of paper. Raises PaperRefused."""
    return _answer(kind, json.dumps(case, default=str), number)


@cache
def _answer(kind: PaperKind, document: str, number: int) -> Answer | None:
    case = from_document(json.loads(document))

    def planned(only: int | None) -> PlannedCase:
        return Planner(DRAWS).planned(case, only=only)

    return answer_on(kind, case, number, planned)

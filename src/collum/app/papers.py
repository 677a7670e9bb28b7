"""Use case: typeset a plan that is not kept in the record, as `collum report` does."""

import hashlib
import json

from collum.app.environment import Environment, utc_text
from collum.case import Case, to_document
from collum.documents import PaperHead, PaperKind, PaperRefused, paper
from collum.plan.document import PlanDocument
from collum.wording import text

__all__ = ["PaperRefused", "loose_paper"]


def loose_paper(environment: Environment, case: Case, plan: PlanDocument, kind: PaperKind, *, tooth: int) -> bytes:
    """Return a paper (PDF) of the plan of `case` for its tooth at position `tooth`; its head says that it is not stored.

    Raises PaperRefused where the plan does not open the route that the paper is about.
    """
    result = plan.model_dump_json()
    head = PaperHead(
        plan_id=text("cli.report.not_stored"),
        made_at=utc_text(environment.now()),
        result_sha256=hashlib.sha256(result.encode()).hexdigest(),
    )
    return paper(kind, json.loads(result), tooth=tooth, head=head, case=to_document(case))

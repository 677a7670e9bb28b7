"""Use case: typeset a plan that is not kept in the record, as `collum report` does."""

import hashlib
import json

from collum.app.environment import Environment, utc_text
from collum.documents import PaperHead, PaperKind, paper
from collum.plan.document import PlanDocument
from collum.wording import text


def loose_paper(environment: Environment, plan: PlanDocument, kind: PaperKind, *, tooth: int) -> bytes:
    """Return a paper (PDF) of `plan` for its tooth at position `tooth`; its head says that the plan is not stored."""
    result = plan.model_dump_json()
    head = PaperHead(
        plan_id=text("cli.report.not_stored"),
        made_at=utc_text(environment.now()),
        result_sha256=hashlib.sha256(result.encode()).hexdigest(),
    )
    return paper(kind, json.loads(result), tooth=tooth, head=head)

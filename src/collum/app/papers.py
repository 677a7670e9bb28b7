"""Use case: typeset a plan that is not kept in the record, as `collum report` does."""

import hashlib
import json

from collum.app.environment import Environment, utc_text
from collum.app.gate import as_card, assess, cleared_for
from collum.app.heat import heat_of_plan
from collum.case import Case, to_document
from collum.documents import PaperHead, PaperKind, PaperRefused, paper
from collum.documents.checklist import checklist
from collum.documents.letter import physician_letter
from collum.plan.document import PlanDocument
from collum.plan.heat import HeatWishes
from collum.wording import text

__all__ = ["PaperRefused", "loose_checklist", "loose_letter", "loose_paper"]


def loose_paper(environment: Environment, case: Case, plan: PlanDocument, kind: PaperKind, *, tooth: int) -> bytes:
    """Return a paper (PDF) of the plan of `case` for its tooth at position `tooth`; its head says that it is not stored.

    Raises PaperRefused where the plan does not open the route that the paper is about, NotCleared for a card that the answers
    in the case do not open now.
    """
    result = plan.model_dump_json()
    now = environment.now()
    shown = json.loads(result)
    if kind == "chairside-card":
        number = plan.teeth[tooth].number
        decision = cleared_for(case, number, now)
        heat = heat_of_plan(case, plan.of_tooth(number), HeatWishes()).teeth[0]
        shown = as_card(shown, decision.model_dump(), heat.model_dump())
    head = PaperHead(
        plan_id=text("cli.report.not_stored"),
        made_at=utc_text(now),
        result_sha256=hashlib.sha256(result.encode()).hexdigest(),
    )
    return paper(kind, shown, tooth=tooth, head=head, case=to_document(case))


def loose_checklist(environment: Environment, case: Case) -> bytes:
    """Return the safety checklist (PDF) of a case as it stands in its file, at this moment."""
    now = environment.now()
    return checklist(case, assess(case, now), made_at=utc_text(now))


def loose_letter(environment: Environment, case: Case) -> bytes:
    """Return the question to the physician (PDF) of a case as it stands in its file. Raises PaperRefused."""
    now = environment.now()
    return physician_letter(case, assess(case, now), made_at=utc_text(now))

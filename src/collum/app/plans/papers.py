"""Use case: typeset a plan that is not kept in the record, as `collum report` does."""

import hashlib
import json

from collum.app.environment import Environment, utc_text
from collum.app.plans.answers import answer_on
from collum.app.plans.heat import heat_of_plan
from collum.app.plans.planning import PlannedCase
from collum.app.safety.gate import assess, opening_for
from collum.case import Case, to_document
from collum.core.heat.pacing_task import HandTimes
from collum.papers import OPERATING, PaperHead, PaperKind, PaperRefused, operating_paper, paper
from collum.papers.checklist import checklist
from collum.papers.letter import physician_letter
from collum.plan.heat import HeatWishes
from collum.wording import text

__all__ = ["PaperRefused", "loose_checklist", "loose_letter", "loose_paper"]


def loose_paper(
    environment: Environment, case: Case, made: PlannedCase, kind: PaperKind, *, tooth: int, hands: HandTimes | None = None
) -> bytes:
    """Return a paper (PDF) of the plan of `case` for its tooth at position `tooth`; its head says that it is not stored.

    Raises PaperRefused where the plan gives no ground for the paper, NotCleared for a paper of an operation that the answers
    in the case and the plan do not open now.
    """
    result, number = made.document.model_dump_json(), made.document.teeth[tooth].number
    now = environment.now()
    head = PaperHead(
        plan_id=text("cli.report.not_stored"),
        made_at=utc_text(now),
        result_sha256=hashlib.sha256(result.encode()).hexdigest(),
    )
    if kind not in OPERATING:
        answer = answer_on(kind, case, number, lambda only: made if only is None else made.of_tooth(only))
        return paper(kind, json.loads(result), tooth=tooth, head=head, case=to_document(case), answer=answer)
    opening = opening_for(case, OPERATING[kind], result, tooth, now)
    heat = None
    if opening.procedure == "current":
        heat = heat_of_plan(made.of_tooth(number), HeatWishes(hands=hands)).teeth[0].model_dump()
    return operating_paper(opening, head=head, case=to_document(case), heat=heat)


def loose_checklist(environment: Environment, case: Case) -> bytes:
    """Return the safety checklist (PDF) of a case as it stands in its file, at this moment."""
    now = environment.now()
    return checklist(case, assess(case, "current", now), made_at=utc_text(now))


def loose_letter(environment: Environment, case: Case) -> bytes:
    """Return the question to the physician (PDF) of a case as it stands in its file. Raises PaperRefused."""
    now = environment.now()
    return physician_letter(case, made_at=utc_text(now))

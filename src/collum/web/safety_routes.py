"""The routes of safety: the questions, the screening, visits, overrides, cards, the checklist, doses.

None of them takes a word for "cleared": each asks the gate, which decides from the stored answers.
"""

from typing import Any

from fastapi import APIRouter, Response

from collum.evidence.safety_rules import Procedure
from collum.web import safety_schemas, schemas
from collum.web.execution import Executor
from collum.web.routes import Id, Session
from collum.web.services import Services
from collum.wire.safety.document import RulesDocument, SafetyDocument

_PDF: dict[int | str, dict[str, Any]] = {
    200: {"content": {"application/pdf": {"schema": {"type": "string", "format": "binary"}}}}
}
_STALE: dict[int | str, dict[str, Any]] = {409: {"model": schemas.StaleAnswer}}
_CLOSED: dict[int | str, dict[str, Any]] = {403: {"model": schemas.ProblemAnswer}}


class _Pdf(Response):
    media_type = "application/pdf"


def add_safety(router: APIRouter, services: Services, executor: Executor) -> None:
    """Add the screening and the card."""
    _add_screening(router, services, executor)
    _add_entries(router, services, executor)

    @router.post("/plans/{plan_id}/cards", operation_id="issueCard", status_code=201, responses={**_STALE, **_CLOSED})
    async def issue_card(plan_id: Id, body: safety_schemas.CardRequest, session: Session) -> safety_schemas.CardAnswer:
        return await executor.run(lambda: services.safety.issue_card(plan_id, body), "heat")


def _add_screening(router: APIRouter, services: Services, executor: Executor) -> None:
    """Add the questions, what the answers bring for a procedure, and the papers that ask."""

    @router.get("/safety/rules", operation_id="safetyRules")
    async def safety_rules(session: Session) -> RulesDocument:
        return await executor.run(services.safety.rules)

    @router.post("/safety", operation_id="assessSafety")
    async def assess_safety(body: safety_schemas.AssessRequest, session: Session) -> SafetyDocument:
        return await executor.run(lambda: services.safety.assess(body.document, body.procedure))

    @router.get("/cases/{case_id}/safety", operation_id="caseSafety")
    async def case_safety(case_id: Id, session: Session, procedure: Procedure = "current") -> SafetyDocument:
        return await executor.run(lambda: services.safety.of_case(case_id, procedure))

    @router.get("/cases/{case_id}/safety/checklist", operation_id="printChecklist", response_class=_Pdf, responses=_PDF)
    async def print_checklist(case_id: Id, session: Session) -> Response:
        return _Pdf(await executor.run(lambda: services.safety.checklist(case_id)))

    @router.get("/cases/{case_id}/safety/letter", operation_id="printLetter", response_class=_Pdf, responses=_PDF)
    async def print_letter(case_id: Id, session: Session) -> Response:
        return _Pdf(await executor.run(lambda: services.safety.letter(case_id)))


def _add_entries(router: APIRouter, services: Services, executor: Executor) -> None:
    """Add what the program alone writes into a visit."""

    @router.post("/cases/{case_id}/visits", operation_id="openVisit", status_code=201, responses=_STALE)
    async def open_visit(case_id: Id, body: safety_schemas.VisitRequest, session: Session) -> schemas.CaseAnswer:
        return await executor.run(lambda: services.safety.open_visit(case_id, body))

    @router.post("/cases/{case_id}/read-outs", operation_id="readOut", status_code=201, responses={**_STALE, **_CLOSED})
    async def read_out(case_id: Id, body: safety_schemas.ReadOutRequest, session: Session) -> schemas.CaseAnswer:
        return await executor.run(lambda: services.safety.read_out(case_id, body))

    @router.post("/cases/{case_id}/time-outs", operation_id="addTimeOut", status_code=201, responses={**_STALE, **_CLOSED})
    async def add_time_out(case_id: Id, body: safety_schemas.TimeOutRequest, session: Session) -> schemas.CaseAnswer:
        return await executor.run(lambda: services.safety.time_out(case_id, body))

    @router.post("/cases/{case_id}/overrides", operation_id="addOverride", status_code=201, responses={**_STALE, **_CLOSED})
    async def add_override(case_id: Id, body: safety_schemas.OverrideRequest, session: Session) -> schemas.CaseAnswer:
        return await executor.run(lambda: services.safety.override(case_id, body))

    @router.post("/cases/{case_id}/corrections", operation_id="correctRecord", status_code=201, responses=_STALE)
    async def correct_record(case_id: Id, body: safety_schemas.CorrectionRequest, session: Session) -> schemas.CaseAnswer:
        return await executor.run(lambda: services.safety.correct(case_id, body))


def add_doses(router: APIRouter, services: Services, executor: Executor) -> None:
    """Add the dose adder and its limits."""

    @router.get("/doses", operation_id="listDoses")
    async def list_doses(session: Session) -> safety_schemas.DosesAnswer:
        return await executor.run(services.safety.doses)

    @router.post("/doses/limits", operation_id="addDoseLimit", status_code=201)
    async def add_dose_limit(body: safety_schemas.DoseLimitRequest, session: Session) -> safety_schemas.DoseLimitAnswer:
        return await executor.run(lambda: services.safety.add_limit(body))

    @router.post("/doses/sum", operation_id="addUpDoses")
    async def add_up_doses(body: safety_schemas.DoseSumRequest, session: Session) -> safety_schemas.DoseSumAnswer:
        return await executor.run(lambda: services.safety.add_up(body))

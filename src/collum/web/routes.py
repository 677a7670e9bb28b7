"""The routes: each parses, calls one use case and turns the result into the wire form. No formula, no SQL."""

from asyncio import to_thread
from collections.abc import Callable
from typing import Annotated, Any

from fastapi import APIRouter, Header, Path, Query, Response
from pydantic import BaseModel

from collum.app.plans.planning import Hold
from collum.app.record.kept_browsers import KeptBrowser
from collum.case import Case, from_document, schema
from collum.papers import PaperKind
from collum.web import schemas
from collum.web.door import Door
from collum.web.evidence_answers import every_evidence, evidence_answer
from collum.web.execution import Executor
from collum.web.problems import problem
from collum.web.services import Services

Session = Annotated[str, Header(alias="Collum-Session", max_length=100)]
Id = Annotated[str, Path(max_length=100)]
_PDF: dict[int | str, dict[str, Any]] = {
    200: {"content": {"application/pdf": {"schema": {"type": "string", "format": "binary"}}}}
}
_STALE: dict[int | str, dict[str, Any]] = {409: {"model": schemas.StaleAnswer}}


class _Pdf(Response):
    media_type = "application/pdf"


def add_about(router: APIRouter, door: Door, services: Services) -> None:
    """Add what the server is, and the shape of a case."""

    @router.get("/about", operation_id="about")
    async def about(session: Session) -> schemas.AboutAnswer:
        kept = await to_thread(door.kept_of, session)
        return services.about(None if kept is None else kept_answer(kept))

    @router.get("/schema/case", operation_id="caseSchema")
    async def case_schema(session: Session) -> dict[str, Any]:
        return schema()


def add_cases(router: APIRouter, services: Services, executor: Executor) -> None:
    """Add the cases of the practice and the stored plans of each."""

    @router.get("/cases", operation_id="listCases")
    async def list_cases(session: Session) -> schemas.CasesAnswer:
        return await executor.run(services.cases)

    @router.post("/cases", operation_id="createCase", status_code=201)
    async def create_case(body: schemas.CreateRequest, session: Session) -> schemas.CaseAnswer:
        return await executor.run(lambda: services.create(body.document, body.key))

    @router.get("/cases/{case_id}", operation_id="openCase")
    async def open_case(case_id: Id, session: Session) -> schemas.CaseAnswer:
        return await executor.run(lambda: services.open(case_id))

    @router.get("/cases/{case_id}/revisions/{number}", operation_id="openRevision")
    async def open_revision(
        case_id: Id, number: Annotated[int, Path(ge=1, le=schemas.MOST_REVISION)], session: Session
    ) -> schemas.CaseAnswer:
        return await executor.run(lambda: services.open_earlier(case_id, number))

    @router.put("/cases/{case_id}", operation_id="saveCase", responses=_STALE)
    async def save_case(case_id: Id, body: schemas.SaveRequest, session: Session) -> schemas.CaseAnswer:
        return await executor.run(lambda: services.save(case_id, body.base_revision, body.document))

    @router.get("/cases/{case_id}/plans", operation_id="listPlans")
    async def list_plans(case_id: Id, session: Session) -> schemas.StoredPlansAnswer:
        return await executor.run(lambda: services.plans(case_id))

    @router.post("/cases/{case_id}/plans", operation_id="storePlan", status_code=201)
    async def store_plan(case_id: Id, body: schemas.StorePlanRequest, session: Session) -> schemas.StoredPlanAnswer:
        return await executor.run(lambda: services.store_plan(case_id, body.revision))


def add_plans(router: APIRouter, services: Services, executor: Executor) -> None:
    """Add planning, judging moved lines, and what was stored. Plans are written to JSON off the event loop, once."""

    @router.post("/plan", operation_id="makePlan", response_model=schemas.PlanAnswer)
    async def make_plan(body: schemas.PlanRequest, session: Session) -> Response:
        def work(overtaken: Callable[[], bool]) -> bytes:
            plan = services.planner.plan(from_document(body.document), seed=body.seed, cancelled=overtaken)
            return _json(schemas.PlanAnswer.model_construct(generation=body.generation, plan=plan))

        return _ready(await executor.run_newest("plan", session, body.generation, work))

    @router.post("/plan/verdict", operation_id="judgeLines", response_model=schemas.VerdictAnswer)
    async def judge_lines(body: schemas.VerdictRequest, session: Session) -> Response:
        def work(_overtaken: Callable[[], bool]) -> bytes:
            case = from_document(body.document)
            _check_planned(case, body)
            hold = body.hold
            route = services.planner.judge(
                case,
                tooth=body.tooth,
                route=body.route,
                cut_line_mm=body.cut_line_height_mm,
                finish_line_mm=body.finish_line_height_mm,
                bone_reduction_mm=body.bone_reduction_mm,
                extrusion_mm=body.extrusion_mm,
                hold=None if hold is None else Hold(line=hold.line, station_deg=hold.station_deg, height_mm=hold.height_mm),
                seed=body.seed,
            )
            return _json(schemas.VerdictAnswer.model_construct(generation=body.generation, route=route))

        return _ready(await executor.run_newest("verdict", session, body.generation, work))

    @router.get("/plans/{plan_id}", operation_id="openPlan", response_model=schemas.PlanAnswer)
    async def open_plan(plan_id: Id, session: Session) -> Response:
        stored = await executor.run(lambda: services.stored_plan(plan_id))
        return _ready(b'{"generation":0,"plan":' + stored + b"}")

    @router.get("/plans/{plan_id}/papers/{kind}", operation_id="printPaper", response_class=_Pdf, responses=_PDF)
    async def print_paper(
        plan_id: Id, kind: PaperKind, session: Session, tooth: Annotated[int, Query(ge=0, le=31)] = 0
    ) -> Response:
        return _Pdf(await executor.run(lambda: services.paper(plan_id, kind, tooth)))

    @router.get("/plans/{plan_id}/compare/{other_id}", operation_id="comparePlans")
    async def compare_plans(
        plan_id: Id, other_id: Id, session: Session, tooth: Annotated[int | None, Query(ge=11, le=48)] = None
    ) -> schemas.ComparisonAnswer:
        return await executor.run(lambda: services.compare(plan_id, other_id, tooth))


def add_evidence(router: APIRouter) -> None:
    """Add the constants and where they come from."""

    @router.get("/evidence", operation_id="listEvidence")
    async def list_evidence(session: Session) -> schemas.EvidenceListAnswer:
        return schemas.EvidenceListAnswer(evidence=every_evidence())

    @router.get("/evidence/{key}", operation_id="oneEvidence")
    async def one_evidence(key: Id, session: Session) -> schemas.EvidenceAnswer:
        found = evidence_answer(key)
        if found is None:
            raise problem("not_found", "unknown", "shape", where="key")
        return found


def kept_answer(kept: KeptBrowser) -> schemas.KeptAnswer:
    """Return a kept browser in wire form."""
    return schemas.KeptAnswer(browser=kept.browser_id, name=kept.name)


def _check_planned(case: Case, body: schemas.VerdictRequest) -> None:
    """Refuse lines of a tooth that is not planned."""
    if body.tooth >= len(case.teeth) or case.teeth[body.tooth].role == "neighbour":
        raise problem("faulty_input", "not_planned", "planned_tooth", where="tooth", value=str(body.tooth))


def _json(model: BaseModel) -> bytes:
    return model.model_dump_json().encode()


def _ready(body: bytes) -> Response:
    return Response(body, media_type="application/json")

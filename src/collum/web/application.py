"""The HTTP door: each route parses, calls one use case and turns the result into the wire form."""

from collections.abc import Callable
from typing import Annotated, Any, cast

from fastapi import APIRouter, FastAPI, Header, Query, Request, Response
from fastapi.exceptions import RequestValidationError
from pydantic import BaseModel
from starlette.exceptions import HTTPException

from collum.app.planning import Cancelled, Hold
from collum.app.speaking import fault_document
from collum.case import CaseFaults, from_document, schema
from collum.documents import PaperKind
from collum.web import schemas
from collum.web.evidence_answers import every_evidence, evidence_answer
from collum.web.execution import Executor
from collum.web.problems import Problem, answer, item, problem
from collum.web.security import Gate, Sessions
from collum.web.services import NoStorage, NoSuchRecord, Outdated, Services
from collum.web.static_files import shell

API = "/api/v1"
_FAULTS: dict[int | str, dict[str, Any]] = {
    code: {"model": schemas.ProblemAnswer} for code in (401, 403, 404, 409, 413, 415, 422, 429, 500, 503)
}
Session = Annotated[str, Header(alias="Collum-Session", max_length=100)]


class _Pdf(Response):
    media_type = "application/pdf"


def create_app(services: Services, sessions: Sessions, *, allowed_hosts: frozenset[bytes]) -> FastAPI:
    """Return the application. It computes nothing on the event loop and shows no page of its framework."""
    app = FastAPI(title="Collum", version="1", openapi_url=None, docs_url=None, redoc_url=None, redirect_slashes=False)
    executor = Executor()
    router = APIRouter(prefix=API, responses=_FAULTS)
    _add_session(router, sessions, services)
    _add_cases(router, services, executor)
    _add_plans(router, services, executor)
    _add_evidence(router)
    app.include_router(router)
    app.include_router(shell())
    _add_handlers(app, services)
    app.state.executor = executor
    app.add_middleware(
        Gate,
        sessions=sessions,
        allowed_hosts=allowed_hosts,
        new_id=services.new_id,
    )
    return app


def describe() -> FastAPI:
    """Return the application without its use cases: enough to write its description."""
    return create_app(cast(Services, _Absent()), Sessions(), allowed_hosts=frozenset())


class _Absent:
    def new_id(self) -> str:
        return ""

    def __getattr__(self, name: str) -> Callable[..., None]:
        return lambda *_args, **_kwargs: None


def _add_session(router: APIRouter, sessions: Sessions, services: Services) -> None:
    @router.post("/session", operation_id="openSession")
    async def open_session(body: schemas.SessionRequest) -> schemas.SessionAnswer:
        token = sessions.swap(body.link)
        if token is None:
            raise problem("no_session", "link", "link", where="link")
        return schemas.SessionAnswer(token=token)

    @router.get("/about", operation_id="about")
    async def about(session: Session) -> schemas.AboutAnswer:
        return services.about()

    @router.get("/schema/case", operation_id="caseSchema")
    async def case_schema(session: Session) -> dict[str, Any]:
        return schema()


def _add_cases(router: APIRouter, services: Services, executor: Executor) -> None:
    @router.get("/cases", operation_id="listCases")
    async def list_cases(session: Session) -> schemas.CasesAnswer:
        return await executor.run(services.cases)

    @router.post("/cases", operation_id="createCase", status_code=201)
    async def create_case(body: schemas.CreateRequest, session: Session) -> schemas.CaseAnswer:
        return await executor.run(lambda: services.create(body.document))

    @router.get("/cases/{case_id}", operation_id="openCase")
    async def open_case(case_id: str, session: Session) -> schemas.CaseAnswer:
        return await executor.run(lambda: services.open(case_id))

    @router.put("/cases/{case_id}", operation_id="saveCase")
    async def save_case(case_id: str, body: schemas.SaveRequest, session: Session) -> schemas.CaseAnswer:
        return await executor.run(lambda: services.save(case_id, body.base_revision, body.document))

    @router.get("/cases/{case_id}/plans", operation_id="listPlans")
    async def list_plans(case_id: str, session: Session) -> schemas.StoredPlansAnswer:
        return await executor.run(lambda: services.plans(case_id))

    @router.post("/cases/{case_id}/plans", operation_id="storePlan", status_code=201)
    async def store_plan(case_id: str, body: schemas.StorePlanRequest, session: Session) -> schemas.StoredPlanAnswer:
        return await executor.run(lambda: services.store_plan(case_id, body.revision))


def _add_plans(router: APIRouter, services: Services, executor: Executor) -> None:
    @router.post("/plan", operation_id="makePlan", response_model=schemas.PlanAnswer)
    async def make_plan(body: schemas.PlanRequest, session: Session) -> Response:
        cancelled = executor.newer(session, body.generation)

        def work() -> bytes:
            plan = services.plan(from_document(body.document), cancelled)
            return _json(schemas.PlanAnswer.model_construct(generation=body.generation, plan=plan))

        return _ready(await executor.run(work))

    @router.post("/plan/verdict", operation_id="judgeLines", response_model=schemas.VerdictAnswer)
    async def judge_lines(body: schemas.VerdictRequest, session: Session) -> Response:
        hold = body.hold

        def work() -> bytes:
            case = from_document(body.document)
            if body.tooth >= len(case.teeth):
                raise problem("faulty_input", "unknown", "shape", where="tooth")
            route = services.judge(
                case,
                tooth=body.tooth,
                cut_line_mm=body.cut_line,
                finish_line_mm=body.finish_line,
                hold=None if hold is None else Hold(line=hold.line, station_deg=hold.station_deg, height_mm=hold.height_mm),
            )
            return _json(schemas.VerdictAnswer.model_construct(generation=body.generation, route=route))

        return _ready(await executor.run_verdict(work))

    @router.get("/plans/{plan_id}", operation_id="openPlan", response_model=schemas.PlanAnswer)
    async def open_plan(plan_id: str, session: Session) -> Response:
        stored = await executor.run(lambda: services.stored_plan(plan_id))
        return _ready(b'{"generation":0,"plan":' + stored + b"}")

    @router.get("/plans/{plan_id}/papers/{kind}", operation_id="printPaper", response_class=_Pdf)
    async def print_paper(
        plan_id: str, kind: PaperKind, session: Session, tooth: Annotated[int, Query(ge=0, le=31)] = 0
    ) -> Response:
        return _Pdf(await executor.run(lambda: services.paper(plan_id, kind, tooth)))


def _add_evidence(router: APIRouter) -> None:
    @router.get("/evidence", operation_id="listEvidence")
    async def list_evidence(session: Session) -> schemas.EvidenceListAnswer:
        return schemas.EvidenceListAnswer(evidence=every_evidence())

    @router.get("/evidence/{key}", operation_id="oneEvidence")
    async def one_evidence(key: str, session: Session) -> schemas.EvidenceAnswer:
        found = evidence_answer(key)
        if found is None:
            raise problem("not_found", "unknown", "shape", where="key")
        return found


def _json(model: BaseModel) -> bytes:
    return model.model_dump_json().encode()


def _ready(body: bytes) -> Response:
    return Response(body, media_type="application/json")


def _add_handlers(app: FastAPI, services: Services) -> None:
    def handle(kind: type[Exception], to_problem: Callable[[Exception], Problem]) -> None:
        async def handler(_request: Request, error: Exception) -> Response:
            return answer(to_problem(error), services.new_id())

        app.add_exception_handler(kind, handler)

    def same(error: Exception) -> Problem:
        assert isinstance(error, Problem)
        return error

    def faults(error: Exception) -> Problem:
        assert isinstance(error, CaseFaults)
        return Problem("faulty_input", [fault_document(f) for f in error.faults])

    def shapes(error: Exception) -> Problem:
        assert isinstance(error, RequestValidationError)
        return Problem("faulty_input", [_shape_fault(e) for e in error.errors()])

    def outdated(error: Exception) -> Problem:
        assert isinstance(error, Outdated)
        found = item("stale", "newest", where="base_revision", revision=error.newest.revision)
        return Problem("stale_revision", [found], {"newest": error.newest.model_dump()})

    def framework(error: Exception) -> Problem:
        assert isinstance(error, HTTPException)
        if isinstance(error.__cause__, Problem):  # refused while the body was read
            return error.__cause__
        if error.status_code == 405:
            return problem("method_not_allowed", "method", "shape")
        return problem("not_found", "unknown", "shape")

    handle(Problem, same)
    handle(CaseFaults, faults)
    handle(RequestValidationError, shapes)
    handle(Outdated, outdated)
    handle(HTTPException, framework)
    handle(NoSuchRecord, lambda _: problem("not_found", "unknown", "shape"))
    handle(Cancelled, lambda _: problem("superseded", "stale", "shape", where="generation"))
    handle(NoStorage, lambda error: problem("storage", "storage", "retry", trouble=str(error)))

    def crash(error: Exception) -> Problem:
        services.log_crash(error_id := services.new_id(), error)
        return Problem("internal", [item("internal", "report")], {"id": error_id})

    handle(Exception, crash)


def _shape_fault(error: Any) -> dict[str, str | None]:
    """Return a fault of a request body in our words; `detail` is the library's kind of fault, never its message."""
    where = ".".join(str(part) for part in error["loc"] if part != "body")[:120] or "request"
    kinds = {"missing": "missing", "extra_forbidden": "unknown_key", "json_invalid": "not_json"}
    what = kinds.get(error["type"], "wrong_shape")
    return dict(item(what, "shape", where=where, detail=str(error["type"]).replace("_", " ")))

"""The route of the restoration: a case document in, whether the restoration of one tooth will hold out."""

from typing import Any

from fastapi import APIRouter, Response
from pydantic import Field

from collum.app.plans.restoration import restorations_of_plan
from collum.case import Case, from_document
from collum.web.execution import Executor
from collum.web.problems import problem
from collum.web.routes import Session
from collum.web.schemas import Seed, Wire
from collum.web.services import Services
from collum.wire.restoration.document import RestorationsDocument


class RestorationRequest(Wire):
    """`tooth`: position in the document. `seed` of the draws: without it the one that belongs to the readings."""

    document: dict[str, Any]
    tooth: int = Field(ge=0, le=31)
    seed: Seed = None


def add_restoration(router: APIRouter, services: Services, executor: Executor) -> None:
    """Add the question whether the restoration of a tooth will hold."""

    @router.post("/restoration", operation_id="judgeRestoration", response_model=RestorationsDocument)
    async def judge_restoration(body: RestorationRequest, session: Session) -> Response:
        def work() -> bytes:
            case = from_document(body.document)
            _check_planned(case, body.tooth)
            made = services.planner.planned(case, only=case.teeth[body.tooth].number, seed=body.seed)
            return restorations_of_plan(case, made).model_dump_json().encode()

        return Response(await executor.run(work), media_type="application/json")


def _check_planned(case: Case, tooth: int) -> None:
    """Refuse a tooth that is not planned."""
    if tooth >= len(case.teeth) or case.teeth[tooth].role == "neighbour":
        raise problem("faulty_input", "not_planned", "planned_tooth", where="tooth", value=str(tooth))

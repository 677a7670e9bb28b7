"""The routes of heat and of the round at the chair. Heat is computed in a thread of its own: it takes seconds."""

from collections.abc import Callable
from typing import Any

from fastapi import APIRouter, Response

from collum.web import schemas, work_schemas
from collum.web.execution import Executor
from collum.web.routes import Id, Session
from collum.web.services import Services

_STALE: dict[int | str, dict[str, Any]] = {409: {"model": schemas.StaleAnswer}}
_OPEN: dict[int | str, dict[str, Any]] = {409: {"model": schemas.ProblemAnswer}}
_CLOSED: dict[int | str, dict[str, Any]] = {403: {"model": schemas.ProblemAnswer}}


def add_heat(router: APIRouter, services: Services, executor: Executor) -> None:
    """Add heat and pacing of a document, saved or not, and what the hands take."""

    @router.post("/heat", operation_id="paceTooth", response_model=work_schemas.HeatAnswer)
    async def pace_tooth(body: work_schemas.HeatRequest, session: Session) -> Response:
        def work(overtaken: Callable[[], bool]) -> bytes:
            found = services.work.heat(body, cancelled=overtaken)
            answer = work_schemas.HeatAnswer.model_construct(generation=body.generation, heat=found)
            return answer.model_dump_json().encode()

        return Response(await executor.run_newest("heat", session, body.generation, work), media_type="application/json")

    @router.post("/heat/section", operation_id="heatSection", response_model=work_schemas.HeatSectionAnswer)
    async def heat_section(body: work_schemas.HeatSectionRequest, session: Session) -> Response:
        def work(overtaken: Callable[[], bool]) -> bytes:
            found = services.work.heat_section(body, cancelled=overtaken)
            answer = work_schemas.HeatSectionAnswer.model_construct(generation=body.generation, section=found)
            return answer.model_dump_json().encode()

        return Response(await executor.run_newest("heat", session, body.generation, work), media_type="application/json")

    @router.get("/hands", operation_id="handTimes")
    async def hand_times(session: Session) -> work_schemas.HandsAnswer:
        return await executor.run(lambda: services.work.hands())

    @router.put("/hands", operation_id="keepHandTimes")
    async def keep_hand_times(body: work_schemas.HandsRequest, session: Session) -> work_schemas.HandsAnswer:
        return await executor.run(lambda: services.work.keep_hands(body))


def add_rounds(router: APIRouter, services: Services, executor: Executor) -> None:
    """Add the round at the chair: start, where it stands, what happens, what was done."""

    @router.get("/cases/{case_id}/round", operation_id="roundNow")
    async def round_now(case_id: Id, session: Session) -> work_schemas.RoundsAnswer:
        return await executor.run(lambda: services.work.round(case_id))

    @router.post("/cases/{case_id}/round", operation_id="startRound", status_code=201, responses={**_STALE, **_CLOSED})
    async def start_round(case_id: Id, body: work_schemas.RoundRequest, session: Session) -> work_schemas.RoundAnswer:
        return await executor.run(lambda: services.work.start(case_id, body), "heat")

    @router.post("/cases/{case_id}/round/marks", operation_id="markRound", status_code=201, responses=_OPEN)
    async def mark_round(case_id: Id, body: work_schemas.MarksRequest, session: Session) -> work_schemas.RecordedRoundAnswer:
        return await executor.run(lambda: services.work.mark(case_id, body))

    @router.post("/cases/{case_id}/round/log", operation_id="keepRound", status_code=201, responses=_OPEN)
    async def keep_round(case_id: Id, body: work_schemas.RoundLogRequest, session: Session) -> work_schemas.RoundLogAnswer:
        return await executor.run(lambda: services.work.keep(case_id, body))

    @router.get("/cases/{case_id}/rounds", operation_id="listRounds")
    async def list_rounds(case_id: Id, session: Session) -> work_schemas.RecordedRoundsAnswer:
        return await executor.run(lambda: services.work.rounds(case_id))

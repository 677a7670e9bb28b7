"""The route of scans: the bytes of a file in, what the preparation measures and whether it will hold out."""

from typing import Annotated, Any

from fastapi import APIRouter, Query, Request, Response

from collum.app.plans.preparation import direction, judge_file, permanent_tooth
from collum.plan.preparation import Unit, Wanted
from collum.web.bodies import FILE_TYPE, scan_of
from collum.web.execution import Executor
from collum.web.routes import Session
from collum.web.services import Services
from collum.wire.preparation.document import PreparationDocument

_BODY: dict[str, Any] = {
    "requestBody": {"required": True, "content": {FILE_TYPE: {"schema": {"type": "string", "format": "binary"}}}}
}
Direction = Annotated[str | None, Query(max_length=200)]


def add_scans(router: APIRouter, services: Services, executor: Executor) -> None:
    """Add the judging of a scanned preparation. Its body goes into a file and from there into a process with limits."""

    @router.post("/preparation", operation_id="judgePreparation", response_model=PreparationDocument, openapi_extra=_BODY)
    async def judge_preparation(
        request: Request,
        session: Session,
        unit: Unit = "mm",
        axis: Direction = None,
        facial: Direction = None,
        tooth: Annotated[int | None, Query(ge=11, le=48)] = None,
        case_id: Annotated[str | None, Query(max_length=100)] = None,
    ) -> Response:
        wanted = Wanted(
            unit=unit,
            path=None if axis is None else direction("query.axis", axis),
            facial=None if facial is None else direction("query.facial", facial),
            tooth=None if tooth is None else permanent_tooth("query.tooth", tooth),
        )
        if case_id is not None:
            await executor.run(lambda: services.open(case_id))  # before the file is read for nothing
        async with scan_of(request) as file:
            found = await executor.run(lambda: judge_file(file, wanted), "scan")
        if case_id is not None and wanted.tooth is not None:
            number = wanted.tooth
            found = await executor.run(lambda: services.preparation_beside_plan(found, case_id, number))
        return Response(found.model_dump_json(), media_type="application/json")

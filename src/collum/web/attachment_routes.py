"""The routes of the files of a case. What comes in is sealed as it comes; what goes out is saved, never shown by the server."""

from typing import Annotated, Any

from fastapi import APIRouter, Header, Query, Request, Response
from starlette.responses import StreamingResponse

from collum.app.cases.attachments import MOST_NAME, MOST_NOTE, MOST_THUMBNAIL, Kind, Told
from collum.web import attachment_schemas as wire
from collum.web.bodies import FILE_TYPE, pulled
from collum.web.execution import Executor
from collum.web.routes import Id, Session
from collum.web.services import Services

_FILE: dict[str, Any] = {"content": {FILE_TYPE: {"schema": {"type": "string", "format": "binary"}}}}
_BODY: dict[str, Any] = {"requestBody": {"required": True, **_FILE}}
Name = Annotated[str, Query(min_length=1, max_length=MOST_NAME)]
Day = Annotated[str | None, Query(pattern=r"^\d{4}-\d{2}-\d{2}$")]
Note = Annotated[str | None, Query(max_length=MOST_NOTE)]
Thumbnail = Annotated[str | None, Header(alias="Collum-Thumbnail", max_length=MOST_THUMBNAIL)]


class _File(Response):
    media_type = FILE_TYPE


def add_attachments(router: APIRouter, services: Services, executor: Executor) -> None:
    """Add what is asked and sent in JSON."""

    @router.get("/cases/{case_id}/attachments", operation_id="listAttachments")
    async def list_attachments(case_id: Id, session: Session) -> wire.AttachmentsAnswer:
        return await executor.run(lambda: services.attachments.of_case(case_id))

    @router.get(
        "/cases/{case_id}/attachments/{attachment_id}/content",
        operation_id="openAttachment",
        response_class=_File,
        responses={200: _FILE},
    )
    async def open_attachment(case_id: Id, attachment_id: Id, session: Session) -> Response:
        name, size, content = await executor.run(lambda: services.attachments.read(case_id, attachment_id), "file")
        headers = {"Content-Disposition": f'attachment; filename="{name}"', "Content-Length": str(size)}
        return StreamingResponse(content, media_type=FILE_TYPE, headers=headers)

    @router.post("/cases/{case_id}/attachments/{attachment_id}/remove", operation_id="removeAttachment")
    async def remove_attachment(
        case_id: Id, attachment_id: Id, body: wire.RemoveRequest, session: Session
    ) -> wire.AttachmentAnswer:
        return await executor.run(lambda: services.attachments.remove(case_id, attachment_id, body))


def add_attaching(router: APIRouter, services: Services, executor: Executor) -> None:
    """Add the route whose body is a file."""

    @router.post("/cases/{case_id}/attachments", operation_id="addAttachment", status_code=201, openapi_extra=_BODY)
    async def add_attachment(
        request: Request,
        case_id: Id,
        session: Session,
        name: Name,
        kind: Annotated[Kind, Query()],
        taken_on: Day = None,
        note: Note = None,
        thumbnail: Thumbnail = None,
    ) -> wire.AttachmentAnswer:
        told = Told(name=name, kind=kind, taken_on=taken_on, note=note, thumbnail=thumbnail)
        async with pulled(request) as source:
            return await executor.run(lambda: services.attachments.add(case_id, source, told), "file")

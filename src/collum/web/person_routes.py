"""The routes of archives of a person: given out as a file to be saved, taken in as it comes, sealed or clear."""

import base64
from typing import Annotated, Any

from fastapi import APIRouter, Header, Request, Response
from starlette.responses import StreamingResponse

from collum.records.bounded_zip import MOST_ARCHIVE_BYTES
from collum.web import schemas
from collum.web.bodies import ATTACHMENT_WITHIN_S, FILE_TYPE, stream_into
from collum.web.execution import Executor
from collum.web.lock_schemas import MOST_PASSPHRASE
from collum.web.person_schemas import CaseFileOutRequest, GiveOutRequest
from collum.web.problems import problem
from collum.web.routes import Id, Session
from collum.web.services import Services

_FILE: dict[str, Any] = {"content": {FILE_TYPE: {"schema": {"type": "string", "format": "binary"}}}}
_BODY: dict[str, Any] = {"requestBody": {"required": True, **_FILE}}
_HEADER = "Collum-Passphrase"
Passphrase = Annotated[
    str | None,
    Header(alias=_HEADER, max_length=6 * MOST_PASSPHRASE, description="UTF-8 in base 64; none for an archive in clear"),
]


class _File(Response):
    media_type = FILE_TYPE


def add_giving_out(router: APIRouter, services: Services, executor: Executor) -> None:
    """Add the routes that give a case file, and everything on one person, out."""

    @router.post("/cases/{case_id}/case-file", operation_id="giveCaseFile")
    async def give_case_file(case_id: Id, body: CaseFileOutRequest, session: Session) -> schemas.CaseAnswer:
        return await executor.run(lambda: services.case_file(case_id, body.revision))

    @router.post("/cases/{case_id}/export", operation_id="exportCase", response_class=_File, responses={200: _FILE})
    async def export_case(case_id: Id, body: GiveOutRequest, session: Session) -> Response:
        name, parts = await executor.run(lambda: services.person.give_out(case_id, body.passphrase), "file")
        return StreamingResponse(parts, media_type=FILE_TYPE, headers={"Content-Disposition": f'attachment; filename="{name}"'})


def add_taking_in(router: APIRouter, services: Services, executor: Executor) -> None:
    """Add the route whose body is an archive."""

    @router.post("/cases/import", operation_id="importCase", status_code=201, openapi_extra=_BODY)
    async def import_case(request: Request, session: Session, passphrase: Passphrase = None) -> schemas.CaseAnswer:
        given = None if passphrase is None else _plain(passphrase)
        with services.person.arriving() as file:
            await stream_into(file, request, most_bytes=MOST_ARCHIVE_BYTES, within_s=ATTACHMENT_WITHIN_S)
            return await executor.run(lambda: services.take_in(file, given), "file")


def _plain(passphrase: str) -> str:
    try:
        return base64.b64decode(passphrase, validate=True).decode()
    except ValueError:  # also what is no text
        raise problem("faulty_input", "wrong_shape", "base64", where=f"header.{_HEADER}") from None

"""The routes of a restore into a data directory without a record: send a backup, look at it, put it in place."""

from typing import Any

from fastapi import APIRouter, Request

from collum.web import restore_schemas as wire
from collum.web.bodies import BACKUP_WITHIN_S, FILE_TYPE, MOST_BACKUP_BYTES, stream_into
from collum.web.door import Door
from collum.web.execution import Executor
from collum.web.restore_services import RestoreServices
from collum.web.routes import Session

_BODY: dict[str, Any] = {
    "requestBody": {"required": True, "content": {FILE_TYPE: {"schema": {"type": "string", "format": "binary"}}}}
}


def add_restore_file(router: APIRouter, restore: RestoreServices, executor: Executor) -> None:
    """Add the sending of a backup; it goes unread into a file in the data directory."""

    @router.post("/restore/file", operation_id="sendBackup", openapi_extra=_BODY)
    async def send_backup(request: Request, session: Session) -> wire.SentBackupAnswer:
        try:
            with restore.upload() as file:
                await stream_into(file, request, most_bytes=MOST_BACKUP_BYTES, within_s=BACKUP_WITHIN_S)
        except Exception:
            restore.drop()
            raise
        return await executor.run(restore.sent)


def add_restore(router: APIRouter, restore: RestoreServices, executor: Executor, door: Door) -> None:
    """Add the look at what was sent, and the restore."""

    @router.post("/restore/look", operation_id="lookAtBackup")
    async def look_at_backup(body: wire.RestoreRequest, session: Session) -> wire.RestorableAnswer:
        return await executor.run(lambda: restore.look(body))

    @router.post("/restore", operation_id="restoreBackup", status_code=201)
    async def restore_backup(body: wire.RestoreRequest, session: Session) -> wire.RestorableAnswer:
        return await executor.run(lambda: door.going_on(session, lambda: restore.restore(body)))

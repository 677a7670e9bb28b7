"""The routes of a restore where no record opens: send a backup or choose one, look at it, put it in place."""

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
    """Add the backups that are known, the look at the one that was sent or chosen, and the restore."""

    @router.get("/restore/known", operation_id="knownBackups")
    async def known_backups(session: Session) -> wire.KnownBackupsAnswer:
        return await executor.run(restore.known)

    @router.post("/restore/choose", operation_id="chooseBackup")
    async def choose_backup(body: wire.ChooseRequest, session: Session) -> wire.SentBackupAnswer:
        return await executor.run(lambda: restore.choose(body))

    @router.post("/restore/look", operation_id="lookAtBackup")
    async def look_at_backup(body: wire.RestoreRequest, session: Session) -> wire.RestorableAnswer:
        return await executor.run(lambda: restore.look(body))

    @router.post("/restore", operation_id="restoreBackup", status_code=201)
    async def restore_backup(body: wire.RestoreRequest, session: Session) -> wire.RestorableAnswer:
        return await executor.run(lambda: door.going_on(session, lambda: restore.restore(body)))

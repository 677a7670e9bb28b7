"""The routes of backups: what there is, one more by hand, a look at one."""

from fastapi import APIRouter

from collum.web import backup_schemas as wire
from collum.web.backup_services import BackupServices
from collum.web.execution import Executor
from collum.web.routes import Id, Session


def add_backups(router: APIRouter, backups: BackupServices, executor: Executor) -> None:
    """Add backups. The work itself goes on in a thread of its own; what it came to is asked for again."""

    @router.get("/backups", operation_id="listBackups")
    async def list_backups(session: Session) -> wire.BackupsAnswer:
        return await executor.run(backups.now)

    @router.post("/backups", operation_id="makeBackup", status_code=202)
    async def make_backup(body: wire.MakeBackupRequest, session: Session) -> wire.BackupsAnswer:
        return await executor.run(backups.make)

    @router.post("/backups/plan", operation_id="planBackups", status_code=202)
    async def plan_backups(body: wire.PlanBackupsRequest, session: Session) -> wire.BackupsAnswer:
        return await executor.run(lambda: backups.plan(body))

    @router.post("/backups/check", operation_id="checkBackup", status_code=202)
    async def check_backup(body: wire.CheckBackupRequest, session: Session) -> wire.BackupsAnswer:
        return await executor.run(lambda: backups.check(body))


def add_deletion(router: APIRouter, backups: BackupServices, executor: Executor) -> None:
    """Add the deletion of a case, which says until when backups still hold it."""

    @router.post("/cases/{case_id}/delete", operation_id="deleteCase")
    async def delete_case(case_id: Id, body: wire.DeleteRequest, session: Session) -> wire.DeletedAnswer:
        return await executor.run(lambda: backups.delete(case_id, body))

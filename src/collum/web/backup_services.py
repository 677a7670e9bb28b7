"""The use cases of backups, in wire form."""

from pathlib import Path

from collum.app.record.backup_notes import BackupNotes
from collum.app.record.backups import Backups, BackupsNow
from collum.app.speaking import backup_words
from collum.records import UnknownRecord
from collum.web import backup_schemas as wire
from collum.web.practice_services import storage_troubles
from collum.web.services import NoSuchRecord


class BackupServices:
    """Answers the routes of backups; what takes long goes on in the thread of backups."""

    def __init__(self, backups: Backups) -> None:
        self._backups = backups

    def now(self) -> wire.BackupsAnswer:
        if self._backups.off:
            return wire.BackupsAnswer(
                state="off",
                running=False,
                place="",
                same_disk=False,
                kept=0,
                kept_days=0,
                fixed=[],
                good_at=None,
                fault=None,
                backups=[],
            )
        with storage_troubles():
            return _answer(self._backups.now())

    def make(self) -> wire.BackupsAnswer:
        self._backups.make()
        return self.now()

    def plan(self, body: wire.PlanBackupsRequest) -> wire.BackupsAnswer:
        with storage_troubles():
            self._backups.plan_anew(place=Path(body.place.strip()), kept=body.kept, kept_days=body.kept_days)
        return self.now()

    def check(self, body: wire.CheckBackupRequest) -> wire.BackupsAnswer:
        self._backups.check(body.name)
        return self.now()

    def delete(self, case_id: str, body: wire.DeleteRequest) -> wire.DeletedAnswer:
        with storage_troubles():
            try:
                done = self._backups.delete(case_id, reference=body.reference, reason=body.reason)
            except UnknownRecord:
                raise NoSuchRecord from None
        return wire.DeletedAnswer(
            case_id=case_id, deleted_at=done.deleted.deleted_at, held=done.held, held_until=done.held_until
        )


def _answer(now: BackupsNow) -> wire.BackupsAnswer:
    return wire.BackupsAnswer(
        state=_state(now.notes),
        running=now.running,
        place=str(now.plan.place),
        same_disk=now.same_disk,
        kept=now.plan.kept,
        kept_days=now.plan.kept_days,
        fixed=sorted(now.plan.fixed),
        good_at=now.notes.good_at,
        fault=_fault(now.notes),
        backups=[
            wire.BackupAnswer(
                name=file.name,
                made_at=file.manifest.made_at,
                size_bytes=file.size_bytes,
                program_version=file.manifest.program_version,
                ours=file.manifest.record == now.notes.record,
                head=file.manifest.head,
                found=file.found,
            )
            for file in now.files
        ],
    )


def _state(notes: BackupNotes) -> wire.BackupsState:
    if notes.failed is not None:
        return "failed"
    if notes.overdue:
        return "overdue"
    return "none" if notes.good_at is None else "good"


def _fault(notes: BackupNotes) -> wire.BackupFaultAnswer | None:
    if notes.failed is None or notes.failed_at is None:
        return None
    what, remedy = backup_words(notes.failed, page=True)
    return wire.BackupFaultAnswer(at=notes.failed_at, what=what, remedy=remedy)

"""The wire form of backups: what there is, whether it is good, and where it goes."""

from typing import Annotated, Literal

from pydantic import Field

from collum.app.record.backup_notes import Found
from collum.app.record.backup_plan import PlanPart
from collum.records.deletion import DeletionReason
from collum.web.schemas import Wire

BackupName = Annotated[str, Field(pattern=r"^[A-Za-z0-9][A-Za-z0-9._-]{0,199}\.collum-backup$")]
BackupsState = Literal["off", "none", "good", "overdue", "failed"]


class BackupAnswer(Wire):
    """A backup in its place. `ours`: of this record. `found`: what a look at all of it said, null before any.

    `head`: of the trail, null where it was made locked.
    """

    name: str
    made_at: str
    size_bytes: int
    program_version: str
    ours: bool
    head: str | None
    found: Found | None


class BackupFaultAnswer(Wire):
    """What went wrong with backups last, and what to do, in words."""

    at: str
    what: str
    remedy: str


class BackupsAnswer(Wire):
    """`state`: "off": a demo has none; "none": no good one yet; "overdue": two days of use without a good one; "failed".

    `running`: one is being made or looked at. `place`: their folder, `same_disk` as the record's. `kept`: how many stay, for
    `kept_days` at most (0: without an end). `good_at`: when the newest good one was made.
    `fixed`: what is set elsewhere on this computer and not on the page.
    """

    state: BackupsState
    running: bool
    place: str
    same_disk: bool
    kept: int
    kept_days: int
    fixed: list[PlanPart]
    good_at: str | None
    fault: BackupFaultAnswer | None
    backups: list[BackupAnswer]


class MakeBackupRequest(Wire):
    """Asks for a backup now. `why`: by hand; those of each day come by themselves."""

    why: Literal["hand"]


class PlanBackupsRequest(Wire):
    """Where backups go from now on and how long they stay; what is fixed elsewhere stays as it is."""

    place: Annotated[str, Field(min_length=1, max_length=1000)]
    kept: Annotated[int, Field(ge=2, le=400)]
    kept_days: Annotated[int, Field(ge=0, le=4000)]


class CheckBackupRequest(Wire):
    """Asks for a look at all of a backup."""

    name: BackupName


class DeleteRequest(Wire):
    """Deletes a case for good. `reference`: its code, typed to confirm it."""

    reference: Annotated[str, Field(min_length=1, max_length=24)]
    reason: DeletionReason


class DeletedAnswer(Wire):
    """A case that was deleted. `held`: how many backups still hold it, the last of them until `held_until` (null: no end is
    set, or none does).
    """

    case_id: str
    deleted_at: str
    held: int
    held_until: str | None

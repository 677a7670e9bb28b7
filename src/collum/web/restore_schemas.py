"""The wire form of a restore: the backup that was sent, who opens it, and what comes back."""

from pydantic import model_validator

from collum.web.backup_schemas import BackupName
from collum.web.lock_schemas import Passphrase, RecoveryCode, UserCode
from collum.web.schemas import Wire


class SentBackupAnswer(Wire):
    """What a backup says of itself before anybody has opened it. `users`: who may, each with a passphrase."""

    made_at: str
    program_version: str
    users: list[str]


class KnownBackup(Wire):
    """A backup in the folder of backups, as its head has it before anybody has opened it."""

    name: str
    made_at: str
    size_bytes: int


class KnownBackupsAnswer(Wire):
    """The backups that Collum knows of, newest first."""

    backups: list[KnownBackup]


class ChooseRequest(Wire):
    """A backup in the folder of backups, by its name."""

    name: BackupName


class RestoreRequest(Wire):
    """Opens the backup that was sent: by an owner and the passphrase, or by the recovery code alone."""

    code: UserCode | None = None
    passphrase: Passphrase | None = None
    recovery_code: RecoveryCode | None = None

    @model_validator(mode="after")
    def _one_way(self) -> "RestoreRequest":
        by_passphrase = self.code is not None and self.passphrase is not None
        if by_passphrase == (self.recovery_code is not None):
            raise ValueError("a user and the passphrase, or the recovery code")
        return self


class RestorableAnswer(Wire):
    """What a backup brings back, looked at whole. `head`: the last entry of its trail. `saves` and `plans`: with those of
    cases that were deleted. `deleted_again`: cases that were deleted since and go again; of deletions after
    `deletions_known_until` nothing is known here. `place`: the folder where newer backups and lists of
    deletions are looked for.
    """

    made_at: str
    program_version: str
    users: list[str]
    cases: int
    saves: int
    plans: int
    entries: int
    head: str
    deleted_again: int
    deletions_known_until: str
    place: str

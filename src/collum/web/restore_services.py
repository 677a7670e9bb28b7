"""The use cases of a restore where there is no record, or one that does not open, in wire form."""

from collections.abc import Iterator
from contextlib import contextmanager
from pathlib import Path
from typing import IO

from collum.app.cases.later_deletions import places_near
from collum.app.record.backups import Backups
from collum.app.record.restoring import Opener, Restorable, by_passphrase, by_recovery_code, upload_of
from collum.app.record.vault import Vault
from collum.records import storage_error
from collum.records.backup import BackupFault, OpenedBackup, open_backup
from collum.web import restore_schemas as wire
from collum.web.practice_services import storage_troubles


class RestoreServices:
    """Answers the routes of a restore from one vault, as long as it has no record that opens."""

    def __init__(self, vault: Vault, backups: Backups) -> None:
        self._vault = vault
        self._backups = backups
        self._chosen: Path | None = None  # in the folder of backups, where none was sent

    def known(self) -> wire.KnownBackupsAnswer:
        """Return the backups in their folder. Raises RecordLocked."""
        with storage_troubles():
            self._vault.check_restorable()
            found = self._backups.known()
        told = [wire.KnownBackup(name=each.name, made_at=each.manifest.made_at, size_bytes=each.size_bytes) for each in found]
        return wire.KnownBackupsAnswer(backups=told)

    def choose(self, body: wire.ChooseRequest) -> wire.SentBackupAnswer:
        """Take a backup where it is. Raises RecordLocked, BackupFault."""
        with storage_troubles():
            self._vault.check_restorable()
            if all(each.name != body.name for each in self._backups.known()):
                raise BackupFault("not_a_backup")
        self.drop()
        self._chosen = self._backups.place / body.name
        return self.sent()

    @contextmanager
    def upload(self) -> Iterator[IO[bytes]]:
        """Give the file to write a backup into, in place of one that was sent before. Raises RecordLocked, NoStorage."""
        with storage_troubles():
            self._vault.check_restorable()
            try:
                self.drop()
                with self._file.open("xb") as file:
                    yield file
            except OSError as error:
                raise storage_error(error) from None

    def sent(self) -> wire.SentBackupAnswer:
        """Return what the backup that was sent says of itself; one that is none is removed. Raises BackupFault."""
        with storage_troubles():
            try:
                found: OpenedBackup = open_backup(self._file)
            except Exception:
                self.drop()
                raise
        told = found.manifest
        users = [user.code for user in found.key_file.users]
        return wire.SentBackupAnswer(made_at=told.made_at, program_version=told.program_version, users=users)

    def look(self, body: wire.RestoreRequest) -> wire.RestorableAnswer:
        """Return what would come back.

        Raises BackupFault, WrongPassphrase, RecoveryCodeFault, TooManyTries, NotAllowed, RecordLocked.
        """
        with storage_troubles():
            return self._answer(self._vault.look_through(self._file, _opener(body), self._places))

    def restore(self, body: wire.RestoreRequest) -> wire.RestorableAnswer:
        """Put the backup in place; the record is locked then. Raises as `look`."""
        with storage_troubles():
            found = self._vault.restore(self._file, _opener(body), self._places)
        self.drop()
        return self._answer(found)

    def drop(self) -> None:
        """Remove the backup that was sent; one that was chosen stays where it is."""
        self._chosen = None
        upload_of(self._vault.environment.data_directory).unlink(missing_ok=True)

    def _answer(self, found: Restorable) -> wire.RestorableAnswer:
        return wire.RestorableAnswer(
            made_at=found.manifest.made_at,
            program_version=found.manifest.program_version,
            users=list(found.users),
            cases=found.cases,
            saves=found.counts["case_revision"],
            plans=found.counts["plan"],
            entries=found.entries,
            head=found.head,
            deleted_again=found.deleted_again,
            deletions_known_until=found.deletions_known_until,
            place=str(self._backups.place),
        )

    @property
    def _places(self) -> tuple[Path, ...]:
        return places_near(self._vault.environment.data_directory, self._backups.place)

    @property
    def _file(self) -> Path:
        return self._chosen or upload_of(self._vault.environment.data_directory)


def _opener(body: wire.RestoreRequest) -> Opener:
    if body.recovery_code is not None:
        return by_recovery_code(body.recovery_code)
    assert body.code is not None and body.passphrase is not None  # the request was checked to have one of both ways
    return by_passphrase(body.code, body.passphrase)

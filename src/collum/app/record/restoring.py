"""A backup brought back: looked at whole, told before anything is written, then put in place at once or not at all.

What was answered and what ran before it is history: no card is cleared by an answer that was given before the restore, and a
round that was open has ended, for nobody can say what became of it meanwhile.
"""

import json
from collections.abc import Callable, Iterator, Mapping, Sequence
from contextlib import contextmanager, suppress
from dataclasses import dataclass
from functools import partial
from pathlib import Path
from shutil import rmtree
from tempfile import mkdtemp

from collum.app.cases.later_deletions import later_deletions
from collum.app.chair.round_log import WrongLog, ended_state, interrupted
from collum.app.chair.visits import without_marks
from collum.app.environment import Environment, utc_text
from collum.app.record.kept_browsers import KeptBrowsers
from collum.app.record.roles import check_allowed
from collum.app.record.stamp import stamp_of
from collum.case import canonical_json
from collum.records import CaseDamage, Store, WriterLock, set_aside, storage_error
from collum.records.backup import BackupFault, Manifest, OpenedBackup, open_backup
from collum.records.deletion import DeletedCase
from collum.records.placing import put_in_place
from collum.records.sealing import KeyFile, KeyFileTrouble, Keys, read_key_file, write_key_file
from collum.records.sealing.key_file import sync_folder
from collum.records.unpacking import living_in, unpacked

BY_RECOVERY_CODE = "recovery"  # the author of a restore by the recovery code, which belongs to no user
_SCRATCH = "restoring-"
_UPLOAD = ".restored-from"
Opener = Callable[[KeyFile], tuple[Keys, str]]


@dataclass(frozen=True, slots=True, kw_only=True)
class Restorable:
    """What a backup would bring back. `counts`: rows by table; `head`: of its trail, as it was looked at.

    `cases`: those that are there afterwards, `deleted_again`: those that go, for they were deleted since. Of deletions after
    `deletions_known_until` nothing is known here.
    """

    manifest: Manifest
    users: tuple[str, ...]
    counts: Mapping[str, int]
    entries: int
    head: str
    cases: int
    deleted_again: int
    deletions_known_until: str


class TakenFolder(Exception):
    """The folder to restore into is not empty: a backup is never put over anything."""


def by_passphrase(code: str, passphrase: str) -> Opener:
    """Return what opens a backup for a user. It raises WrongPassphrase, NotAllowed, KeyFileTrouble."""

    def opened(file: KeyFile) -> tuple[Keys, str]:
        keys, user = file.unlock(code, passphrase)
        check_allowed(user, "restore")
        return keys, user.code

    return opened


def by_recovery_code(code: str) -> Opener:
    """Return what opens a backup by the recovery code. It raises RecoveryCodeFault, WrongPassphrase, KeyFileTrouble."""
    return lambda file: (file.recover(code), BY_RECOVERY_CODE)


def looked_through(file: Path, opener: Opener, near: Path, places: Sequence[Path] = ()) -> Restorable:
    """Return what a backup would bring back; nothing stays written. `near`: where the folder to unpack into is made.

    `places`: folders, beside that of the backup, that may know of deletions since.

    Raises BackupFault, StorageError and what `opener` raises.
    """
    backup = open_backup(file)
    with _scratch(near, _SCRATCH) as scratch:
        return _unpacked(backup, opener(backup.key_file)[0], scratch, places)[0]


def check_free(target: Path) -> None:
    """Raise TakenFolder where a folder to restore into is there and not empty."""
    if target.exists() and (not target.is_dir() or any(target.iterdir())):
        raise TakenFolder


def restore_into(file: Path, opener: Opener, environment: Environment, target: Path, places: Sequence[Path] = ()) -> Restorable:
    """Restore a backup into a new or empty folder, which gets its name when all is whole in it.

    Raises TakenFolder, BackupFault, StorageError and what `opener` raises.
    """
    backup = open_backup(file)
    keys, author = opener(backup.key_file)
    check_free(target)
    prefix = f".{target.name}.{_SCRATCH}"
    _sweep(target.absolute().parent, prefix)
    with _scratch(target.absolute().parent, prefix) as scratch:
        found = _settled(backup, keys, environment.for_author(author), scratch, places)
        try:
            write_key_file(scratch, backup.key_file)
            with suppress(FileNotFoundError):
                target.rmdir()
            scratch.rename(target)
        except OSError as error:
            raise storage_error(error) from None
        sync_folder(target.absolute().parent)
    return found


def restore_here(
    file: Path, opener: Opener, environment: Environment, places: Sequence[Path] = (), *, in_place_of_one: bool = False
) -> Restorable:
    """Restore a backup into the data directory of the environment, whose lock the caller holds.

    `in_place_of_one`: the record that is there does not open and is put aside; the backup has to be of the same practice where
    that can be told. Else there is none. Browsers that were kept there are kept no longer. Raises BackupFault, StorageError and
    what `opener` raises.
    """
    backup = open_backup(file)
    folder = environment.data_directory
    if in_place_of_one:
        _check_same(backup, folder)
    keys, author = opener(backup.key_file)
    with _scratch(folder, f".{_SCRATCH}") as scratch:
        found = _settled(backup, keys, environment.for_author(author), scratch, places)
        KeptBrowsers.of(environment).revoke_all()
        if in_place_of_one:
            set_aside(folder, utc_text(environment.now()), backups=False)
        put_in_place(scratch, folder, backup.key_file)
    return found


def upload_of(folder: Path) -> Path:
    """Return where a backup that a page sends is kept, sealed as it is, until it is restored."""
    return folder / _UPLOAD


def sweep_restores(folder: Path) -> None:
    """Remove what a restore into this data directory that was killed or given up left behind."""
    upload_of(folder).unlink(missing_ok=True)
    _sweep(folder, f".{_SCRATCH}")


def _check_same(backup: OpenedBackup, folder: Path) -> None:
    """Raise BackupFault where the keys that are there say that the backup is of another practice."""
    with suppress(KeyFileTrouble):
        if read_key_file(folder).record != backup.manifest.record:
            raise BackupFault("other_record")


def _settled(backup: OpenedBackup, keys: Keys, environment: Environment, scratch: Path, places: Sequence[Path]) -> Restorable:
    """Unpack a backup and write into it that it was restored, and who was deleted since."""
    found, deleted = _unpacked(backup, keys, scratch, places)
    lock = WriterLock(scratch)
    try:
        store = Store.open(scratch, keys, lock=lock, at=utc_text(environment.now()))
        try:
            if store.trouble is not None:
                raise BackupFault("damaged")
            _begin_again(store, found.head, environment)
            for gone in deleted:
                store.delete_case(gone.case_id, gone.reason, stamp_of(environment))
        finally:
            store.close()
    finally:
        lock.release()
    return found


def _unpacked(
    backup: OpenedBackup, keys: Keys, scratch: Path, places: Sequence[Path]
) -> tuple[Restorable, tuple[DeletedCase, ...]]:
    """Unpack a backup; return what it holds, and which of its cases were deleted since."""
    check = unpacked(backup, keys, scratch)
    if check.head is None:
        raise BackupFault("damaged")
    living = living_in(scratch, keys)
    known = later_deletions(backup, keys, (backup.file.parent, *places), _scratch(scratch.parent, f"{scratch.name}-"))
    deleted = tuple(gone for gone in known.cases if gone.case_id in living)
    found = Restorable(
        manifest=backup.manifest,
        users=tuple(user.code for user in backup.key_file.users),
        counts=check.counts,
        entries=check.entries,
        head=check.head,
        cases=len(living) - len(deleted),
        deleted_again=len(deleted),
        deletions_known_until=known.known_until,
    )
    return found, deleted


def _begin_again(store: Store, head: str, environment: Environment) -> None:
    """Put the restore into the trail; make answers history, and end rounds that were open."""
    store.note("record restored", f"backup {head}", stamp_of(environment))
    for newest in store.newest_revisions():
        if isinstance(newest, CaseDamage):
            continue
        running = store.rounds.open_of(newest.case_id)
        if running is not None:
            events = interrupted(running.marks)
            log = json.dumps([event.model_dump(mode="json") for event in events])
            with suppress(WrongLog):  # a round that this program cannot read stays open, and is closed by hand
                store.rounds.close(newest.case_id, running.id, log, partial(ended_state, events=events), stamp_of(environment))
        document = json.loads(newest.document)
        history = without_marks(document)
        if history != document:
            store.make_history(newest.case_id, newest.number, canonical_json(history).decode(), stamp_of(environment))


@contextmanager
def _scratch(near: Path, prefix: str) -> Iterator[Path]:
    """Give an empty folder for its owner alone, removed at the end where it was not moved away. Raises StorageError."""
    try:
        near.mkdir(parents=True, exist_ok=True)
        scratch = Path(mkdtemp(prefix=prefix, dir=near))
    except OSError as error:
        raise storage_error(error) from None
    try:
        yield scratch
    finally:
        rmtree(scratch, ignore_errors=True)


def _sweep(near: Path, prefix: str) -> None:
    for left in near.glob(f"{prefix}*"):
        rmtree(left, ignore_errors=True)

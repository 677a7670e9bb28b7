"""Opening a record: looked at before anything is written, so that damage, loss and another's files are left as they are.

A record that is missing, empty or older than it was is a question to its owner, never a reason to begin a new one.
"""

from contextlib import suppress
from dataclasses import dataclass
from pathlib import Path

from sqlalchemy import Engine

from collum.records.attachment_folder import ATTACHMENTS
from collum.records.checking import behind, is_sound
from collum.records.copies import copies_in, copy_before
from collum.records.engine import (
    closed_to_writes,
    fold,
    guarded,
    make_database,
    open_engine,
    open_to_read,
    reading,
)
from collum.records.files import logged
from collum.records.guard import Keeper
from collum.records.lock import WriterLock
from collum.records.marker import MARKER, Head, Marker, head_of
from collum.records.migrate import HEAD, known_schema, migrate
from collum.records.sealing import KEY_FILES, Keys
from collum.records.seals import seal_by, with_seal
from collum.records.stored import StorageError, StorageTrouble

DATABASE = "practice.db"
BACKUPS = "backups"
KEPT_BESIDE = (ATTACHMENTS, BACKUPS, *KEY_FILES)
DAMAGED = "damaged"


@dataclass(frozen=True, slots=True, kw_only=True)
class Opened:
    """An open record. `trouble`: why it can only be read; then there is no keeper. `begun`: it was made just now."""

    engine: Engine
    keeper: Keeper | None
    trouble: StorageTrouble | None
    begun: bool = False

    def close(self) -> None:
        """Let go of the record, all of it in its file where it was written to. Raises StorageError."""
        if self.keeper is None:
            self.engine.dispose()
        else:
            self.keeper.close()


def open_record(folder: Path, keys: Keys | None, *, lock: WriterLock | None, at: str, lived: bool, new: bool) -> Opened:
    """Open the record of a data directory; see `Store.open`. Raises StorageError."""
    file = folder / DATABASE
    schema = looked_at(file, keys, lock) if file.exists() and file.stat().st_size > 0 else None
    if schema == DAMAGED:
        return to_read(file, keys, lock, "damaged")
    if schema is None and not new and (lived or has_lived(folder)):
        raise StorageError("missing")
    if not file.exists():
        make_database(file)
    left = logged(file)
    engine = open_engine(file, _database_key(keys))
    try:
        if left:
            _fold_what_is_left(engine)
        return _opened(engine, folder, keys, lock, schema, at)
    except BaseException:
        engine.dispose()
        raise


def _fold_what_is_left(engine: Engine) -> None:
    """Fold in the log of a process that was killed: the key of a case deleted by it is in the database until then."""
    with suppress(StorageError):  # a disk that is full: nothing is lost while the log is there, and closing tries again
        fold(engine, wholly=True)


def to_read(file: Path, keys: Keys | None, lock: WriterLock | None, trouble: StorageTrouble) -> Opened:
    """Open a record to read what of it can be read; nothing is written, not even when it is closed."""
    engine = read_engine(file, keys, unshared=lock is not None)
    return Opened(engine=closed_to_writes(engine, trouble), keeper=None, trouble=trouble)


def read_engine(file: Path, keys: Keys | None, *, unshared: bool) -> Engine:
    """Return an engine that only reads, whose payloads are opened by `keys`; see `engine.open_to_read`."""
    return with_seal(open_to_read(file, _database_key(keys), unshared=unshared), seal_by(keys))


def _database_key(keys: Keys | None) -> bytes | None:
    return None if keys is None else keys.database


def looked_at(file: Path, keys: Keys | None, lock: WriterLock | None) -> str | None:
    """Return the schema of a database that holds all that was confirmed; DAMAGED where it is not whole.

    Nothing is written. Raises StorageError where it holds less than was confirmed, or is not ours.
    """
    engine = read_engine(file, keys, unshared=lock is not None)
    try:
        with reading(engine) as connection:
            schema = known_schema(connection)
            if schema is None or not is_sound(connection):
                return schema and DAMAGED
            found = behind(head_of(connection), Marker(file.parent).read())
    except StorageError as error:
        if error.trouble == "damaged":
            return DAMAGED
        raise
    finally:
        engine.dispose()
    if found:
        raise StorageError("behind" if found[0].what == "behind" else "other_record")
    return schema


def _opened(unsealed: Engine, folder: Path, keys: Keys | None, lock: WriterLock | None, schema: str | None, at: str) -> Opened:
    engine = with_seal(unsealed, seal_by(keys))
    if schema is not None and schema < HEAD:
        copy_before(engine, folder, schema, at, _database_key(keys))
    migrate(engine)
    marker = Marker(folder)
    with reading(engine) as connection:
        head = head_of(connection)
    if marker.read() != head:
        with suppress(StorageError):
            marker.write(head, flush=True)
    keeper = Keeper(engine, lock, marker, head)
    return Opened(engine=guarded(engine, keeper), keeper=keeper, trouble=None, begun=schema is None)


def has_lived(folder: Path) -> bool:
    """Return whether something beside the database says that a record was kept here: it is missing then, not new."""
    marker = Marker(folder).read()
    known = (folder / MARKER).exists() and marker != Head(record=None, entries=0)
    log_alone = not (folder / DATABASE).exists() and logged(folder / DATABASE)
    beside = any((folder / name).is_file() or any((folder / name).glob("*")) for name in KEPT_BESIDE)
    return known or log_alone or beside or bool(copies_in(folder))

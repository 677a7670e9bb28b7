"""Opening a record: looked at before anything is written, so that damage, loss and another's files are left as they are.

A record that is missing, empty or older than it was is a question to its owner, never a reason to begin a new one.
"""

from contextlib import suppress
from dataclasses import dataclass
from pathlib import Path

from sqlalchemy import Engine

from collum.records.checking import behind, is_sound
from collum.records.copies import copies_in, copy_before
from collum.records.engine import (
    closed_to_writes,
    guarded,
    make_database,
    open_engine,
    open_to_read,
    reading,
)
from collum.records.files import log_of
from collum.records.guard import Keeper
from collum.records.lock import WriterLock
from collum.records.marker import MARKER, Head, Marker, head_of
from collum.records.migrate import HEAD, known_schema, migrate
from collum.records.stored import StorageError, StorageTrouble

DATABASE = "practice.db"
KEPT_BESIDE = ("attachments", "backups")
_DAMAGED = "damaged"


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


def open_record(folder: Path, *, lock: WriterLock | None, at: str, lived: bool, new: bool) -> Opened:
    """Open the record of a data directory; see `Store.open`. Raises StorageError."""
    file = folder / DATABASE
    schema = _schema_of(file, lock) if file.exists() and file.stat().st_size > 0 else None
    if schema == _DAMAGED:
        return to_read(file, lock, "damaged")
    if schema is None and not new and (lived or _has_lived(folder)):
        raise StorageError("missing")
    if not file.exists():
        make_database(file)
    engine = open_engine(file)
    try:
        return _opened(engine, folder, lock, schema, at)
    except BaseException:
        engine.dispose()
        raise


def to_read(file: Path, lock: WriterLock | None, trouble: StorageTrouble) -> Opened:
    """Open a record to read what of it can be read; nothing is written, not even when it is closed."""
    engine = open_to_read(file, unshared=lock is not None)
    return Opened(engine=closed_to_writes(engine, trouble), keeper=None, trouble=trouble)


def _schema_of(file: Path, lock: WriterLock | None) -> str | None:
    """Return the schema of a database that holds all that was confirmed; _DAMAGED where it is not whole."""
    engine = open_to_read(file, unshared=lock is not None)
    try:
        with reading(engine) as connection:
            schema = known_schema(connection)
            if schema is None or not is_sound(connection):
                return schema and _DAMAGED
            found = behind(head_of(connection), Marker(file.parent).read())
    except StorageError as error:
        if error.trouble == "damaged":
            return _DAMAGED
        raise
    finally:
        engine.dispose()
    if found:
        raise StorageError("behind" if found[0].what == "behind" else "other_record")
    return schema


def _opened(engine: Engine, folder: Path, lock: WriterLock | None, schema: str | None, at: str) -> Opened:
    if schema is not None and schema < HEAD:
        copy_before(engine, folder, schema, at)
    migrate(engine)
    marker = Marker(folder)
    with reading(engine) as connection:
        head = head_of(connection)
    if marker.read() != head:
        with suppress(StorageError):
            marker.write(head, flush=True)
    keeper = Keeper(engine, lock, marker, head)
    return Opened(engine=guarded(engine, keeper), keeper=keeper, trouble=None, begun=schema is None)


def _has_lived(folder: Path) -> bool:
    """Return whether something beside the database says that a record was kept here: it is missing then, not new."""
    marker = Marker(folder).read()
    known = (folder / MARKER).exists() and marker != Head(record=None, entries=0)
    log = log_of(folder / DATABASE)
    logged = not (folder / DATABASE).exists() and log.exists() and log.stat().st_size > 0
    beside = any(any((folder / name).glob("*")) for name in KEPT_BESIDE)
    return known or logged or beside or bool(copies_in(folder))

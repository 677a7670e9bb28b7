"""The one place that opens a database: its settings, its transactions, and its troubles in our words.

A file of the database is opened by SQLite alone: were this process to open and close it as well, the system would drop the
locks that SQLite holds on it.
"""

import os
import sqlite3
from collections.abc import Iterator
from contextlib import closing, contextmanager
from pathlib import Path
from typing import Any, Protocol
from urllib.parse import quote

from sqlalchemy import Connection, Engine, QueuePool, create_engine, event
from sqlalchemy.exc import DBAPIError
from sqlcipher3 import dbapi2 as sqlcipher

from collum.records.files import OpenFiles, logged
from collum.records.stored import StorageError, StorageTrouble, storage_error

_WAIT_S = 5
_PRAGMAS = (
    "foreign_keys = ON",
    "synchronous = FULL",
    "temp_store = MEMORY",
    "recursive_triggers = ON",
    "secure_delete = ON",
)
_WRITTEN = "journal_mode = WAL"
_BEGIN = "collum_begin"
_FILES = "collum_files"
_GUARD = "collum_guard"
_REFUSED = "collum_refused"
_TROUBLES: tuple[tuple[str, StorageTrouble], ...] = (
    ("SQLITE_BUSY", "busy"),
    ("SQLITE_LOCKED", "busy"),
    ("SQLITE_FULL", "full"),
    ("SQLITE_READONLY_DBMOVED", "moved"),
    ("SQLITE_READONLY", "read_only"),
    ("SQLITE_CANTOPEN", "cannot_open"),
    ("SQLITE_PERM", "cannot_open"),
    ("SQLITE_NOTADB", "not_a_database"),
    ("SQLITE_CORRUPT", "damaged"),
    ("SQLITE_IOERR", "write_failed"),
)
_OTHER_SCHEMA = ("no such ", " already exists")  # of a table or column: the schema is not the one its number says


class Guard(Protocol):
    """Stands beside every write of a record: decides whether it may be confirmed, and learns that it was."""

    def before_commit(self, connection: Connection) -> int:
        """Return the number of entries once this transaction is kept; raise StorageError where it may not be."""

    def after_commit(self, entries: int) -> None:
        """Take note that this many entries are on the disk; raise StorageError where that may not be confirmed."""

    def after_refusal(self) -> None:
        """Save what can be saved after a write was refused for trouble with the storage."""


def make_database(file: Path) -> None:
    """Make an empty database, for its owner alone. Raises StorageError."""
    try:
        os.close(os.open(file, os.O_RDWR | os.O_CREAT | os.O_EXCL, 0o600))
    except OSError as error:
        raise storage_error(error) from None


def open_engine(file: Path, key: bytes | None = None) -> Engine:
    """Return the engine of the database in `file`, which has to be there; encrypted where there is a `key`.

    Raises StorageError.
    Each of its connections opens the very same files: a connection that finds others in their place is refused.
    """
    try:
        files = OpenFiles(file)
    except OSError as error:
        raise storage_error(error) from None

    def connect() -> Any:
        if not files.in_place():
            raise StorageError("moved")
        connection = _connect(file, "mode=rw", key)
        if not files.in_place():
            connection.close()
            raise StorageError("moved")
        return connection

    return _engine(connect, (_WRITTEN, *_PRAGMAS), key).execution_options(**{_FILES: files})


def files_opened(engine: Engine) -> OpenFiles:
    """Return the files of an engine that is written to."""
    files: OpenFiles = engine.get_execution_options()[_FILES]
    return files


def open_to_read(file: Path, key: bytes | None = None, *, unshared: bool) -> Engine:
    """Return an engine that cannot change the database in any way, not even when it is closed.

    `unshared`: nobody else has the file open, so that without a log it can be read where nothing beside it may be written.
    """
    whole_in_file = unshared and not logged(file)
    mode = "mode=ro&immutable=1" if whole_in_file else "mode=ro"
    return _engine(lambda: _connect(file, mode, key), _PRAGMAS, key)


def copy_database(engine: Engine, target: Path, key: bytes | None = None) -> None:
    """Copy the whole record as it is now into a new file, on the disk when this returns. Raises StorageError.

    `key`: of the record, where it is encrypted; the copy is encrypted by the same.
    """
    make_database(target)
    with storage_troubles(), engine.connect() as source:
        copy = _connect(target, "mode=rw", key)
        try:
            held: Any = source.connection.driver_connection
            held.backup(copy)
            copy.execute("PRAGMA journal_mode = DELETE")  # one file, complete in itself
        finally:
            copy.close()


def leave_log_mode(file: Path) -> None:
    """Make a clear database that nobody has open one file, without a log beside it. Raises StorageError."""
    with storage_troubles(), closing(_connect(file, "mode=rw", None)) as connection:
        connection.execute("PRAGMA journal_mode = DELETE")


def guarded(engine: Engine, guard: Guard) -> Engine:
    """Return the same engine with a guard beside every write."""
    return engine.execution_options(**{_GUARD: guard})


def closed_to_writes(engine: Engine, trouble: StorageTrouble) -> Engine:
    """Return the same engine, which refuses every write for `trouble`."""
    return engine.execution_options(**{_REFUSED: trouble})


@contextmanager
def reading(engine: Engine) -> Iterator[Connection]:
    """Give a connection that sees one state of the record throughout. It ends as it began: a damaged record takes no commit."""
    with storage_troubles(), engine.connect() as connection:
        yield connection


@contextmanager
def writing(engine: Engine) -> Iterator[Connection]:
    """Give a connection inside one write transaction: all of it is kept when the block ends, nothing when it raises."""
    options = engine.get_execution_options()
    if _REFUSED in options:
        raise StorageError(options[_REFUSED])
    guard: Guard | None = options.get(_GUARD)
    writer = engine.execution_options(**{_BEGIN: "BEGIN IMMEDIATE"})
    if guard is None:
        with storage_troubles(), writer.begin() as connection:
            yield connection
        return
    try:
        with storage_troubles(), writer.begin() as connection:
            yield connection
            entries = guard.before_commit(connection)
        guard.after_commit(entries)
    except StorageError:
        guard.after_refusal()
        raise


def fold(engine: Engine, *, wholly: bool) -> bool:
    """Fold the write-ahead log into the database; return whether all of it is there. `wholly`: wait for readers, empty it."""
    mode = "TRUNCATE" if wholly else "PASSIVE"
    with storage_troubles(), engine.connect() as connection:
        busy, logged, folded = connection.connection.cursor().execute(f"PRAGMA wal_checkpoint({mode})").fetchone()
    return not busy and logged == folded


@contextmanager
def storage_troubles() -> Iterator[None]:
    """Turn what the database says of disk, lock or file into StorageError; a broken constraint stays our own fault."""
    try:
        yield
    except UnicodeDecodeError:  # what SQLite says of a damaged schema quotes it, and that is no text any more
        raise StorageError("damaged") from None
    except (DBAPIError, sqlite3.Error, sqlcipher.Error) as error:  # the second while a connection is set up
        trouble = _trouble_of(error.orig if isinstance(error, DBAPIError) else error)
        if trouble is None:
            raise
        raise StorageError(trouble) from None


def _trouble_of(error: BaseException | None) -> StorageTrouble | None:
    name = str(getattr(error, "sqlite_errorname", ""))
    if name == "SQLITE_ERROR" and any(said in str(error) for said in _OTHER_SCHEMA):
        return "damaged"
    return next((trouble for start, trouble in _TROUBLES if name.startswith(start)), None)


def _engine(connect: Any, pragmas: tuple[str, ...], key: bytes | None) -> Engine:
    module = sqlite3 if key is None else sqlcipher
    engine = create_engine("sqlite://", module=module, creator=connect, poolclass=QueuePool, hide_parameters=True)

    def set_up(connection: Any, _record: object) -> None:
        connection.isolation_level = None  # transactions are begun by us, see _begin
        connection.text_factory = _as_text
        cursor = connection.cursor()
        for pragma in pragmas:
            cursor.execute(f"PRAGMA {pragma}")
        cursor.close()

    event.listen(engine, "connect", set_up)
    event.listen(engine, "begin", _begin)
    return engine


def _connect(file: Path, mode: str, key: bytes | None) -> Any:
    """Return a connection. The key reaches the library alone: it is in no address, argument or log."""
    path = file.absolute().as_posix()
    address = f"file://{quote(path if path.startswith('/') else f'/{path}')}?{mode}"
    if key is None:
        return sqlite3.connect(address, uri=True, timeout=_WAIT_S, check_same_thread=False)
    connection = sqlcipher.connect(address, uri=True, timeout=_WAIT_S, check_same_thread=False)
    connection.execute("PRAGMA cipher_log = off")
    connection.execute(f"PRAGMA key = \"x'{key.hex()}'\"")
    return connection


def _as_text(found: bytes) -> str:
    """Return a text; what is no text any more is shown as such and no longer fits its hash."""
    return found.decode("utf-8", "replace")


def _begin(connection: Connection) -> None:
    connection.exec_driver_sql(connection.get_execution_options().get(_BEGIN, "BEGIN"))

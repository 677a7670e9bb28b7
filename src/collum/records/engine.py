"""The one place that opens the database: its settings, its transactions, and its troubles in our words."""

import os
import sqlite3
from collections.abc import Iterator
from contextlib import contextmanager
from pathlib import Path
from typing import Any

from sqlalchemy import URL, Connection, Engine, create_engine, event
from sqlalchemy.exc import DBAPIError
from sqlalchemy.pool import QueuePool
from sqlcipher3 import dbapi2 as sqlcipher

from collum.records.stored import StorageError, StorageTrouble

_WAIT_S = 5
_PRAGMAS = (
    "foreign_keys = ON",
    "journal_mode = WAL",
    "synchronous = FULL",
    "temp_store = MEMORY",
    "recursive_triggers = ON",
    "secure_delete = ON",
)
_BEGIN = "collum_begin"
_TROUBLES: tuple[tuple[str, StorageTrouble], ...] = (
    ("SQLITE_BUSY", "busy"),
    ("SQLITE_LOCKED", "busy"),
    ("SQLITE_FULL", "full"),
    ("SQLITE_READONLY", "read_only"),
    ("SQLITE_CANTOPEN", "cannot_open"),
    ("SQLITE_PERM", "cannot_open"),
    ("SQLITE_NOTADB", "not_a_database"),
    ("SQLITE_CORRUPT", "damaged"),
    ("SQLITE_IOERR", "write_failed"),
)


def open_engine(file: Path, key: bytes | None = None) -> Engine:
    """Return the engine of the database in `file`, made with 0600 where it does not exist; encrypted where there is a `key`.

    Raises StorageError.
    """
    try:
        os.close(os.open(file, os.O_RDWR | os.O_CREAT, 0o600))
    except OSError:
        raise StorageError("cannot_open") from None
    engine = _clear_engine(file) if key is None else _encrypted_engine(file, key)
    event.listen(engine, "connect", _set_up)
    event.listen(engine, "begin", _begin)
    return engine


def _clear_engine(file: Path) -> Engine:
    return create_engine(URL.create("sqlite", database=str(file)), connect_args={"timeout": _WAIT_S})


def _encrypted_engine(file: Path, key: bytes) -> Engine:
    return create_engine("sqlite://", module=sqlcipher, creator=lambda: encrypted_connection(file, key), poolclass=QueuePool)


def encrypted_connection(file: Path, key: bytes) -> Any:
    """Return a connection to an encrypted database. The key reaches the library alone: it is in no address, argument or log."""
    connection = sqlcipher.connect(str(file), timeout=_WAIT_S, check_same_thread=False)
    connection.execute("PRAGMA cipher_log = off")
    connection.execute(f"PRAGMA key = \"x'{key.hex()}'\"")
    return connection


@contextmanager
def reading(engine: Engine) -> Iterator[Connection]:
    """Give a connection that sees one state of the record throughout."""
    with storage_troubles(), engine.begin() as connection:
        yield connection


@contextmanager
def writing(engine: Engine) -> Iterator[Connection]:
    """Give a connection inside one write transaction: all of it is kept when the block ends, nothing when it raises."""
    with storage_troubles(), engine.execution_options(**{_BEGIN: "BEGIN IMMEDIATE"}).begin() as connection:
        yield connection


def close_engine(engine: Engine) -> None:
    """Fold the write-ahead log into the database and let go of it."""
    with storage_troubles(), engine.connect() as connection:
        connection.connection.cursor().execute("PRAGMA wal_checkpoint(TRUNCATE)")
    engine.dispose()


@contextmanager
def storage_troubles() -> Iterator[None]:
    """Turn what the database says of disk, lock or file into StorageError; a broken constraint stays our own fault."""
    try:
        yield
    except (DBAPIError, sqlite3.Error, sqlcipher.Error) as error:  # the second while a connection is set up
        trouble = _trouble_of(error.orig if isinstance(error, DBAPIError) else error)
        if trouble is None:
            raise
        raise StorageError(trouble) from None


def _trouble_of(error: BaseException | None) -> StorageTrouble | None:
    name = str(getattr(error, "sqlite_errorname", ""))
    return next((trouble for start, trouble in _TROUBLES if name.startswith(start)), None)


def _set_up(connection: Any, _record: object) -> None:
    connection.isolation_level = None  # transactions are begun by us, see _begin
    cursor = connection.cursor()
    for pragma in _PRAGMAS:
        cursor.execute(f"PRAGMA {pragma}")
    cursor.close()


def _begin(connection: Connection) -> None:
    connection.exec_driver_sql(connection.get_execution_options().get(_BEGIN, "BEGIN"))

"""The kinds of engine on which the tests of the record run, and what they share about the files of a record."""

import shutil
import sqlite3
from collections.abc import Callable, Mapping
from pathlib import Path
from typing import Any

from sqlalchemy import Engine
from sqlcipher3 import dbapi2 as sqlcipher

from collum.records import DATABASE, RecordCheck, Store, WriterLock, accept_older, inspect_record
from collum.records.conversion import is_clear
from collum.records.engine import open_engine
from collum.records.sealing import Keys

OpenStore = Callable[..., Store]
KEYS = Keys(bytes(range(32)))


def open_sealed(folder: Path, **options: Any) -> Store:
    """Open the record of a folder sealed by the keys of the tests."""
    return Store.open(folder, KEYS, **options)


KINDS: Mapping[str, OpenStore] = {"plain": Store.open, "sealed": open_sealed}
LOG = f"{DATABASE}-wal"
MARKER = "practice.head"


def keys_of(file: Path) -> Keys | None:
    """Return the keys that open a database of the tests, None where it is clear."""
    return None if is_clear(file) else KEYS


def raw(file: Path, **options: Any) -> Any:
    """Return a connection to a database of either kind, past everything the program guards it by."""
    keys = keys_of(file)
    if keys is None:
        return sqlite3.connect(file, **options)
    connection = sqlcipher.connect(str(file), **options)
    connection.execute(f"PRAGMA key = \"x'{keys.database.hex()}'\"")
    return connection


def raw_engine(file: Path) -> Engine:
    """Return the engine of a database of either kind."""
    keys = keys_of(file)
    return open_engine(file, None if keys is None else keys.database)


def inspected(folder: Path, lock: WriterLock | None = None) -> RecordCheck:
    """Look at a record of either kind."""
    return inspect_record(folder, lock, keys_of(folder / DATABASE))


def accepted(folder: Path, lock: WriterLock) -> int:
    """Go on with an older record of either kind."""
    return accept_older(folder, lock, keys_of(folder / DATABASE))


def copied(folder: Path, target: Path, *, without: tuple[str, ...] = ()) -> Path:
    """Return a copy of the files of a record as they are at this moment, as after a loss of power."""
    target.mkdir(parents=True)
    for name in (DATABASE, LOG, MARKER):
        if (folder / name).exists() and name not in without:
            shutil.copy(folder / name, target / name)
    return target


def documents(store: Store) -> dict[str, str]:
    """Return the newest document of each case by its id."""
    return {found.case_id: found.document for found in store.newest_revisions()}  # type: ignore[union-attr]  # all whole

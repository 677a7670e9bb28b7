"""A backup brought back into a folder of its own and looked at whole with its keys, before anybody relies on it."""

from collections.abc import Iterator
from contextlib import contextmanager
from pathlib import Path

from sqlalchemy import Connection

from collum.records.backup import BackupFault, OpenedBackup
from collum.records.checking import RecordCheck
from collum.records.deletion import DeletedCase, deleted_cases, living_cases
from collum.records.engine import reading
from collum.records.inspection import inspect_record
from collum.records.lock import WriterLock
from collum.records.opening import DATABASE, read_engine
from collum.records.sealing import Keys
from collum.records.stored import StorageError, head_of_text


def unpacked(backup: OpenedBackup, keys: Keys, folder: Path) -> RecordCheck:
    """Unpack a backup into an empty folder and return what a check of it says: no fault, and the trail as its manifest says.

    Raises BackupFault where the record in it is not whole, StorageError.
    """
    backup.unpack(folder)
    told = backup.manifest.head
    lock = WriterLock(folder)
    try:
        found = inspect_record(folder, lock, keys, None if told is None else head_of_text(told))
    except (StorageError, ValueError) as error:
        if isinstance(error, StorageError) and error.trouble in ("full", "write_failed", "cannot_open"):
            raise
        raise BackupFault("damaged") from None
    finally:
        lock.release()
    if found.faults or (told is not None and found.head != told):
        raise BackupFault("damaged")
    return found


def living_in(folder: Path, keys: Keys) -> frozenset[str]:
    """Return the cases of a record unpacked into a folder that were not deleted. Raises StorageError."""
    with _reading(folder, keys) as connection:
        return living_cases(connection)


def deleted_in(backup: OpenedBackup, keys: Keys, folder: Path) -> tuple[DeletedCase, ...]:
    """Return the tombstones in a backup, whose database is unpacked into an empty folder. Raises BackupFault, StorageError."""
    backup.unpack(folder, database_only=True)
    with _reading(folder, keys) as connection:
        return deleted_cases(connection)


@contextmanager
def _reading(folder: Path, keys: Keys) -> Iterator[Connection]:
    """Give a connection to a record unpacked into a folder. Raises StorageError."""
    engine = read_engine(folder / DATABASE, keys, unshared=True)
    try:
        with reading(engine) as connection:
            yield connection
    finally:
        engine.dispose()

"""What a practice may ask of its record while nobody serves it: is it whole, and is an older state of it to be gone on with."""

from pathlib import Path

from collum.records.checking import RecordCheck, check_record
from collum.records.engine import reading
from collum.records.lock import WriterLock
from collum.records.marker import Marker, head_of
from collum.records.opening import DATABASE, read_engine
from collum.records.sealing import Keys
from collum.records.stored import ChainHead, StorageError


def inspect_record(
    folder: Path, lock: WriterLock | None, keys: Keys | None = None, seen: ChainHead | None = None
) -> RecordCheck:
    """Look at all of a record without writing anything; `lock`: held where nobody else writes; `keys`: of a sealed record.

    `seen`: a head of its trail known from elsewhere.

    Raises StorageError.
    """
    file = folder / DATABASE
    if not file.exists():
        raise StorageError("missing")
    engine = read_engine(file, keys, unshared=lock is not None)
    try:
        with reading(engine) as connection:
            return check_record(connection, Marker(folder).read(), seen)
    finally:
        engine.dispose()


def accept_older(folder: Path, lock: WriterLock, keys: Keys | None = None) -> int:
    """Go on with the record as it is, though more was confirmed once; return how many entries it has. Raises StorageError."""
    if not (folder / DATABASE).exists():
        raise StorageError("missing")
    engine = read_engine(folder / DATABASE, keys, unshared=lock.in_place())
    try:
        with reading(engine) as connection:
            head = head_of(connection)
    finally:
        engine.dispose()
    Marker(folder).write(head, flush=True)
    return head.entries

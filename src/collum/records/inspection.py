"""What a practice may ask of its record while nobody serves it: is it whole, and is an older state of it to be gone on with."""

from contextlib import suppress
from dataclasses import replace
from pathlib import Path

from collum.records.attachment_folder import put_aside
from collum.records.attachments import damaged_files, named_files
from collum.records.checking import RecordCheck, RecordFault, check_record
from collum.records.engine import reading
from collum.records.lock import WriterLock
from collum.records.marker import Marker, head_of
from collum.records.opening import DATABASE, read_engine
from collum.records.rows import UNREADABLE
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
            found = check_record(connection, Marker(folder).read(), seen)
            with suppress(*UNREADABLE):  # where their rows cannot be read, that is told already
                damaged = damaged_files(connection, folder)
                files = [RecordFault(what="content", table="attachment_file", id=each) for each in damaged]
                found = replace(found, faults=(*found.faults, *files))
            return found
    finally:
        engine.dispose()


def accept_older(folder: Path, lock: WriterLock, keys: Keys | None = None) -> int:
    """Go on with the record as it is, though more was confirmed once; return how many entries it has. Raises StorageError.

    Files of cases that it does not know are put aside: were the newer record found again, they would be wanted.
    """
    if not (folder / DATABASE).exists():
        raise StorageError("missing")
    engine = read_engine(folder / DATABASE, keys, unshared=lock.in_place())
    try:
        with reading(engine) as connection:
            head, named = head_of(connection), named_files(connection)
    finally:
        engine.dispose()
    put_aside(folder, named)
    Marker(folder).write(head, flush=True)
    return head.entries

"""Files of cases: added, listed, read and taken out of the list. Rows are only ever added; the bytes are beside the database.

A file is written and put on the disk before its row, so that no row is ever without its file; a file without a row is what an
addition that was cut short left behind, and is removed when the record is opened next.
"""

import hashlib
import json
from collections.abc import Callable, Iterator, Sequence
from contextlib import contextmanager, suppress
from dataclasses import asdict
from functools import partial
from pathlib import Path
from threading import RLock
from typing import Any, BinaryIO, cast

from sqlalchemy import Connection, Engine, inspect, select

from collum.records import attachment_folder
from collum.records.attached import (
    ArrivingFile,
    Attachment,
    AttachmentLabel,
    AttachmentRemoved,
    DamagedAttachment,
    RecordClosed,
)
from collum.records.chain import add_closed, row_is_sealed
from collum.records.engine import reading, writing
from collum.records.file_seals import FileSeal
from collum.records.payloads import Row, opened_row
from collum.records.revisions import newest_of
from collum.records.rows import fitting
from collum.records.seals import seal_of
from collum.records.stored import (
    CaseDeleted,
    Stamp,
    StorageError,
    UnknownRecord,
)
from collum.records.tables import ATTACHMENT, ATTACHMENT_REMOVED, DELETED_CASE


class Attachments:
    """The files of the cases of one record. For several threads, each with a file of its own."""

    def __init__(self, engine: Engine, data_directory: Path, *, sweep: bool) -> None:
        """`sweep`: remove what additions that were cut short left behind; for whoever alone writes here."""
        self._engine = engine
        self._folder = data_directory
        self._guard = RLock()
        self._closed = False
        self._turn = 0  # grows whenever what is on its way has to end
        if sweep:
            with suppress(StorageError), reading(engine) as connection:  # what is left over harms nothing
                attachment_folder.sweep(data_directory, named_files(connection))

    def interrupt(self) -> None:
        """Let no file go on that is on its way: keys are about to be dropped."""
        with self._guard:
            self._turn += 1

    def close(self) -> None:
        """Let no file go on, and none begin; the record is about to be closed."""
        with self._guard:
            self._closed = True

    def add(self, case_id: str, source: BinaryIO, label: Callable[[], AttachmentLabel], stamp: Stamp) -> Attachment:
        """Store what `source` gives as a file of a case. `label` is called once all of it was read.

        Whatever either raises, nothing is kept. Raises UnknownRecord, CaseDeleted, RecordClosed, StorageError.
        """
        check = self._on_its_way()
        with reading(self._engine) as connection:
            newest_of(connection, case_id)
            seal = seal_of(connection).files(connection, case_id)
        with self._guard, writing(self._engine):
            check()  # a record that takes no write is told of before the file is read
        measured = _Measured(source, check)
        name = seal.name(stamp.id)
        attachment_folder.write_file(self._folder, name, lambda out: seal.store(stamp.id, cast(BinaryIO, measured), out))
        try:
            row = _row_of(case_id, name, label(), measured, stamp)
            with self._guard:
                check()
                with writing(self._engine) as connection:
                    stored = add_closed(connection, ATTACHMENT, case_id, row, "attachment added", stamp.columns())
                    return _attachment(connection, stored)
        except BaseException:
            self._discard(name)
            raise

    @contextmanager
    def arriving(self, case_id: str, files: Sequence[ArrivingFile]) -> Iterator[Callable[[Connection], None]]:
        """Store the files of a case that is not made yet; give what adds their rows in the transaction that makes it.

        Whatever is raised meanwhile, nothing is kept. Raises RecordClosed, StorageError and what reading a file raises.
        """
        check = self._on_its_way()
        with self._guard, writing(self._engine) as connection:
            check()
            seal_by = seal_of(connection)
        seal, rows = seal_by.coming_case(case_id), list[tuple[ArrivingFile, dict[str, Any]]]()
        try:
            for file in files:
                with file.source() as source:
                    looked = file.looked(source)
                    measured = _Measured(cast(BinaryIO, looked), check)
                    name = seal.name(file.stamp.id)
                    store = partial(seal.store, file.stamp.id, cast(BinaryIO, measured))
                    attachment_folder.write_file(self._folder, name, store)
                    rows.append((file, _row_of(case_id, name, looked.label(), measured, file.stamp)))
            with self._guard:
                check()
                yield lambda connection: _add_rows(connection, case_id, rows)
        except BaseException:
            seal_by.no_case(case_id)
            for file in files:
                self._discard(seal.name(file.stamp.id))
            raise

    def of_case(self, case_id: str) -> tuple[Attachment, ...]:
        """Return the files of a case in the order they were added, with those taken out. Raises UnknownRecord, StorageError."""
        query = select(ATTACHMENT).where(ATTACHMENT.c.case_id == case_id).order_by(ATTACHMENT.c.added_at, ATTACHMENT.c.id)
        with reading(self._engine) as connection:
            newest_of(connection, case_id)
            return tuple(_attachment(connection, row) for row in connection.execute(query).mappings().all())

    def read(self, case_id: str, attachment_id: str) -> tuple[Attachment, Iterator[bytes]]:
        """Return a file and what it holds, byte for byte, which was read to its end and found whole before.

        Raises UnknownRecord, DamagedAttachment, StorageError; RecordClosed also while it is read.
        """
        check = self._on_its_way()
        with reading(self._engine) as connection:
            found = _found(connection, case_id, attachment_id)
            seal = seal_of(connection).files(connection, case_id)
        for _part in self._content(seal, found, check):
            pass
        return found, self._content(seal, found, check)

    def remove(self, case_id: str, attachment_id: str, reason: str, stamp: Stamp) -> Attachment:
        """Take a file out of the list, for a reason; of one that was taken out before, return that. Raises UnknownRecord."""
        check = self._on_its_way()
        with self._guard, writing(self._engine) as connection:
            check()
            found = _found(connection, case_id, attachment_id)
            if found.removed is None:
                _remove(connection, case_id, found.id, reason, stamp)
            return _found(connection, case_id, attachment_id)

    def discard_of(self, case_id: str) -> None:
        """Remove the files of a case that was deleted; what a full or failing disk leaves is swept at the next opening."""
        self.interrupt()
        with reading(self._engine) as connection:
            names = connection.execute(select(ATTACHMENT.c.file).where(ATTACHMENT.c.case_id == case_id)).scalars().all()
        for name in names:
            attachment_folder.discard_file(self._folder, name)

    def _content(self, seal: FileSeal, found: Attachment, check: Callable[[], None]) -> Iterator[bytes]:
        for part in _content(self._folder, seal, found):
            check()
            yield part

    def _discard(self, name: str) -> None:
        """Remove a file whose row was not kept; where that cannot be known, the next opening decides."""
        with suppress(StorageError), reading(self._engine) as connection:
            if connection.execute(select(ATTACHMENT.c.id).where(ATTACHMENT.c.file == name)).first() is None:
                attachment_folder.discard_file(self._folder, name)

    def _on_its_way(self) -> Callable[[], None]:
        """Return what raises RecordClosed once a file that begins now has to end."""
        turn = self._turn

        def check() -> None:
            if self._closed or self._turn != turn:
                raise RecordClosed

        return check


class _Measured:
    """A source that counts and hashes what is read from it, and is checked before each part."""

    def __init__(self, source: BinaryIO, check: Callable[[], None]) -> None:
        self._source = source
        self._check = check
        self._digest = hashlib.sha256()
        self.size = 0

    @property
    def sha256(self) -> str:
        return self._digest.hexdigest()

    def read(self, size: int) -> bytes:
        self._check()
        part = self._source.read(size)
        self._digest.update(part)
        self.size += len(part)
        return part


def named_files(connection: Connection) -> set[str]:
    """Return the names of all files that the record knows, of whatever schema it is, but those of deleted cases."""
    if not inspect(connection).has_table(ATTACHMENT.name):
        return set()
    kept = ATTACHMENT.c.case_id.not_in(select(DELETED_CASE.c.case_id))
    return set(connection.execute(select(ATTACHMENT.c.file).where(kept)).scalars())


def damaged_files(connection: Connection, data_directory: Path) -> Iterator[str]:
    """Yield the id of each attachment whose file is missing or not what was stored; those of deleted cases are left out."""
    for row in connection.execute(select(ATTACHMENT)).mappings().all():
        try:
            seal = seal_of(connection).files(connection, row["case_id"])
            for _part in _content(data_directory, seal, _attachment(connection, row)):
                pass
        except CaseDeleted:
            continue
        except StorageError:
            yield str(row["id"])


def _content(data_directory: Path, seal: FileSeal, found: Attachment) -> Iterator[bytes]:
    """Yield what a file holds. Raises DamagedAttachment, at the latest at the end: use nothing before it."""
    digest, size = hashlib.sha256(), 0
    with attachment_folder.stored_file(data_directory, found.file) as file:
        for part in seal.opened(found.id, file):
            digest.update(part)
            size += len(part)
            yield part
    if (size, digest.hexdigest()) != (found.size, found.sha256):
        raise DamagedAttachment


def _row_of(case_id: str, file: str, label: AttachmentLabel, measured: _Measured, stamp: Stamp) -> dict[str, Any]:
    about = asdict(label) | {"size": measured.size, "sha256": measured.sha256}
    thumbnail = about.pop("thumbnail")
    row = {"id": stamp.id, "case_id": case_id, "file": file, "thumbnail": thumbnail}
    return row | stamp.columns("added_at") | {"about": json.dumps(about, ensure_ascii=False)}


def _add_rows(connection: Connection, case_id: str, rows: Sequence[tuple[ArrivingFile, dict[str, Any]]]) -> None:
    for file, row in rows:
        add_closed(connection, ATTACHMENT, case_id, row, "attachment added", file.stamp.columns())
        if file.removed is not None:
            _remove(connection, case_id, file.stamp.id, file.removed, file.stamp)


def _remove(connection: Connection, case_id: str, attachment_id: str, reason: str, stamp: Stamp) -> None:
    row = {**stamp.columns("removed_at"), "attachment_id": attachment_id, "reason": reason}
    add_closed(connection, ATTACHMENT_REMOVED, case_id, row, "attachment removed", stamp.columns())


def _found(connection: Connection, case_id: str, attachment_id: str) -> Attachment:
    asked = (ATTACHMENT.c.id == attachment_id) & (ATTACHMENT.c.case_id == case_id)
    row = connection.execute(select(ATTACHMENT).where(asked)).mappings().first()
    if row is None:
        raise UnknownRecord("attachment")
    if not row_is_sealed(connection, ATTACHMENT, fitting(row, ATTACHMENT)):
        raise StorageError("damaged")
    return _attachment(connection, row)


def _attachment(connection: Connection, stored: Row) -> Attachment:
    row = opened_row(connection, ATTACHMENT, stored["case_id"], stored)
    query = select(ATTACHMENT_REMOVED).where(ATTACHMENT_REMOVED.c.attachment_id == row["id"])
    removed = connection.execute(query).mappings().first()
    try:
        about = json.loads(row["about"])
        size, sha256 = int(about.pop("size")), str(about.pop("sha256"))
        label = AttachmentLabel(**about, thumbnail=row["thumbnail"])
    except (ValueError, KeyError, TypeError, AttributeError):
        raise StorageError("damaged") from None
    return Attachment(
        **{name: row[name] for name in ("id", "case_id", "file", "added_at", "zone", "author")},
        label=label,
        size=size,
        sha256=sha256,
        removed=None if removed is None else _removed(connection, row["case_id"], fitting(removed, ATTACHMENT_REMOVED)),
    )


def _removed(connection: Connection, case_id: str, stored: Row) -> AttachmentRemoved:
    row = opened_row(connection, ATTACHMENT_REMOVED, case_id, stored)
    return AttachmentRemoved(**{name: row[name] for name in AttachmentRemoved.__slots__})

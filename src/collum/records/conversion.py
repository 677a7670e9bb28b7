"""Turn a clear record into a sealed one: copied beside, checked, then put in its place by one rename.

Until the rename the clear record is the record, after it the sealed one; a copy that was interrupted is left aside and made
anew. The clear file is gone from its folder then, but a disk, a copy or a backup may still hold it, which no program can wipe.
"""

from collections.abc import Callable, Iterator
from contextlib import suppress
from functools import partial
from pathlib import Path
from typing import Any, Literal

from sqlalchemy import Connection, Engine, Table, literal_column, select

from collum.records.attached import DamagedAttachment
from collum.records.attachment_folder import stored_file, write_file
from collum.records.attachments import damaged_files
from collum.records.chain import NO_ROW, RECORD, add_event, add_row, faults
from collum.records.engine import fold, leave_log_mode, make_database, open_engine, reading, writing
from collum.records.files import files_of
from collum.records.migrate import migrate
from collum.records.opening import DATABASE
from collum.records.payloads import PAYLOADS, closed_row, opened_row
from collum.records.sealing import KEY_FILES, Keys
from collum.records.sealing.key_file import sync_folder
from collum.records.seals import seal_by, seal_of, with_seal
from collum.records.stored import Stamp, StorageError, storage_error
from collum.records.tables import (
    ATTACHMENT,
    ATTACHMENT_REMOVED,
    CARD,
    CASE,
    CASE_REVISION,
    CHAINED,
    DELETED_CASE,
    DOSE_LIMIT,
    KEEPING_RULE,
    KEPT_CASE,
    PLAN,
    PLAN_ANSWER,
    ROUND,
    ROUND_END,
    ROUND_EVENT,
)

STAGED = "practice.db.sealing"
_CLEAR_HEADER = b"SQLite format 3\0"
_BATCH = 100


def is_clear(file: Path) -> bool:
    """Return whether a database file is there and not encrypted. Raises StorageError."""
    try:
        with file.open("rb") as opened:
            return opened.read(len(_CLEAR_HEADER)) == _CLEAR_HEADER
    except FileNotFoundError:
        return False
    except OSError:
        raise StorageError("cannot_open") from None


def seal_database(
    file: Path, keys: Keys, stamp: Stamp, *, key_file: str = NO_ROW, before_switch: Callable[[], None] = lambda: None
) -> None:
    """Replace a clear database by a sealed one with the same content; whoever calls holds the lock of the folder.

    `before_switch` is called once the sealed copy is whole, on disk and checked: the key file is written there, so that no
    sealed record is ever without it; `key_file` is its seal. Raises StorageError; the clear record then stays as it was.
    """
    staged = file.with_name(STAGED)
    discard_staged(file)
    clear = open_engine(file)
    sealed = _staged_engine(staged, keys)
    try:
        migrate(clear)
        with reading(clear) as source, writing(sealed) as target:
            for copy in _COPIES:
                copy(source, target)
            _attachments(source, target, file.parent)
            _note(target, "record sealed", stamp, key_file)
        _check(clear, sealed, file.parent)
        _finish(sealed)
        _finish(clear)
    finally:
        sealed.dispose()
        clear.dispose()
    leave_log_mode(file)
    before_switch()
    switch(staged, file)


def record_state(folder: Path) -> Literal["new", "clear", "locked"]:
    """Return what is in a folder: no record yet, a clear one, or a sealed one. Raises StorageError.

    A set-up that was cut short left a key file and a staged copy: nobody was given its recovery code, and it is done anew.
    """
    file = folder / DATABASE
    if is_clear(file):
        return "clear"
    if file.exists() and file.stat().st_size > 0:
        return "locked"
    kept = any((folder / name).exists() for name in KEY_FILES)
    return "locked" if kept and not file.with_name(STAGED).exists() else "new"


def begin_sealed(
    file: Path, keys: Keys, stamp: Stamp, *, key_file: str = NO_ROW, before_switch: Callable[[], None] = lambda: None
) -> None:
    """Make a new sealed record, whole before it has its name; see `seal_database`. Raises StorageError."""
    staged = file.with_name(STAGED)
    discard_staged(file)
    sealed = _staged_engine(staged, keys)
    try:
        with writing(sealed) as target:
            _note(target, "record begun", stamp, key_file)
        _finish(sealed)
    finally:
        sealed.dispose()
    before_switch()
    switch(staged, file)


def _staged_engine(staged: Path, keys: Keys) -> Engine:
    make_database(staged)
    sealed = with_seal(open_engine(staged, keys.database), seal_by(keys))
    migrate(sealed)
    return sealed


def _note(target: Connection, action: str, stamp: Stamp, key_file: str) -> None:
    add_event(target, action, RECORD, key_file, stamp.columns())


def _finish(engine: Engine) -> None:
    """Fold the log in and let go of the file, so that one file holds everything."""
    fold(engine, wholly=True)
    engine.dispose()


def switch(staged: Path, file: Path) -> None:
    """Give a database that is whole its name: by this one rename it becomes the record. Raises StorageError."""
    try:
        staged.replace(file)
    except OSError as error:
        raise storage_error(error) from None
    sync_folder(file.parent)


def discard_staged(file: Path) -> None:
    """Remove what an interrupted conversion left behind, the database last: it says that something was begun."""
    for left in reversed(files_of(file.with_name(STAGED))):
        left.unlink(missing_ok=True)


def _cases(source: Connection, target: Connection) -> None:
    for row in _rows(source, CASE):
        _carry(target, CASE, row)
        seal_of(target).new_case(target, row["id"])


def _of_cases(table: Table, case_of: Callable[[Connection, dict[str, Any]], str]) -> Callable[[Connection, Connection], None]:
    def copy(source: Connection, target: Connection) -> None:
        for row in _rows(source, table):
            _carry_payload(source, target, table, row, case_of(source, row))

    return copy


def _case_of_revision(source: Connection, row: dict[str, Any]) -> str:
    asked = select(CASE_REVISION.c.case_id).where(CASE_REVISION.c.id == row["revision_id"])
    return str(source.execute(asked).scalar_one())


def _case_of_plan(source: Connection, row: dict[str, Any]) -> str:
    joined = select(CASE_REVISION.c.case_id).join(PLAN, PLAN.c.revision_id == CASE_REVISION.c.id)
    return str(source.execute(joined.where(PLAN.c.id == row["plan_id"])).scalar_one())


def _of_practice(table: Table) -> Callable[[Connection, Connection], None]:
    def copy(source: Connection, target: Connection) -> None:
        for row in _rows(source, table):
            _carry(target, table, row)

    return copy


def _rounds(source: Connection, target: Connection) -> None:
    """Copy round by round, each with its marks and its end: the database takes no second open round of a case."""
    for row in _rows(source, ROUND):
        case_id = _case_of_revision(source, row)
        _carry_payload(source, target, ROUND, row, case_id)
        asked = select(ROUND_EVENT).where(ROUND_EVENT.c.round_id == row["id"])
        for mark in source.execute(asked).mappings().all():
            _carry(target, ROUND_EVENT, dict(mark))
        end = source.execute(select(ROUND_END).where(ROUND_END.c.round_id == row["id"])).mappings().first()
        if end is not None:
            _carry_payload(source, target, ROUND_END, dict(end), case_id)


def _attachments(source: Connection, target: Connection, folder: Path) -> None:
    """Copy the files of cases with their rows, sealed beside the clear ones, which are swept when the record is opened next."""
    for row in _rows(source, ATTACHMENT):
        case_id, clear = row["case_id"], opened_row(source, ATTACHMENT, row["case_id"], row)
        seal = seal_of(target).files(target, case_id)
        name = seal.name(row["id"])
        with suppress(DamagedAttachment), stored_file(folder, row["file"]) as held:  # what is missing is missing there too
            write_file(folder, name, partial(seal.store, row["id"], held))
        _carry(target, ATTACHMENT, closed_row(target, ATTACHMENT, case_id, clear | {"file": name}))
    for row in _rows(source, ATTACHMENT_REMOVED):
        _carry_payload(source, target, ATTACHMENT_REMOVED, row, _case_of_attachment(source, row))


def _case_of_attachment(source: Connection, row: dict[str, Any]) -> str:
    return str(source.execute(select(ATTACHMENT.c.case_id).where(ATTACHMENT.c.id == row["attachment_id"])).scalar_one())


_COPIES: tuple[Callable[[Connection, Connection], None], ...] = (
    _cases,
    _of_cases(CASE_REVISION, lambda _source, row: str(row["case_id"])),
    _of_cases(PLAN, _case_of_revision),
    _of_cases(CARD, _case_of_revision),
    _of_practice(DOSE_LIMIT),
    _rounds,
    _of_practice(KEEPING_RULE),
    _of_cases(KEPT_CASE, lambda _source, row: str(row["case_id"])),
    _of_cases(PLAN_ANSWER, _case_of_plan),
)


def _rows(source: Connection, table: Table) -> Iterator[dict[str, Any]]:
    """Yield the rows of a table in the order they were written, a few at a time."""
    query = select(table).order_by(literal_column(f'"{table.name}".rowid'))
    for part in source.execution_options(yield_per=_BATCH).execute(query).mappings().partitions():
        yield from (dict(row) for row in part)


def _carry_payload(source: Connection, target: Connection, table: Table, row: dict[str, Any], case_id: str) -> None:
    _carry(target, table, closed_row(target, table, case_id, opened_row(source, table, case_id, row)))


def _carry(target: Connection, table: Table, row: dict[str, Any]) -> None:
    """Insert a row with an event that names who wrote it and when, as the clear record had it."""
    at = next(str(row[name]) for name in _TIMES if row.get(name))
    author = row.get("author") or row.get("entered_by") or "record"
    add_row(target, table, row, "carried over", {"at": at, "zone": row.get("zone") or "UTC", "author": str(author)})


# Whose case a row is that names neither a case nor a revision.
_CASE_OF = {ATTACHMENT_REMOVED.name: _case_of_attachment, PLAN_ANSWER.name: _case_of_plan}
# All but what a clear record never has: it has no key of a case that could be destroyed.
_COPIED = tuple(table for table in CHAINED if table is not DELETED_CASE)
_TIMES = (
    "created_at",
    "saved_at",
    "made_at",
    "issued_at",
    "entered_at",
    "started_at",
    "written_at",
    "ended_at",
    "added_at",
    "removed_at",
    "set_at",
    "kept_at",
)


def _check(clear: Engine, sealed: Engine, folder: Path) -> None:
    """Compare every row and file of both. Raises StorageError where one differs or the chain has a fault."""
    with reading(clear) as one, reading(sealed) as other:
        for table in _COPIED:
            for before, after in zip(_rows(one, table), _rows(other, table), strict=True):
                if _compared(before) != _compared(_clear_row(one, other, table, after)):
                    raise StorageError("write_failed")
        files = set(damaged_files(other, folder)) - set(damaged_files(one, folder))
        if files or next(faults(other), None) is not None:
            raise StorageError("write_failed")


def _compared(row: dict[str, Any]) -> dict[str, Any]:
    """Leave out the name of a file, which depends on the key of its case."""
    return {name: value for name, value in row.items() if name != ATTACHMENT.c.file.name}


def _clear_row(one: Connection, other: Connection, table: Table, row: dict[str, Any]) -> dict[str, Any]:
    if table.name not in PAYLOADS:
        return row
    of = _CASE_OF.get(table.name, _case_of_revision)
    return opened_row(other, table, row.get("case_id") or of(one, row), row)

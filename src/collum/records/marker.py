"""A small file beside the database that says which record was here and how many of its entries were confirmed.

It notices what the database cannot notice of itself: that it is gone, is an older copy, or lost its log. It is written after
each commit and flushed only now and then: after a loss of power it may name fewer entries than there are, never more.
"""

import json
import os
from dataclasses import dataclass
from pathlib import Path

from sqlalchemy import Connection, ScalarSelect, Table, func, inspect, literal_column, select

from collum.records.stored import storage_error
from collum.records.tables import CASE, CHAINED

MARKER = "practice.head"
_FORMAT = "collum-head/1"
_BYTES = 160  # always the same, within one sector of any disk: an old marker or a new one, never half of each


@dataclass(frozen=True, slots=True, kw_only=True)
class Head:
    """`record`: the id of the first case ever made in it, None before that. `entries`: how many rows were ever added."""

    record: str | None
    entries: int


def entries_in(connection: Connection) -> int:
    """Return how many rows were ever added: rows are numbered without gaps, for none is ever removed."""
    return sum(connection.execute(_ENTRIES).one())


def head_of(connection: Connection) -> Head:
    """Return what the database itself says, of whatever schema it is."""
    names = set(inspect(connection).get_table_names())
    if CASE.name not in names:
        return Head(record=None, entries=0)
    last = [_last_of(table) for table in CHAINED if table.name in names]
    return Head(record=first_case(connection), entries=sum(connection.execute(select(*last)).one()))


def first_case(connection: Connection) -> str | None:
    """Return the id of the first case ever made: no two records have the same."""
    return connection.execute(select(CASE.c.id).order_by(literal_column("rowid")).limit(1)).scalar()


def _last_of(table: Table) -> ScalarSelect[int]:
    return select(func.coalesce(func.max(literal_column("rowid")), 0)).select_from(table).scalar_subquery()


_ENTRIES = select(*(_last_of(table) for table in CHAINED))  # made once: it is asked at every write


class Marker:
    """The marker of one data directory."""

    def __init__(self, folder: Path) -> None:
        self._file = folder / MARKER

    def read(self) -> Head | None:
        """Return what it says, None where it is not there or cannot be read."""
        try:
            found = json.loads(self._file.read_bytes())
            if found["format"] != _FORMAT:
                return None
            return Head(record=found["record"], entries=int(found["entries"]))
        except (OSError, ValueError, TypeError, KeyError):
            return None

    def write(self, head: Head, *, flush: bool) -> None:
        """Write it in place. Raises StorageError."""
        said = json.dumps({"format": _FORMAT, "record": head.record, "entries": head.entries})
        try:
            descriptor = os.open(self._file, os.O_WRONLY | os.O_CREAT, 0o600)
            try:
                os.write(descriptor, f"{said:<{_BYTES - 1}}\n".encode())
                if flush:
                    os.fsync(descriptor)
            finally:
                os.close(descriptor)
        except OSError as error:
            raise storage_error(error) from None

    def remove(self) -> None:
        """Take it away."""
        self._file.unlink(missing_ok=True)

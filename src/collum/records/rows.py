"""Rows as they come out of a database that may be damaged: looked at one by one, each value of the kind its column has."""

from collections.abc import Iterator
from datetime import datetime
from typing import Any

from sqlalchemy import ColumnElement, Connection, RowMapping, Table, literal_column, select
from sqlalchemy.exc import DBAPIError

from collum.records.stored import StorageError

UNREADABLE = (DBAPIError, UnicodeDecodeError)  # the second where SQLite quotes what is no text any more
_ROW: ColumnElement[int] = literal_column("rowid")


def fitting(row: RowMapping, table: Table) -> RowMapping:
    """Return the row. Raises StorageError where a value of it is of another kind than its column, or a time is none."""
    for name, column in table.c.items():
        if name in row and not _fits(row[name], column.type.python_type, bool(column.nullable), moment=name.endswith("_at")):
            raise StorageError("damaged")
    return row


def one_by_one(connection: Connection, table: Table) -> Iterator[RowMapping | None]:
    """Yield every row that can be reached, in the order of entry; None for one that cannot be read."""
    numbers = _numbers(connection, table)
    for number in sorted(numbers):
        try:
            yield connection.execute(select(table).where(_ROW.in_([number]))).mappings().first()
        except UNREADABLE:
            yield None
    if max(numbers, default=0) > len(numbers):  # rows are numbered without gaps; how many are lost cannot be known for certain
        yield None


def _numbers(connection: Connection, table: Table) -> set[int]:
    """Return the numbers of the rows, read from both ends: one damaged page hides only what lies behind it from both."""
    found: set[int] = set()
    for order in (_ROW.asc(), _ROW.desc()):
        try:
            for number in connection.execute(select(_ROW).select_from(table).order_by(order)).scalars():
                found.add(number)
        except UNREADABLE:
            continue
    return found


def _fits(value: Any, kind: type, nullable: bool, *, moment: bool) -> bool:
    if value is None:
        return nullable
    return isinstance(value, kind) and (not moment or is_moment(str(value)))


def is_moment(found: str) -> bool:
    """Return whether a text is a time as the record writes it."""
    try:
        return datetime.fromisoformat(found).tzinfo is not None
    except ValueError:
        return False

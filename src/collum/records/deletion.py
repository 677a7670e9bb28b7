"""Deleting a case: its key is destroyed, and a tombstone without content stays, so that no older copy brings it back unseen.

What the key opened cannot be read by anybody again in this file. That there was a case, when something was written and by whom,
the words of its verdicts, the kinds of its answers and the numbers of teeth on cards and rounds stay: the trail needs its rows.
"""

from dataclasses import dataclass
from typing import Literal

from sqlalchemy import Connection, delete, select

from collum.records.chain import add_row
from collum.records.rows import fitting
from collum.records.stored import Stamp, UnknownRecord
from collum.records.tables import CASE, CASE_KEY, DELETED_CASE

DeletionReason = Literal["wish of the person", "retention ended", "entered by mistake"]


@dataclass(frozen=True, slots=True, kw_only=True)
class DeletedCase:
    """A tombstone: which case was deleted, why, when and by whom."""

    case_id: str
    reason: DeletionReason
    deleted_at: str
    zone: str
    author: str


def delete_case(connection: Connection, case_id: str, reason: DeletionReason, stamp: Stamp) -> DeletedCase:
    """Destroy the key of a case of a sealed record; one that was deleted before stays as it is. Raises UnknownRecord."""
    known = connection.execute(select(DELETED_CASE).where(DELETED_CASE.c.case_id == case_id)).mappings().first()
    if known is not None:
        return DeletedCase(**fitting(known, DELETED_CASE))
    if connection.execute(select(CASE.c.id).where(CASE.c.id == case_id)).first() is None:
        raise UnknownRecord("case")
    made = DeletedCase(case_id=case_id, reason=reason, deleted_at=stamp.at, zone=stamp.zone, author=stamp.author)
    connection.execute(delete(CASE_KEY).where(CASE_KEY.c.case_id == case_id))
    row = {column.name: getattr(made, column.name) for column in DELETED_CASE.c}
    add_row(connection, DELETED_CASE, row, "case deleted", stamp.columns())
    return made


def deleted_cases(connection: Connection) -> tuple[DeletedCase, ...]:
    """Return every tombstone, the oldest first."""
    rows = connection.execute(select(DELETED_CASE).order_by(DELETED_CASE.c.deleted_at, DELETED_CASE.c.case_id)).mappings()
    return tuple(DeletedCase(**fitting(row, DELETED_CASE)) for row in rows)


def living_cases(connection: Connection) -> frozenset[str]:
    """Return the ids of the cases that were not deleted."""
    return frozenset(connection.execute(select(CASE.c.id).where(CASE.c.id.not_in(select(DELETED_CASE.c.case_id)))).scalars())

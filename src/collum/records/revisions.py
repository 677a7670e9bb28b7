"""Revisions of cases, inside the transaction of whoever asks: the newest, one by number, and the one that follows."""

from collections.abc import Sequence
from typing import Any, Literal

from sqlalchemy import Connection, RowMapping, Select, func, select

from collum.records.chain import add_closed
from collum.records.payloads import opened_row, sha256_of
from collum.records.rows import fitting
from collum.records.stored import CaseDamage, DamagedCase, Revision, StaleRevision, Stamp, StorageError, UnknownRecord
from collum.records.tables import CASE, CASE_REVISION, DELETED_CASE

_SAVED = "case saved"


def newest_of_each(connection: Connection) -> tuple[Revision | CaseDamage, ...]:
    """Return the newest revision of every case in the order the cases were made; of a damaged one, what of it is whole.

    One that was deleted is left out.
    """
    numbers = select(CASE_REVISION.c.case_id, func.max(CASE_REVISION.c.number).label("number"))
    last = numbers.group_by(CASE_REVISION.c.case_id).subquery()
    newest = select(CASE_REVISION).join(
        last, (CASE_REVISION.c.case_id == last.c.case_id) & (CASE_REVISION.c.number == last.c.number)
    )
    found = newest.subquery()
    there = CASE.c.id.not_in(select(DELETED_CASE.c.case_id))
    listed = select(CASE.c.id.label("listed_id"), found).outerjoin(found, found.c.case_id == CASE.c.id).where(there)
    rows = connection.execute(listed.order_by(CASE.c.created_at, CASE.c.id)).mappings().all()
    return tuple(_whole(connection, row) or damage_of(connection, row["listed_id"]) for row in rows)


def newest_of(connection: Connection, case_id: str) -> Revision:
    """Return the newest revision of a case. Raises UnknownRecord, DamagedCase where it was changed."""
    query = select(CASE_REVISION).where(CASE_REVISION.c.case_id == case_id).order_by(CASE_REVISION.c.number.desc()).limit(1)
    return _one(connection, case_id, query, "case")


def numbered(connection: Connection, case_id: str, number: int) -> Revision:
    """Return one revision of a case. Raises UnknownRecord, DamagedCase where it was changed."""
    asked = (CASE_REVISION.c.case_id == case_id) & (CASE_REVISION.c.number == number)
    return _one(connection, case_id, select(CASE_REVISION).where(asked), "revision")


def revisions_of(connection: Connection, case_id: str) -> tuple[Revision, ...]:
    """Return every revision of a case in their order. Raises DamagedCase where one was changed."""
    query = select(CASE_REVISION).where(CASE_REVISION.c.case_id == case_id).order_by(CASE_REVISION.c.number)
    rows = connection.execute(query).mappings().all()
    try:
        return tuple(revision_of(connection, row) for row in rows)
    except StorageError:
        raise DamagedCase(damage_among(connection, case_id, rows)) from None


def damage_of(connection: Connection, case_id: str) -> CaseDamage:
    """Return which revisions of a case hold what was written, and which do not."""
    query = select(CASE_REVISION).where(CASE_REVISION.c.case_id == case_id).order_by(CASE_REVISION.c.number)
    return damage_among(connection, case_id, connection.execute(query).mappings().all())


def damage_among(connection: Connection, case_id: str, rows: Sequence[RowMapping]) -> CaseDamage:
    """Return of rows of a case, in order, which hold what was written, and which do not."""
    whole = [found for row in rows if (found := _whole(connection, row)) is not None]
    kept = {revision.number for revision in whole}
    damaged = tuple(row["number"] for row in rows if row["number"] not in kept and isinstance(row["number"], int))
    return CaseDamage(
        case_id=case_id,
        damaged=damaged,
        whole=tuple(sorted(kept)),
        last_whole=max(whole, key=lambda revision: revision.number, default=None),
    )


def revision_of(connection: Connection, row: RowMapping) -> Revision:
    """Return the revision of a row. Raises StorageError where it is not what was stored, CaseDeleted."""
    found = opened_row(connection, CASE_REVISION, row["case_id"], fitting(row, CASE_REVISION))
    return Revision(**{column.name: found[column.name] for column in CASE_REVISION.c})


def follow(connection: Connection, case_id: str, base: int, document: str, stamp: Stamp, *, action: str = _SAVED) -> Revision:
    """Store `document` as the revision after `base`; where the newest holds it already, return that and write nothing.

    `action`: what the trail says of it. Raises StaleRevision where `base` is not the newest, UnknownRecord.
    """
    found = newest_of(connection, case_id)
    following = made(case_id, found.number + 1, found.id, document, stamp)
    if found.sha256 == following.sha256 and found.number - base in (0, 1):
        return found
    if base != found.number:
        raise StaleRevision(found, _taken_as(connection, case_id, base, document))
    add_revision(connection, following, action=action)
    return following


def _taken_as(connection: Connection, case_id: str, base: int, document: str) -> int | None:
    """Return the number of the revision after `base` where it holds this document."""
    after = (CASE_REVISION.c.case_id == case_id) & (CASE_REVISION.c.number == base + 1)
    row = connection.execute(select(CASE_REVISION).where(after)).mappings().first()
    found = None if row is None else _whole(connection, row)
    return found.number if found is not None and found.document == document else None


def made(case_id: str, number: int, parent_id: str | None, document: str, stamp: Stamp) -> Revision:
    """Return a revision about to be stored."""
    return Revision(
        id=stamp.id,
        case_id=case_id,
        number=number,
        parent_id=parent_id,
        saved_at=stamp.at,
        zone=stamp.zone,
        author=stamp.author,
        document=document,
        sha256=sha256_of(document),
    )


def add_revision(connection: Connection, revision: Revision, *, action: str = _SAVED) -> None:
    """Store a revision."""
    row = {column.name: getattr(revision, column.name) for column in CASE_REVISION.c}
    add_closed(connection, CASE_REVISION, revision.case_id, row, action, revision.by)


def _one(connection: Connection, case_id: str, query: Select[Any], kind: Literal["case", "revision"]) -> Revision:
    row = connection.execute(query).mappings().first()
    if row is None:
        raise UnknownRecord(kind)
    try:
        return revision_of(connection, row)
    except StorageError:
        raise DamagedCase(damage_of(connection, case_id)) from None


def _whole(connection: Connection, row: RowMapping) -> Revision | None:
    try:
        return revision_of(connection, row)
    except StorageError:
        return None

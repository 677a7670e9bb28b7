"""Revisions of cases, inside the transaction of whoever asks: the newest, one by number, and the one that follows."""

import hashlib
from typing import Any

from sqlalchemy import Connection, RowMapping, Select, func, insert, select

from collum.records.stored import Revision, StaleRevision, Stamp, StorageError, UnknownRecord
from collum.records.tables import CASE, CASE_REVISION


def newest_of_each() -> Select[Any]:
    """Return the query for the newest revision of every case, in the order the cases were made."""
    numbers = select(CASE_REVISION.c.case_id, func.max(CASE_REVISION.c.number).label("number"))
    last = numbers.group_by(CASE_REVISION.c.case_id).subquery()
    at_last = (CASE_REVISION.c.case_id == last.c.case_id) & (CASE_REVISION.c.number == last.c.number)
    joined = select(CASE_REVISION).join(last, at_last).join(CASE, CASE.c.id == CASE_REVISION.c.case_id)
    return joined.order_by(CASE.c.created_at, CASE.c.id)


def newest_of(connection: Connection, case_id: str) -> Revision:
    """Return the newest revision of a case. Raises UnknownRecord, StorageError where it was changed."""
    query = select(CASE_REVISION).where(CASE_REVISION.c.case_id == case_id).order_by(CASE_REVISION.c.number.desc()).limit(1)
    row = connection.execute(query).mappings().first()
    if row is None:
        raise UnknownRecord("case")
    return revision_of(row)


def numbered(connection: Connection, case_id: str, number: int) -> Revision:
    """Return one revision of a case. Raises UnknownRecord, StorageError where it was changed."""
    asked = (CASE_REVISION.c.case_id == case_id) & (CASE_REVISION.c.number == number)
    row = connection.execute(select(CASE_REVISION).where(asked)).mappings().first()
    if row is None:
        raise UnknownRecord("revision")
    return revision_of(row)


def revision_of(row: RowMapping) -> Revision:
    """Return the revision of a row. Raises StorageError where its hash no longer fits."""
    revision = Revision(**row)
    if sha256_of(revision.document) != revision.sha256:
        raise StorageError("damaged")
    return revision


def follow(connection: Connection, case_id: str, base: int, document: str, stamp: Stamp) -> Revision:
    """Store `document` as the revision after `base`; where the newest holds it already, return that and write nothing.

    Raises StaleRevision where `base` is not the newest, UnknownRecord.
    """
    found = newest_of(connection, case_id)
    following = made(case_id, found.number + 1, found.id, document, stamp)
    if found.sha256 == following.sha256 and found.number - base in (0, 1):
        return found
    if base != found.number:
        raise StaleRevision(found, _taken_as(connection, case_id, base, following.sha256))
    connection.execute(insert(CASE_REVISION).values(**fields(following)))
    return following


def _taken_as(connection: Connection, case_id: str, base: int, sha256: str) -> int | None:
    """Return the number of the revision after `base` where it holds the document of this hash."""
    after = (CASE_REVISION.c.case_id == case_id) & (CASE_REVISION.c.number == base + 1) & (CASE_REVISION.c.sha256 == sha256)
    return connection.execute(select(CASE_REVISION.c.number).where(after)).scalar()


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


def fields(revision: Revision) -> dict[str, object]:
    """Return a revision as a row."""
    return {column.name: getattr(revision, column.name) for column in CASE_REVISION.c}


def sha256_of(text: str) -> str:
    """Return the hash that notices a change made behind the program's back."""
    return hashlib.sha256(text.encode()).hexdigest()

"""Revisions of cases, inside the transaction of whoever asks: the newest, one by number, and the one that follows."""

import hashlib
import json
from typing import Any

from sqlalchemy import Connection, RowMapping, Select, func, select

from collum.records.chain import add_row
from collum.records.sealing import Place
from collum.records.seals import seal_of
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
    return revision_of(connection, row)


def numbered(connection: Connection, case_id: str, number: int) -> Revision:
    """Return one revision of a case. Raises UnknownRecord, StorageError where it was changed."""
    asked = (CASE_REVISION.c.case_id == case_id) & (CASE_REVISION.c.number == number)
    row = connection.execute(select(CASE_REVISION).where(asked)).mappings().first()
    if row is None:
        raise UnknownRecord("revision")
    return revision_of(connection, row)


def revision_of(connection: Connection, row: RowMapping) -> Revision:
    """Return the revision of a row. Raises StorageError where it is not what was stored, CaseDeleted."""
    if sha256_of(row["document"]) != row["sha256"]:
        raise StorageError("damaged")
    document = seal_of(connection).opened(connection, row["case_id"], _place(row["id"], row["number"]), row["document"])
    return Revision(**{**row, "document": document, "sha256": sha256_of(document)})


def follow(connection: Connection, case_id: str, base: int, document: str, stamp: Stamp) -> Revision:
    """Store `document` as the revision after `base`; where the newest holds it already, return that and write nothing.

    Raises StaleRevision where `base` is not the newest, UnknownRecord.
    """
    found = newest_of(connection, case_id)
    following = made(case_id, found.number + 1, found.id, document, stamp)
    if found.sha256 == following.sha256 and found.number - base in (0, 1):
        return found
    if base != found.number:
        raise StaleRevision(found)
    add_revision(connection, following, "case saved")
    return following


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


def add_revision(connection: Connection, revision: Revision, action: str) -> None:
    """Store a revision. What the record itself looks for in a document, the times of its visits, stays readable beside it."""
    place, beside = _place(revision.id, revision.number), {"opened_at": visits_opened_at(revision.document)}
    stored = seal_of(connection).closed(connection, revision.case_id, place, revision.document, beside)
    row = {column.name: getattr(revision, column.name) for column in CASE_REVISION.c}
    row |= {"document": stored, "sha256": sha256_of(stored)}
    add_row(connection, CASE_REVISION, row, action, {"at": revision.saved_at, "zone": revision.zone, "author": revision.author})


def _place(revision_id: str, number: int) -> Place:
    return Place(table=CASE_REVISION.name, column="document", id=revision_id, version=number)


def visits_opened_at(document: str) -> list[str]:
    """Return when the visits of a case document (JSON) were opened, in their order."""
    return [visit["opened_at"] for visit in json.loads(document).get("visits", ()) if "opened_at" in visit]


def sha256_of(text: str) -> str:
    """Return the hash that notices a change made behind the program's back."""
    return hashlib.sha256(text.encode()).hexdigest()

"""Which columns hold what was recorded of a person, and how a row is stored and read back.

Every table with such columns has one line here; whoever stores, reads, converts or checks rows goes by it.
"""

import hashlib
import json
from collections.abc import Callable, Mapping
from dataclasses import dataclass
from typing import Any

from sqlalchemy import Connection, RowMapping, Table

from collum.records.sealing import Place
from collum.records.seals import seal_of
from collum.records.stored import StorageError
from collum.records.tables import (
    ATTACHMENT,
    ATTACHMENT_REMOVED,
    CARD,
    CASE_REVISION,
    KEPT_CASE,
    PLAN,
    PLAN_ANSWER,
    ROUND,
    ROUND_END,
)

Row = Mapping[str, Any] | RowMapping
Beside = Callable[[str], Mapping[str, object]]


@dataclass(frozen=True, slots=True, kw_only=True)
class Payload:
    """The payload columns of a table. `hashed`: those its `sha256` is of. `beside`: what stays readable, by column."""

    key: str
    columns: tuple[str, ...]
    hashed: tuple[str, ...]
    version: str | None = None
    beside: Mapping[str, Beside]

    def place(self, table: Table, row: Row, column: str) -> Place:
        version = 0 if self.version is None else int(row[self.version])
        return Place(table=table.name, column=column, id=str(row[self.key]), version=version)


def visits_opened_at(document: str) -> list[str]:
    """Return when the visits of a case document (JSON) were opened, in their order."""
    return [visit["opened_at"] for visit in json.loads(document).get("visits", ()) if "opened_at" in visit]


PAYLOADS: Mapping[str, Payload] = {
    CASE_REVISION.name: Payload(
        key="id",
        columns=("document",),
        hashed=("document",),
        version="number",
        beside={"document": lambda document: {"opened_at": visits_opened_at(document)}},  # see cards.newest_entry
    ),
    PLAN.name: Payload(key="id", columns=("constants", "result"), hashed=("result",), beside={}),
    PLAN_ANSWER.name: Payload(
        key="id",
        columns=("plan_sha256", "document"),  # the hash of a plan in clear would confirm a guess at it
        hashed=("plan_sha256", "document"),
        beside={},
    ),
    CARD.name: Payload(
        key="id",
        columns=("decision", "heat"),
        hashed=("decision", "heat"),
        beside={"decision": lambda decision: {"cleared": json.loads(decision).get("cleared")}},  # the database checks it
    ),
    ROUND.name: Payload(key="id", columns=("heat",), hashed=("heat",), beside={}),
    ROUND_END.name: Payload(key="round_id", columns=("log", "state"), hashed=("log", "state"), beside={}),
    ATTACHMENT.name: Payload(key="id", columns=("about", "thumbnail"), hashed=("about", "thumbnail"), beside={}),
    ATTACHMENT_REMOVED.name: Payload(key="attachment_id", columns=("reason",), hashed=("reason",), beside={}),
    KEPT_CASE.name: Payload(key="id", columns=("reason",), hashed=("reason",), beside={}),
}


def closed_row(connection: Connection, table: Table, case_id: str, row: Row) -> dict[str, Any]:
    """Return a row of a case as it is stored, with the hash of its payload. Raises CaseDeleted."""
    payload, seal, closed = PAYLOADS[table.name], seal_of(connection), dict(row)
    for column in payload.columns:
        if row[column] is not None:
            beside = payload.beside[column](row[column]) if column in payload.beside else None
            closed[column] = seal.closed(connection, case_id, payload.place(table, row, column), row[column], beside)
    return closed | {"sha256": _hash(payload, closed)}


def opened_row(connection: Connection, table: Table, case_id: str, row: Row) -> dict[str, Any]:
    """Return a stored row of a case with its payload in clear and the hash of that.

    Columns that were not asked for are left out. Raises StorageError("damaged") where it is not what was stored, CaseDeleted.
    """
    payload, seal, opened = PAYLOADS[table.name], seal_of(connection), dict(row)
    if _hash(payload, row) != row["sha256"]:
        raise StorageError("damaged")
    for column in payload.columns:
        if row[column] is not None:
            opened[column] = seal.opened(connection, case_id, payload.place(table, row, column), row[column])
    return opened | {"sha256": _hash(payload, opened)}


def hash_fits(table: Table, row: Row) -> bool:
    """Return whether the payload of a stored row is what its hash says; True of a table without payload."""
    return table.name not in PAYLOADS or _hash(PAYLOADS[table.name], row) == row["sha256"]


def sha256_of(text: str) -> str:
    """Return the hash that notices a change made behind the program's back."""
    return hashlib.sha256(text.encode()).hexdigest()


def _hash(payload: Payload, row: Row) -> str:
    return sha256_of("".join(row[column] or "" for column in payload.hashed))

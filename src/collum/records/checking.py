"""Whether a record holds what was written into it: its structure, its references, and the hash of all that carries one."""

import json
from collections import defaultdict
from collections.abc import Iterator, Mapping
from contextlib import suppress
from dataclasses import dataclass
from typing import Literal

from sqlalchemy import Connection, RowMapping, Table

from collum.records.chain import FaultKind as ChainFaultKind
from collum.records.chain import faults as chain_faults
from collum.records.chain import head as chain_head
from collum.records.marker import Head, head_of
from collum.records.migrate import schema_number
from collum.records.payloads import hash_fits
from collum.records.rows import UNREADABLE, fitting, one_by_one, renew
from collum.records.seals import seal_of
from collum.records.stored import ChainHead, StorageError
from collum.records.tables import CASE_REVISION, CHAINED, PLAN

Fault = Literal["structure", "reference", "content", "unreadable", "order", "behind", "other_record"] | ChainFaultKind
_MOST_LINES = 100
_JSON: Mapping[str, tuple[str, ...]] = {PLAN.name: ("verdicts", "constants")}  # what no hash covers


@dataclass(frozen=True, slots=True, kw_only=True)
class RecordFault:
    """Something that is not as it was written: in which table, of which row (of a case its id and the number)."""

    what: Fault
    table: str
    id: str
    number: int | None = None


@dataclass(frozen=True, slots=True, kw_only=True)
class RecordCheck:
    """What was found. `entries` are in the record; the marker beside it knows of `confirmed`, None where there is no marker.

    `head`: the last event of the trail as it is shown; None where the record keeps no trail, or it cannot be read.
    """

    schema: str | None
    counts: Mapping[str, int]
    entries: int
    confirmed: int | None
    head: str | None
    faults: tuple[RecordFault, ...]


def is_sound(connection: Connection) -> bool:
    """Return whether structure and references of the database are whole: what is looked at before each start."""
    return not list(_structure(connection))


def check_record(connection: Connection, confirmed: Head | None, seen: ChainHead | None = None) -> RecordCheck:
    """Look at everything. `seen`: a head of the trail known from elsewhere, which the record has to hold.

    Raises StorageError where not even the tables can be found.
    """
    schema = schema_number(connection)
    faults = list(_structure(connection))
    counts: dict[str, int] = {}
    for table in CHAINED:
        rows = list(one_by_one(connection, table))
        counts[table.name] = sum(row is not None for row in rows)
        faults += [fault for row in rows if (fault := _of_row(row, table)) is not None]
        if table is CASE_REVISION:
            faults += _order([row for row in rows if row is not None])
    head = None
    with suppress(*UNREADABLE):
        faults += _chain(connection, seen)
        head = _head(connection)
    with suppress(*UNREADABLE):  # where the ends of the tables cannot be reached, their structure is told as damaged
        faults += behind(head_of(connection), confirmed)
    return RecordCheck(
        schema=schema,
        counts=counts,
        entries=sum(counts.values()),
        confirmed=None if confirmed is None else confirmed.entries,
        head=head,
        faults=tuple(faults),
    )


def behind(head: Head, confirmed: Head | None) -> list[RecordFault]:
    """Return a fault where the record is another one than its marker knows of, or holds fewer entries."""
    if confirmed is None:
        return []
    if confirmed.record is not None and head.record != confirmed.record and head.entries > 0:
        return [RecordFault(what="other_record", table="", id="")]
    missing = confirmed.entries - head.entries
    return [RecordFault(what="behind", table="", id="", number=missing)] if missing > 0 else []


def _head(connection: Connection) -> str | None:
    return None if seal_of(connection).chain_key is None else chain_head(connection).shown


def _chain(connection: Connection, seen: ChainHead | None) -> Iterator[RecordFault]:
    """Say what does not fit the chain of events of a sealed record."""
    for fault in chain_faults(connection, expected=seen):
        table, _, key = (fault.row or "event").partition(" ")
        yield RecordFault(what=fault.kind, table=table, id=key, number=fault.event)


def _structure(connection: Connection) -> Iterator[RecordFault]:
    try:
        lines = connection.exec_driver_sql(f"PRAGMA integrity_check({_MOST_LINES})").scalars().all()
    except UNREADABLE:  # a damaged page of an encrypted database cannot be looked at
        renew(connection)
        lines = [""]
    if lines != ["ok"]:
        yield RecordFault(what="structure", table="", id="", number=len(lines))
    try:
        lost = connection.exec_driver_sql("PRAGMA foreign_key_check").all()
    except UNREADABLE:
        renew(connection)
        return  # then the structure is damaged too
    for row in lost[:_MOST_LINES]:
        yield RecordFault(what="reference", table=str(row[0]), id=str(row[1]))


def _of_row(row: RowMapping | None, table: Table) -> RecordFault | None:
    if row is None:
        return RecordFault(what="unreadable", table=table.name, id="")
    try:
        fitting(row, table)
        whole = hash_fits(table, row)
        for name in _JSON.get(table.name, ()):
            json.loads(row[name])
    except (StorageError, ValueError):
        whole = False
    if whole:
        return None
    named = "case_id" if table is CASE_REVISION else next(iter(table.primary_key.columns)).name
    number = row["number"] if table is CASE_REVISION else None
    return RecordFault(what="content", table=table.name, id=str(row[named]), number=number)


def _order(rows: list[RowMapping]) -> Iterator[RecordFault]:
    """Say of which case the numbers have a gap, or a revision does not follow the one before it."""
    by_case: dict[str, list[RowMapping]] = defaultdict(list)
    for row in rows:
        by_case[row["case_id"]].append(row)
    for case_id, revisions in by_case.items():
        found = [(row["number"], row["parent_id"]) for row in revisions]
        parents = [None, *(row["id"] for row in revisions[:-1])]
        if found != [(number, parent) for number, parent in enumerate(parents, start=1)]:
            yield RecordFault(what="order", table=CASE_REVISION.name, id=str(case_id))

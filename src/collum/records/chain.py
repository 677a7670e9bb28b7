"""The chain of events of a sealed record: who wrote which row when, each event sealed with the one before it.

The seal of an event is an HMAC (RFC 2104) under a key derived from the data key, over the event and the seal before it. Who
edits the file without that key cannot make a seal; a row changed, added or removed no longer fits its event; an event left
out, swapped or added breaks the chain. An end cut off, or an older whole copy, is told by a head kept elsewhere.
"""

import hmac
import json
from collections.abc import Iterator, Mapping
from dataclasses import dataclass
from hashlib import sha256
from typing import Any, Literal

from sqlalchemy import Column, Connection, Float, Table, func, insert, select

from collum.records.payloads import Row, closed_row
from collum.records.seals import seal_of
from collum.records.stored import ChainHead
from collum.records.tables import CHAINED, EVENT

FIRST_SEAL = "0" * 64
NO_ROW = "0" * 64  # the digest of an event that is about no row
RECORD, USER = "record", "user "  # what an event is about that concerns the key file; its digest is the seal of that file
_LAST = select(EVENT.c.number, EVENT.c.seal).order_by(EVENT.c.number.desc()).limit(1)  # made once: asked at every write
FaultKind = Literal["row_changed", "row_removed", "row_added", "event_changed", "event_missing", "end_cut_off", "other_end"]


@dataclass(frozen=True, slots=True, kw_only=True)
class ChainFault:
    """One thing that does not fit. `row` names table and key of what it concerns; None where it is the chain itself."""

    kind: FaultKind
    event: int | None
    row: str | None


def add_row(connection: Connection, table: Table, row: Row, action: str, by: Mapping[str, str]) -> None:
    """Insert a row and, where the record keeps a chain, its event. `by`: `at`, `zone` and `author` of the event."""
    connection.execute(insert(table).values(**row))
    add_event(connection, action, row_name(table, row), digest_of(table, row), by)


def add_closed(
    connection: Connection, table: Table, case_id: str, row: Row, action: str, by: Mapping[str, str]
) -> dict[str, Any]:
    """Insert a row of a case with its payload as it is stored, and its event; return the stored row. Raises CaseDeleted."""
    stored = closed_row(connection, table, case_id, row)
    add_row(connection, table, stored, action, by)
    return stored


def add_event(connection: Connection, action: str, row: str, digest: str, by: Mapping[str, str]) -> None:
    """Append an event; nothing where the record keeps no chain."""
    key = seal_of(connection).chain_key
    if key is None:
        return
    before = head(connection)
    event = {"number": before.number + 1, "action": action, "row": row, "digest": digest, **by}
    connection.execute(insert(EVENT).values(**event, seal=_seal(key, before.seal, event)))


def head(connection: Connection) -> ChainHead:
    """Return number and seal of the last event; number 0 where there is none."""
    last = connection.execute(_LAST).first()
    return ChainHead(number=0, seal=FIRST_SEAL) if last is None else ChainHead(number=last.number, seal=last.seal)


def holds(connection: Connection, seen: ChainHead) -> bool:
    """Return whether an event has the number and the seal, or the begin of it, of a head; True where there is no chain."""
    if seal_of(connection).chain_key is None:
        return True
    found = connection.execute(select(EVENT.c.seal).where(EVENT.c.number == seen.number)).scalar()
    return found is not None and str(found).startswith(seen.seal)


def key_file_of(connection: Connection) -> str | None:
    """Return the seal of the key file as the last event about it has it; None where none is, or the record keeps no chain."""
    if seal_of(connection).chain_key is None:
        return None
    about = (EVENT.c.row.like(f"{USER}%") | (EVENT.c.row == RECORD)) & (EVENT.c.digest != NO_ROW)
    return connection.execute(select(EVENT.c.digest).where(about).order_by(EVENT.c.number.desc()).limit(1)).scalar()


def entry_of(connection: Connection, action: str, row: str) -> str | None:
    """Return the head of the chain as it was when `action` wrote a row, short; None without such an event."""
    if seal_of(connection).chain_key is None:
        return None
    asked = (EVENT.c.row == row) & (EVENT.c.action == action)
    found = connection.execute(select(EVENT.c.number, EVENT.c.seal).where(asked)).first()
    return None if found is None else ChainHead(number=found.number, seal=found.seal).short


def row_is_sealed(connection: Connection, table: Table, row: Row) -> bool:
    """Return whether a row as stored is what its event says, and that event was sealed by the key of the record.

    True where the record keeps no chain.
    """
    key = seal_of(connection).chain_key
    if key is None:
        return True
    found = connection.execute(select(EVENT).where(EVENT.c.row == row_name(table, row))).mappings().all()
    if len(found) != 1:
        return False
    before = connection.execute(select(EVENT.c.seal).where(EVENT.c.number == found[0]["number"] - 1)).scalar()
    fits = found[0]["digest"] == digest_of(table, row)
    return fits and hmac.compare_digest(_seal(key, before or FIRST_SEAL, found[0]), found[0]["seal"])


def faults(connection: Connection, *, expected: ChainHead | None = None) -> Iterator[ChainFault]:
    """Yield everything in rows and chain that does not fit. `expected`: a head that was once seen elsewhere, or its begin."""
    key = seal_of(connection).chain_key
    if key is None:
        return
    seal, number, told = FIRST_SEAL, 0, {}
    for event in connection.execute(select(EVENT).order_by(EVENT.c.number)).mappings():
        number += 1
        if event["number"] != number:
            yield ChainFault(kind="event_missing", event=number, row=None)
            number = event["number"]
        elif not hmac.compare_digest(_seal(key, seal, event), event["seal"]):
            yield ChainFault(kind="event_changed", event=number, row=event["row"])
        seal = event["seal"]
        told[event["row"]] = (number, event["digest"])
        if expected is not None and number == expected.number and not seal.startswith(expected.seal):
            yield ChainFault(kind="other_end", event=number, row=None)
    if expected is not None and number < expected.number:
        yield ChainFault(kind="end_cut_off", event=number, row=None)
    yield from _row_faults(connection, told)


def _row_faults(connection: Connection, told: dict[str, tuple[int, str]]) -> Iterator[ChainFault]:
    for table in CHAINED:
        for row in connection.execute(select(table)).mappings():
            name = row_name(table, row)
            number, digest = told.pop(name, (None, None))
            if number is None:
                yield ChainFault(kind="row_added", event=None, row=name)
            elif digest != digest_of(table, row):
                yield ChainFault(kind="row_changed", event=number, row=name)
    tables = {table.name for table in CHAINED}
    for name, (number, _digest) in told.items():
        if name.split(" ")[0] in tables:
            yield ChainFault(kind="row_removed", event=number, row=name)


def row_name(table: Table, row: Row) -> str:
    """Return table and primary key of a row, for example `plan 018f…`."""
    return " ".join([table.name, *(str(row[column.name]) for column in table.primary_key.columns)])


def digest_of(table: Table, row: Row) -> str:
    """Return the hash of a row as it is stored, every column of it, by name."""
    columns = {column.name: _as_stored(column, row.get(column.name)) for column in table.c}
    return sha256(json.dumps(columns, sort_keys=True, ensure_ascii=False).encode()).hexdigest()


def _as_stored(column: Column[Any], value: object) -> object:
    """Return a value as the database gives it back: a whole number in a column of reals is a real."""
    return float(value) if isinstance(value, int) and isinstance(column.type, Float) else value


def count(connection: Connection) -> int:
    """Return the number of events."""
    return int(connection.execute(select(func.count()).select_from(EVENT)).scalar_one())


def _seal(key: bytes, before: str, event: Row) -> str:
    told = [before, *(event[name] for name in ("number", "action", "row", "digest", "at", "zone", "author"))]
    return hmac.new(key, json.dumps(told, ensure_ascii=False).encode(), sha256).hexdigest()

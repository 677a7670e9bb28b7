"""Rounds at the chair in the record: started, marked while they run, ended with what was done. Rows are only ever added.

A case has one open round at most. Its end and the log as it was confirmed are one transaction, and change nothing of the case.
"""

from collections.abc import Callable, Sequence
from typing import Any

from sqlalchemy import Connection, Engine, RowMapping, Select, select

from collum.records.cards import newest_entry
from collum.records.chain import add_closed, add_row
from collum.records.engine import reading, writing
from collum.records.payloads import opened_row
from collum.records.revisions import newest_of
from collum.records.rows import fitting
from collum.records.stored import (
    RecordedRound,
    Revision,
    RoundEnd,
    RoundEnded,
    RoundMark,
    RoundOpen,
    RoundStart,
    StaleRevision,
    Stamp,
    UnknownRecord,
)
from collum.records.tables import CASE_REVISION, ROUND, ROUND_END, ROUND_EVENT

Decide = Callable[[Revision, str], RoundStart]
Close = Callable[[RecordedRound], str]


class Rounds:
    """The rounds of one record."""

    def __init__(self, engine: Engine) -> None:
        self._engine = engine

    def start(self, case_id: str, revision: int, decide: Decide, stamp: Stamp) -> RecordedRound:
        """Start the round that `decide` allows on the newest revision of the case and the latest time written since its visit.

        Raises StaleRevision where `revision` is not the newest, RoundOpen, UnknownRecord and whatever `decide` raises; then
        nothing is written.
        """
        with writing(self._engine) as connection:
            newest = newest_of(connection, case_id)
            if newest.number != revision:
                raise StaleRevision(newest)
            if _open_of(connection, case_id) is not None:
                raise RoundOpen
            start = decide(newest, newest_entry(connection, newest))
            row = {name: getattr(start, name) for name in RoundStart.__slots__} | {"id": stamp.id, "revision_id": newest.id}
            add_closed(connection, ROUND, case_id, row | stamp.columns("started_at"), "round started", stamp.columns())
            return _one(connection, stamp.id)

    def open_of(self, case_id: str) -> RecordedRound | None:
        """Return the round of a case that has not ended, None where there is none. Raises UnknownRecord."""
        with reading(self._engine) as connection:
            newest_of(connection, case_id)
            return _open_of(connection, case_id)

    def open_cases(self) -> tuple[str, ...]:
        """Return the cases that have a round which has not ended."""
        joined = select(CASE_REVISION.c.case_id).join(ROUND, CASE_REVISION.c.id == ROUND.c.revision_id)
        query = joined.where(ROUND.c.id.not_in(select(ROUND_END.c.round_id))).distinct()
        with reading(self._engine) as connection:
            return tuple(connection.execute(query).scalars())

    def of_case(self, case_id: str) -> tuple[RecordedRound, ...]:
        """Return every round of a case, the newest first. Raises UnknownRecord."""
        with reading(self._engine) as connection:
            newest_of(connection, case_id)
            return rounds_of(connection, case_id)

    def mark(self, case_id: str, round_id: str, marks: Sequence[RoundMark], at: str) -> RecordedRound:
        """Add lines to the log of a round; one whose key stands there already is not written again.

        Raises RoundEnded where a line is new and the round has ended, UnknownRecord.
        """
        with writing(self._engine) as connection:
            found = _of_case(connection, case_id, round_id)
            known = {mark.key for mark in found.marks}
            new = list({mark.key: mark for mark in marks if mark.key not in known}.values())
            if new and found.end is not None:
                raise RoundEnded
            for mark in new:
                row = {name: getattr(mark, name) for name in RoundMark.__slots__} | {"round_id": round_id, "written_at": at}
                by = {"at": at, "zone": found.zone, "author": found.author}
                add_row(connection, ROUND_EVENT, row, "round marked", by)
            return _one(connection, round_id)

    def close(self, case_id: str, round_id: str, log: str, close: Close, stamp: Stamp) -> tuple[Revision, RecordedRound]:
        """End a round with its log and the state (JSON) that `close` makes of it, whatever revision the case is at by now.

        The same log sent again writes nothing. Raises RoundEnded where it ended otherwise, UnknownRecord and whatever `close`
        raises; then nothing is written.
        """
        with writing(self._engine) as connection:
            found = _of_case(connection, case_id, round_id)
            newest = newest_of(connection, case_id)
            if found.end is not None:
                if log != found.end.log:
                    raise RoundEnded
                return newest, found
            row = {"round_id": round_id, "revision_id": newest.id, "log": log, "state": close(found)}
            add_closed(connection, ROUND_END, case_id, row | stamp.columns("ended_at"), "round ended", stamp.columns())
            return newest, _one(connection, round_id)


def rounds_of(connection: Connection, case_id: str) -> tuple[RecordedRound, ...]:
    """Return every round of a case, the newest first."""
    query = _query().where(CASE_REVISION.c.case_id == case_id).order_by(ROUND.c.started_at.desc(), ROUND.c.id.desc())
    return tuple(_recorded(connection, row) for row in connection.execute(query).mappings().all())


def _query() -> Select[Any]:
    joined = select(ROUND, CASE_REVISION.c.case_id, CASE_REVISION.c.number.label("revision_number"))
    return joined.join(CASE_REVISION, CASE_REVISION.c.id == ROUND.c.revision_id)


def _open_of(connection: Connection, case_id: str) -> RecordedRound | None:
    ended = select(ROUND_END.c.round_id)
    query = _query().where(CASE_REVISION.c.case_id == case_id, ROUND.c.id.not_in(ended))
    row = connection.execute(query).mappings().first()
    return None if row is None else _recorded(connection, row)


def _of_case(connection: Connection, case_id: str, round_id: str) -> RecordedRound:
    found = _one(connection, round_id)
    if found.case_id != case_id:
        raise UnknownRecord("round")
    return found


def _one(connection: Connection, round_id: str) -> RecordedRound:
    row = connection.execute(_query().where(ROUND.c.id == round_id)).mappings().first()
    if row is None:
        raise UnknownRecord("round")
    return _recorded(connection, row)


def _recorded(connection: Connection, row: RowMapping) -> RecordedRound:
    case_id, round_id = row["case_id"], row["id"]
    opened = opened_row(connection, ROUND, case_id, fitting(row, ROUND))
    return RecordedRound(**opened, marks=_marks(connection, round_id), end=_end(connection, case_id, round_id))


def _marks(connection: Connection, round_id: str) -> tuple[RoundMark, ...]:
    columns = [ROUND_EVENT.c[name] for name in RoundMark.__slots__]
    query = select(*columns).where(ROUND_EVENT.c.round_id == round_id).order_by(ROUND_EVENT.c.at_s, ROUND_EVENT.c.key)
    return tuple(RoundMark(**fitting(row, ROUND_EVENT)) for row in connection.execute(query).mappings())


def _end(connection: Connection, case_id: str, round_id: str) -> RoundEnd | None:
    row = connection.execute(select(ROUND_END).where(ROUND_END.c.round_id == round_id)).mappings().first()
    if row is None:
        return None
    opened = opened_row(connection, ROUND_END, case_id, fitting(row, ROUND_END))
    return RoundEnd(**{name: opened[name] for name in RoundEnd.__slots__})

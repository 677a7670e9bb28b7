"""Issued cards and dose limits, inside the transaction of whoever asks. Rows are only ever added."""

from collections.abc import Callable

from sqlalchemy import ColumnElement, Connection, func, literal_column, select

from collum.records.chain import add_closed, add_row, row_is_sealed
from collum.records.payloads import opened_row, visits_opened_at
from collum.records.rows import fitting, is_moment
from collum.records.stored import Card, CardGround, DoseLimitEntry, Revision, Stamp, StorageError
from collum.records.tables import CARD, CASE_REVISION, DOSE_LIMIT, PLAN, ROUND, ROUND_END, ROUND_EVENT

Decide = Callable[[CardGround], str]

_ROW: ColumnElement[int] = literal_column("case_revision.rowid")  # grows with every save, whatever the clock says


def add_card(
    connection: Connection, ground: CardGround, tooth: int, decide: Decide, stamp: Stamp, *, heat: str | None = None
) -> Card:
    """Write the card that `decide` allows on what this very transaction sees, with the round it carries.

    Whatever `decide` raises, nothing is written.
    """
    decision = decide(ground)
    case_id, about = ground.newest.case_id, {"plan_id": ground.plan.id, "revision_id": ground.newest.id, "tooth": tooth}
    row = {"id": stamp.id, **about, **stamp.columns("issued_at"), "decision": decision, "heat": heat}
    stored = add_closed(connection, CARD, case_id, row, "card issued", stamp.columns())
    return Card(**opened_row(connection, CARD, case_id, stored))


def last_card(connection: Connection, case_id: str, plan_id: str, tooth: int) -> Card | None:
    """Return the card issued last for a tooth of a plan of a case, None where none was. Raises StorageError where changed."""
    asked = (CARD.c.plan_id == plan_id) & (CARD.c.tooth == tooth)
    query = select(CARD).where(asked).order_by(CARD.c.issued_at.desc(), CARD.c.id.desc()).limit(1)
    row = connection.execute(query).mappings().first()
    if row is None:
        return None
    if not row_is_sealed(connection, CARD, fitting(row, CARD)):
        raise StorageError("damaged")
    return Card(**opened_row(connection, CARD, case_id, row))


def cards_of(connection: Connection, case_id: str) -> tuple[Card, ...]:
    """Return every card of a case in the order they were issued."""
    query = select(CARD).join(CASE_REVISION, CASE_REVISION.c.id == CARD.c.revision_id).where(CASE_REVISION.c.case_id == case_id)
    rows = connection.execute(query.order_by(CARD.c.issued_at, CARD.c.id)).mappings().all()
    return tuple(Card(**opened_row(connection, CARD, case_id, fitting(row, CARD))) for row in rows)


def newest_entry(connection: Connection, newest: Revision) -> str:
    """Return the latest time written in the record since the last visit of a case was opened; empty where none was.

    What was written before plays no part: were a clock once ahead, a new visit is free of it.
    """
    opened = visits_opened_at(newest.document)
    if not opened:
        return ""
    of_case = (CASE_REVISION.c.case_id == newest.case_id) & (func.instr(CASE_REVISION.c.document, opened[-1]) > 0)
    since = select(func.min(_ROW)).where(of_case).scalar_subquery()
    rows = select(CASE_REVISION.c.id).where(since <= _ROW)
    times = (
        select(func.max(CASE_REVISION.c.saved_at)).where(since <= _ROW),
        select(func.max(PLAN.c.made_at)).where(PLAN.c.revision_id.in_(rows)),
        select(func.max(CARD.c.issued_at)).where(CARD.c.revision_id.in_(rows)),
        select(func.max(ROUND.c.started_at)).where(ROUND.c.revision_id.in_(rows)),
        select(func.max(ROUND_EVENT.c.written_at)).join(ROUND).where(ROUND.c.revision_id.in_(rows)),
        select(func.max(ROUND_END.c.ended_at)).where(ROUND_END.c.revision_id.in_(rows)),
    )
    newest_at = max(str(connection.execute(query).scalar() or "") for query in times)
    if not is_moment(newest_at):
        raise StorageError("damaged")
    return newest_at


def add_dose_limit(connection: Connection, entry: DoseLimitEntry) -> DoseLimitEntry:
    """Keep a limit as the practice entered it; where its id is there already, return what was entered under it."""
    known = connection.execute(select(DOSE_LIMIT).where(DOSE_LIMIT.c.id == entry.id)).mappings().first()
    if known is not None:
        return DoseLimitEntry(**fitting(known, DOSE_LIMIT))
    row = {column.name: getattr(entry, column.name) for column in DOSE_LIMIT.c}
    by = {"at": entry.entered_at, "zone": entry.zone, "author": entry.entered_by}
    add_row(connection, DOSE_LIMIT, row, "dose limit entered", by)
    return entry


def dose_limits(connection: Connection) -> tuple[DoseLimitEntry, ...]:
    """Return every limit entered, in the order of entry."""
    rows = connection.execute(select(DOSE_LIMIT).order_by(DOSE_LIMIT.c.entered_at, DOSE_LIMIT.c.id)).mappings()
    return tuple(DoseLimitEntry(**fitting(row, DOSE_LIMIT)) for row in rows)

"""Issued cards and dose limits, inside the transaction of whoever asks. Rows are only ever added."""

import json
from collections.abc import Callable

from sqlalchemy import ColumnElement, Connection, func, insert, literal_column, select

from collum.records.revisions import sha256_of
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
    card = Card(
        id=stamp.id,
        plan_id=ground.plan.id,
        revision_id=ground.newest.id,
        tooth=tooth,
        decision=decision,
        sha256=seal(decision, heat),
        issued_at=stamp.at,
        zone=stamp.zone,
        author=stamp.author,
        heat=heat,
    )
    connection.execute(insert(CARD).values(**{column.name: getattr(card, column.name) for column in CARD.c}))
    return card


def last_card(connection: Connection, plan_id: str, tooth: int) -> Card | None:
    """Return the card issued last for a tooth of a plan, None where none was. Raises StorageError where it was changed."""
    asked = (CARD.c.plan_id == plan_id) & (CARD.c.tooth == tooth)
    query = select(CARD).where(asked).order_by(CARD.c.issued_at.desc(), CARD.c.id.desc()).limit(1)
    row = connection.execute(query).mappings().first()
    if row is None:
        return None
    card = Card(**fitting(row, CARD))
    if seal(card.decision, card.heat) != card.sha256:
        raise StorageError("damaged")
    return card


def newest_entry(connection: Connection, newest: Revision) -> str:
    """Return the latest time written in the record since the last visit of a case was opened; empty where none was.

    What was written before plays no part: were a clock once ahead, a new visit is free of it.
    """
    opened = [visit["opened_at"] for visit in json.loads(newest.document).get("visits", ()) if "opened_at" in visit]
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
    connection.execute(insert(DOSE_LIMIT).values(**{c.name: getattr(entry, c.name) for c in DOSE_LIMIT.c}))
    return entry


def dose_limits(connection: Connection) -> tuple[DoseLimitEntry, ...]:
    """Return every limit entered, in the order of entry."""
    rows = connection.execute(select(DOSE_LIMIT).order_by(DOSE_LIMIT.c.entered_at, DOSE_LIMIT.c.id)).mappings()
    return tuple(DoseLimitEntry(**fitting(row, DOSE_LIMIT)) for row in rows)


def seal(decision: str, heat: str | None) -> str:
    """Return the hash over decision and round of a card."""
    return sha256_of(decision + (heat or ""))

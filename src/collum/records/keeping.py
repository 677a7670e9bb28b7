"""How long cases are kept: the rule of the practice, decisions to keep one case longer, and when each was written to last.

Rows are only ever added: the newest rule holds, and of a case the newest decision.
"""

from dataclasses import dataclass
from typing import Literal

from sqlalchemy import ColumnElement, Connection, Engine, func, literal_column, select

from collum.records.chain import add_closed, add_row
from collum.records.engine import reading, writing
from collum.records.payloads import opened_row
from collum.records.rows import fitting
from collum.records.stored import Stamp, UnknownRecord
from collum.records.tables import (
    ATTACHMENT,
    CARD,
    CASE,
    CASE_REVISION,
    DELETED_CASE,
    EVENT,
    KEEPING_RULE,
    KEPT_CASE,
    PLAN,
    ROUND,
)

# The event of a save that a restore made, by which nothing was treated or typed.
MADE_HISTORY: Literal["answers made history"] = "answers made history"
_ROW: ColumnElement[int] = literal_column("rowid")  # grows with every write, whatever the clock says
_LAST_RULE = select(KEEPING_RULE).order_by(_ROW.desc()).limit(1)


@dataclass(frozen=True, slots=True, kw_only=True)
class KeepingRule:
    """For how many years cases are kept after their last entry (0: no rule), as it was set."""

    id: str
    years: int
    set_at: str
    zone: str
    author: str


@dataclass(frozen=True, slots=True, kw_only=True)
class KeptCase:
    """A decision to keep a case until a day (ISO 8601), and why."""

    id: str
    case_id: str
    until: str
    reason: str
    sha256: str
    kept_at: str
    zone: str
    author: str


class Keeping:
    """How long the cases of one record are kept."""

    def __init__(self, engine: Engine) -> None:
        self._engine = engine

    def rule(self) -> KeepingRule | None:
        """Return the rule that was set last; None where none ever was."""
        with reading(self._engine) as connection:
            row = connection.execute(_LAST_RULE).mappings().first()
            return None if row is None else KeepingRule(**fitting(row, KEEPING_RULE))

    def set_rule(self, years: int, stamp: Stamp) -> None:
        """Set for how many years cases are kept; 0 ends the rule. What holds already is not written again."""
        with writing(self._engine) as connection:
            row = connection.execute(_LAST_RULE).mappings().first()
            if years != (0 if row is None else row["years"]):
                new = {"id": stamp.id, "years": years, **stamp.columns("set_at")}
                add_row(connection, KEEPING_RULE, new, "keeping set", stamp.columns())

    def keep(self, case_id: str, until: str, reason: str, stamp: Stamp) -> None:
        """Keep a case until a day at least. Raises UnknownRecord, CaseDeleted."""
        with writing(self._engine) as connection:
            if connection.execute(select(CASE.c.id).where(CASE.c.id == case_id)).first() is None:
                raise UnknownRecord("case")
            new = {"id": stamp.id, "case_id": case_id, "until": until, "reason": reason, **stamp.columns("kept_at")}
            add_closed(connection, KEPT_CASE, case_id, new, "case kept on", stamp.columns())

    def decisions(self) -> dict[str, KeptCase]:
        """Return the newest decision on each case that was not deleted, by case."""
        there = KEPT_CASE.c.case_id.not_in(select(DELETED_CASE.c.case_id))
        query = select(KEPT_CASE.c.case_id).where(there).distinct()
        with reading(self._engine) as connection:
            found = connection.execute(query).scalars().all()
            return {case_id: decisions_on(connection, case_id)[-1] for case_id in found}

    def last_entries(self) -> dict[str, str]:
        """Return when each case was last written to: a save, plan, card, round or file, but for saves that a restore made."""
        with reading(self._engine) as connection:
            return _last_entries(connection)


def decisions_on(connection: Connection, case_id: str) -> tuple[KeptCase, ...]:
    """Return every decision to keep a case longer, in the order they were made."""
    query = select(KEPT_CASE).where(KEPT_CASE.c.case_id == case_id).order_by(_ROW)
    rows = connection.execute(query).mappings().all()
    return tuple(KeptCase(**opened_row(connection, KEPT_CASE, case_id, fitting(row, KEPT_CASE))) for row in rows)


def _last_entries(connection: Connection) -> dict[str, str]:
    by_restore = select(EVENT.c.row).where(EVENT.c.action == MADE_HISTORY)
    case_id, revision = CASE_REVISION.c.case_id, CASE_REVISION.c.id
    queries = (
        select(case_id, func.max(CASE_REVISION.c.saved_at)).where((CASE_REVISION.name + " " + revision).not_in(by_restore)),
        select(case_id, func.max(PLAN.c.made_at)).join(PLAN, PLAN.c.revision_id == revision),
        select(case_id, func.max(CARD.c.issued_at)).join(CARD, CARD.c.revision_id == revision),
        select(case_id, func.max(ROUND.c.started_at)).join(ROUND, ROUND.c.revision_id == revision),
        select(ATTACHMENT.c.case_id, func.max(ATTACHMENT.c.added_at)),
    )
    found: dict[str, str] = {}
    for query in queries:
        of_case = query.selected_columns[0]
        for case, at in connection.execute(query.group_by(of_case)):
            found[case] = max(found.get(case, ""), at)
    return found

"""Cases, revisions and stored plans in SQLite. Every write is one transaction and names the revision it started from.

A write transaction begins with the write lock (BEGIN IMMEDIATE), so that two writers cannot both start from the same revision.
"""

import json
from pathlib import Path
from typing import Any

from sqlalchemy import Connection, Engine, RowMapping, Select, insert, select

from collum.records import cards
from collum.records.engine import close_engine, open_engine, reading, writing
from collum.records.migrate import migrate
from collum.records.revisions import fields, follow, made, newest_of, newest_of_each, numbered, revision_of, sha256_of
from collum.records.rounds import Rounds
from collum.records.stored import (
    Card,
    CardGround,
    DoseLimitEntry,
    PlanContent,
    PlanSummary,
    Revision,
    StaleRevision,
    Stamp,
    StorageError,
    StoredPlan,
    UnknownRecord,
)
from collum.records.tables import CASE, CASE_REVISION, PLAN

DATABASE = "practice.db"


class Store:
    """The record of one practice."""

    def __init__(self, engine: Engine) -> None:
        self._engine = engine
        self.rounds = Rounds(engine)

    @staticmethod
    def open(data_directory: Path) -> "Store":
        """Open the record of a data directory, made or raised to today's schema where needed. Raises StorageError."""
        engine = open_engine(data_directory / DATABASE)
        migrate(engine)
        return Store(engine)

    def close(self) -> None:
        """Fold the write-ahead log into the database and let go of the file."""
        close_engine(self._engine)

    def newest_revisions(self) -> tuple[Revision, ...]:
        """Return the newest revision of every case, in the order the cases were made."""
        with reading(self._engine) as connection:
            return tuple(revision_of(row) for row in connection.execute(newest_of_each()).mappings())

    def newest_revision(self, case_id: str) -> Revision:
        """Return the newest revision of a case. Raises UnknownRecord."""
        with reading(self._engine) as connection:
            return newest_of(connection, case_id)

    def revision(self, case_id: str, number: int) -> Revision:
        """Return one revision of a case. Raises UnknownRecord."""
        with reading(self._engine) as connection:
            return numbered(connection, case_id, number)

    def add_case(self, case_id: str, document: str, stamp: Stamp) -> Revision:
        """Store `document` (canonical JSON) as the first revision of a new case; of one that is there, return that revision."""
        first = made(case_id, 1, None, document, stamp)
        with writing(self._engine) as connection:
            if connection.execute(select(CASE.c.id).where(CASE.c.id == case_id)).first() is not None:
                return numbered(connection, case_id, 1)
            connection.execute(insert(CASE).values(id=case_id, created_at=stamp.at))
            connection.execute(insert(CASE_REVISION).values(**fields(first)))
        return first

    def add_revision(self, case_id: str, base: int, document: str, stamp: Stamp) -> Revision:
        """Store `document` as the revision after `base`. Raises StaleRevision where that is not the newest, UnknownRecord.

        Saving what the newest revision already holds writes nothing and returns it: also where the answer to the same
        save was lost on its way and the save is sent again.
        """
        with writing(self._engine) as connection:
            return follow(connection, case_id, base, document, stamp)

    def add_plan(self, case_id: str, number: int, content: PlanContent, stamp: Stamp) -> StoredPlan:
        """Keep a plan of a revision for ever. The same plan of the same revision is kept once. Raises UnknownRecord."""
        sha256 = sha256_of(content.result)
        with writing(self._engine) as connection:
            revision_id = numbered(connection, case_id, number).id
            same = (PLAN.c.revision_id == revision_id) & (PLAN.c.sha256 == sha256)
            plan_id = connection.execute(select(PLAN.c.id).where(same)).scalar()
            if plan_id is None:
                plan_id = stamp.id
                connection.execute(insert(PLAN).values(**_plan_row(revision_id, content, sha256, stamp)))
            return _plan_of(connection, plan_id)

    def plans_of(self, case_id: str) -> tuple[PlanSummary, ...]:
        """Return the stored plans of a case, of the newest revision first. Raises UnknownRecord."""
        newest_first = (CASE_REVISION.c.number.desc(), PLAN.c.id.desc())
        query = _plan_query(PlanSummary).where(CASE_REVISION.c.case_id == case_id).order_by(*newest_first)
        with reading(self._engine) as connection:
            newest_of(connection, case_id)
            return tuple(PlanSummary(**_told(row)) for row in connection.execute(query).mappings())

    def last_verdicts(self) -> dict[str, tuple[str, ...]]:
        """Return, for each case with a stored plan, the verdicts of the last one: one for each planned tooth."""
        query = select(CASE_REVISION.c.case_id, PLAN.c.verdicts).join(PLAN, PLAN.c.revision_id == CASE_REVISION.c.id)
        with reading(self._engine) as connection:
            rows = connection.execute(query.order_by(CASE_REVISION.c.number, PLAN.c.id)).mappings()
            return {row["case_id"]: tuple(json.loads(row["verdicts"])) for row in rows}

    def plan(self, plan_id: str) -> StoredPlan:
        """Return a stored plan as it was written. Raises UnknownRecord, and StorageError where its hash no longer fits."""
        with reading(self._engine) as connection:
            return _plan_of(connection, plan_id)

    def issue_card(
        self, plan_id: str, tooth: int, revision: int, decide: cards.Decide, stamp: Stamp, *, heat: str | None = None
    ) -> Card:
        """Write a card on what `decide` says of the newest state of the case, all in one transaction.

        `heat` is the round it carries (JSON), worked out from the plan, which never changes, before the transaction began.
        `revision` is what the asking side saw as the newest. Raises StaleRevision where it is not, UnknownRecord, and whatever
        `decide` raises; then nothing is written.
        """
        with writing(self._engine) as connection:
            ground = _ground(connection, plan_id)
            if ground.newest.number != revision:
                raise StaleRevision(ground.newest)
            return cards.add_card(connection, ground, tooth, decide, stamp, heat=heat)

    def issued_card(self, plan_id: str, tooth: int) -> tuple[Card | None, CardGround]:
        """Return the card issued last for a tooth of a plan, if any, and what it would rest on now. Raises UnknownRecord."""
        with reading(self._engine) as connection:
            ground = _ground(connection, plan_id)
            return cards.last_card(connection, plan_id, tooth), ground

    def newest_with_entry(self, case_id: str) -> tuple[Revision, str]:
        """Return the newest revision of a case, and the latest time written since its last visit was opened, else empty.

        Raises UnknownRecord.
        """
        with reading(self._engine) as connection:
            newest = newest_of(connection, case_id)
            return newest, cards.newest_entry(connection, newest)

    def add_dose_limit(self, entry: DoseLimitEntry) -> DoseLimitEntry:
        """Keep a dose limit as the practice entered it, beside all earlier ones; of an id that is there, return what is."""
        with writing(self._engine) as connection:
            return cards.add_dose_limit(connection, entry)

    def dose_limits(self) -> tuple[DoseLimitEntry, ...]:
        """Return every dose limit entered, in the order of entry."""
        with reading(self._engine) as connection:
            return cards.dose_limits(connection)


def _ground(connection: Connection, plan_id: str) -> CardGround:
    plan = _plan_of(connection, plan_id)
    newest = newest_of(connection, plan.case_id)
    return CardGround(
        newest=newest,
        planned=numbered(connection, plan.case_id, plan.revision_number),
        plan=plan,
        newest_entry=cards.newest_entry(connection, newest),
    )


def _plan_row(revision_id: str, content: PlanContent, sha256: str, stamp: Stamp) -> dict[str, object]:
    kept = {name: getattr(content, name) for name in PlanContent.__slots__}
    made = {"id": stamp.id, "made_at": stamp.at, "zone": stamp.zone, "author": stamp.author}
    return {**kept, **made, "revision_id": revision_id, "sha256": sha256, "verdicts": json.dumps(content.verdicts)}


def _plan_query(record: type[PlanSummary]) -> Select[Any]:
    names = [name for kind in reversed(record.__mro__) for name in getattr(kind, "__slots__", ())]
    named = {"case_id": CASE_REVISION.c.case_id, "revision_number": CASE_REVISION.c.number.label("revision_number")}
    columns = [named[name] if name in named else PLAN.c[name] for name in names]
    return select(*columns).join(CASE_REVISION, CASE_REVISION.c.id == PLAN.c.revision_id)


def _plan_of(connection: Connection, plan_id: str) -> StoredPlan:
    row = connection.execute(_plan_query(StoredPlan).where(PLAN.c.id == plan_id)).mappings().first()
    if row is None:
        raise UnknownRecord("plan")
    plan = StoredPlan(**_told(row))
    if sha256_of(plan.result) != plan.sha256:
        raise StorageError("damaged")
    return plan


def _told(row: RowMapping) -> dict[str, Any]:
    return {**row, "verdicts": tuple(json.loads(row["verdicts"]))}

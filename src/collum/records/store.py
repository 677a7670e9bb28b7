"""Cases, revisions and stored plans in SQLite. Every write is one transaction and names the revision it started from.

A write transaction begins with the write lock (BEGIN IMMEDIATE), so that two writers cannot both start from the same revision.
"""

import json
from collections.abc import Collection, Sequence
from pathlib import Path
from typing import Any

from sqlalchemy import Connection, Select, select

from collum.records import cards, chain, deletion, person
from collum.records.answers import Answers
from collum.records.attached import ArrivingFile
from collum.records.attachments import Attachments
from collum.records.chain import add_closed, add_row
from collum.records.engine import fold, reading, writing
from collum.records.keeping import MADE_HISTORY, Keeping
from collum.records.lock import WriterLock
from collum.records.opening import DATABASE, Opened, open_record, to_read
from collum.records.payloads import Row, opened_row
from collum.records.person import PersonRecord
from collum.records.revisions import add_revision, follow, made, newest_of, newest_of_each, numbered
from collum.records.rounds import Rounds
from collum.records.rows import fitting
from collum.records.salvage import reachable_cases
from collum.records.sealing import Keys
from collum.records.seals import seal_of
from collum.records.stored import (
    Card,
    CardGround,
    CaseDamage,
    ChainHead,
    DoseLimitEntry,
    PlanContent,
    PlanSummary,
    Revision,
    StaleRevision,
    Stamp,
    StorageError,
    StorageTrouble,
    StoredPlan,
    UnknownRecord,
)
from collum.records.tables import CARD, CASE, CASE_REVISION, PLAN


class Store:
    """The record of one practice."""

    def __init__(self, opened: Opened, data_directory: Path) -> None:
        self._opened = opened
        self._engine = opened.engine
        self.answers = Answers(opened.engine)
        self.rounds = Rounds(opened.engine)
        self.keeping = Keeping(opened.engine)
        self.attachments = Attachments(opened.engine, data_directory, sweep=opened.trouble is None)

    @staticmethod
    def open(
        data_directory: Path,
        keys: Keys | None = None,
        *,
        lock: WriterLock | None = None,
        at: str = "",
        lived: bool = False,
        new: bool = False,
    ) -> "Store":
        """Open the record of a data directory, made or raised to today's schema where needed; sealed where there are `keys`.

        `lock`: the right to write there; once it is gone nothing is confirmed any more. `at`: now, for the name of a copy.
        `lived`: a record is known to have been here. `new`: a new one is wanted even so. A damaged record opens to be read.
        Raises StorageError.
        """
        return Store(open_record(data_directory, keys, lock=lock, at=at, lived=lived, new=new), data_directory)

    @staticmethod
    def open_to_read(data_directory: Path, keys: Keys | None = None) -> "Store":
        """Open a record that another process writes to, as it is. Raises StorageError."""
        return Store(to_read(data_directory / DATABASE, keys, None, "locked"), data_directory)

    @property
    def trouble(self) -> StorageTrouble | None:
        """Why the record can only be read, None where it can be written to."""
        return self._opened.trouble

    @property
    def begun(self) -> bool:
        """Whether there was no record before."""
        return self._opened.begun

    def close(self) -> None:
        """Fold the write-ahead log into the database and let go of the file."""
        self.attachments.close()
        self._opened.close()

    def narrow(self, case_ids: Collection[str]) -> None:
        """Drop every key that opens what was recorded of any case but these, for good. Raises StorageError, CaseDeleted."""
        self.attachments.interrupt()
        with reading(self._engine) as connection:
            seal_of(connection).narrow(connection, case_ids)

    def newest_revisions(self) -> tuple[Revision | CaseDamage, ...]:
        """Return the newest revision of every case in the order the cases were made; of a damaged one, what of it is whole."""
        try:
            with reading(self._engine) as connection:
                return newest_of_each(connection)
        except StorageError as error:
            if error.trouble != "damaged":
                raise
        with reading(self._engine) as connection:
            return reachable_cases(connection)

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
        return self.add_cases([(case_id, document, stamp)])[0]

    def add_cases(self, cases: Sequence[tuple[str, str, Stamp]]) -> tuple[Revision, ...]:
        """Store new cases, each by its id, document and stamp, all of them or none; of one that is there, return the first
        revision as it is.
        """
        firsts = tuple(made(case_id, 1, None, document, stamp) for case_id, document, stamp in cases)
        with writing(self._engine) as connection:
            return tuple(_added(connection, first) for first in firsts)

    def add_revision(self, case_id: str, base: int, document: str, stamp: Stamp) -> Revision:
        """Store `document` as the revision after `base`. Raises StaleRevision where that is not the newest, UnknownRecord.

        Saving what the newest revision already holds writes nothing and returns it: also where the answer to the same
        save was lost on its way and the save is sent again.
        """
        with writing(self._engine) as connection:
            return follow(connection, case_id, base, document, stamp)

    def make_history(self, case_id: str, base: int, document: str, stamp: Stamp) -> Revision:
        """Store `document`, whose answers a restore made history, as `add_revision` does; nobody has written to the case."""
        with writing(self._engine) as connection:
            return follow(connection, case_id, base, document, stamp, action=MADE_HISTORY)

    def add_plan(self, case_id: str, number: int, content: PlanContent, stamp: Stamp) -> StoredPlan:
        """Keep a plan of a revision for ever. The same plan of the same revision is kept once. Raises UnknownRecord."""
        with writing(self._engine) as connection:
            revision_id = numbered(connection, case_id, number).id
            kept = connection.execute(select(PLAN.c.id).where(PLAN.c.revision_id == revision_id)).scalars().all()
            for plan in (_plan_of(connection, plan_id) for plan_id in kept):
                if plan.result == content.result:
                    return plan
            row = _plan_row(revision_id, content, stamp)
            add_closed(connection, PLAN, case_id, row, "plan stored", stamp.columns())
            return _plan_of(connection, stamp.id)

    def plans_of(self, case_id: str) -> tuple[PlanSummary, ...]:
        """Return the stored plans of a case, of the newest revision first. Raises UnknownRecord."""
        newest_first = (CASE_REVISION.c.number.desc(), PLAN.c.id.desc())
        query = _plan_query(PlanSummary).where(CASE_REVISION.c.case_id == case_id).order_by(*newest_first)
        with reading(self._engine) as connection:
            newest_of(connection, case_id)
            return tuple(PlanSummary(**_told(fitting(row, PLAN))) for row in connection.execute(query).mappings().all())

    def last_verdicts(self) -> dict[str, tuple[str, ...]]:
        """Return, for each case with a stored plan, the verdicts of the last one: one for each planned tooth."""
        query = select(CASE_REVISION.c.case_id, PLAN.c.verdicts).join(PLAN, PLAN.c.revision_id == CASE_REVISION.c.id)
        with reading(self._engine) as connection:
            rows = connection.execute(query.order_by(CASE_REVISION.c.number, PLAN.c.id)).mappings()
            return {row["case_id"]: words for row in rows if (words := _words(row["verdicts"])) is not None}

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
            return cards.last_card(connection, ground.plan.case_id, plan_id, tooth), ground

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

    def note(self, action: str, row: str, stamp: Stamp, *, key_file: str = chain.NO_ROW) -> None:
        """Append an event that changes no row: an unlock, a user, an export. Nothing where the record keeps no chain.

        `key_file`: the seal of the key file, where that was changed.
        """
        with writing(self._engine) as connection:
            chain.add_event(connection, action, row, key_file, stamp.columns())

    def note_key_file(self, seal: str, stamp: Stamp) -> None:
        """Append an event where the key file is not the one that the trail knows: its change was cut short, or was not ours."""
        with writing(self._engine) as connection:
            if chain.key_file_of(connection) != seal:
                chain.add_event(connection, "key file found changed", chain.RECORD, seal, stamp.columns())

    def everything_of(self, case_id: str) -> PersonRecord:
        """Return all that is recorded of a case but what its files hold. Raises UnknownRecord, CaseDeleted, StorageError."""
        query = select(PLAN.c.id).join(CASE_REVISION, CASE_REVISION.c.id == PLAN.c.revision_id)
        with reading(self._engine) as connection:
            kept = connection.execute(query.where(CASE_REVISION.c.case_id == case_id).order_by(PLAN.c.id)).scalars().all()
            return person.everything_of(connection, case_id, tuple(_plan_of(connection, plan_id) for plan_id in kept))

    def take_in(self, case_id: str, document: str, stamp: Stamp, files: Sequence[ArrivingFile]) -> Revision:
        """Store a new case with its files, all or nothing. Raises what `Attachments.arriving` raises."""
        first = made(case_id, 1, None, document, stamp)
        with self.attachments.arriving(case_id, files) as add_files, writing(self._engine) as connection:
            revision = _added(connection, first)
            add_files(connection)
            chain.add_event(connection, "person taken in", person.person_row(case_id), chain.NO_ROW, stamp.columns())
            return revision

    def delete_case(self, case_id: str, reason: deletion.DeletionReason, stamp: Stamp) -> deletion.DeletedCase:
        """Destroy the key of a case, in the log too, which is folded in at once, and its files. Raises UnknownRecord."""
        with writing(self._engine) as connection:
            deleted = deletion.delete_case(connection, case_id, reason, stamp)
        with reading(self._engine) as connection:
            seal_of(connection).no_case(case_id)
        self.attachments.discard_of(case_id)
        fold(self._engine, wholly=True)
        return deleted

    def deleted_cases(self) -> tuple[deletion.DeletedCase, ...]:
        """Return which cases were deleted, the oldest first."""
        with reading(self._engine) as connection:
            return deletion.deleted_cases(connection)

    def entry_of_plan(self, plan_id: str) -> str | None:
        """Return the entry of the trail by which a plan was stored; None where it was carried over, or there is no trail."""
        with reading(self._engine) as connection:
            return chain.entry_of(connection, "plan stored", f"{PLAN.name} {plan_id}")

    def entry_of_card(self, card_id: str) -> str | None:
        """Return the entry of the trail by which a card was issued; as `entry_of_plan`."""
        with reading(self._engine) as connection:
            return chain.entry_of(connection, "card issued", f"{CARD.name} {card_id}")

    def holds(self, head: ChainHead) -> bool:
        """Return whether the chain has an event of this number with this seal; True where the record keeps none."""
        with reading(self._engine) as connection:
            return chain.holds(connection, head)

    def dose_limits(self) -> tuple[DoseLimitEntry, ...]:
        """Return every dose limit entered, in the order of entry."""
        with reading(self._engine) as connection:
            return cards.dose_limits(connection)


def _added(connection: Connection, first: Revision) -> Revision:
    if connection.execute(select(CASE.c.id).where(CASE.c.id == first.case_id)).first() is not None:
        return numbered(connection, first.case_id, 1)
    add_row(connection, CASE, {"id": first.case_id, "created_at": first.saved_at}, "case made", first.by)
    seal_of(connection).new_case(connection, first.case_id)
    add_revision(connection, first)
    return first


def _ground(connection: Connection, plan_id: str) -> CardGround:
    plan = _plan_of(connection, plan_id)
    newest = newest_of(connection, plan.case_id)
    return CardGround(
        newest=newest,
        planned=numbered(connection, plan.case_id, plan.revision_number),
        plan=plan,
        newest_entry=cards.newest_entry(connection, newest),
    )


def _plan_row(revision_id: str, content: PlanContent, stamp: Stamp) -> dict[str, object]:
    kept = {name: getattr(content, name) for name in PlanContent.__slots__} | {"verdicts": json.dumps(content.verdicts)}
    return kept | stamp.columns("made_at") | {"id": stamp.id, "revision_id": revision_id}


def _plan_query(record: type[PlanSummary]) -> Select[Any]:
    names = [name for kind in reversed(record.__mro__) for name in getattr(kind, "__slots__", ())]
    named = {"case_id": CASE_REVISION.c.case_id, "revision_number": CASE_REVISION.c.number.label("revision_number")}
    columns = [named[name] if name in named else PLAN.c[name] for name in names]
    return select(*columns).join(CASE_REVISION, CASE_REVISION.c.id == PLAN.c.revision_id)


def _plan_of(connection: Connection, plan_id: str) -> StoredPlan:
    row = connection.execute(_plan_query(StoredPlan).where(PLAN.c.id == plan_id)).mappings().first()
    if row is None:
        raise UnknownRecord("plan")
    return StoredPlan(**_told(opened_row(connection, PLAN, row["case_id"], fitting(row, PLAN))))


def _told(row: Row) -> dict[str, Any]:
    verdicts = _words(row["verdicts"])
    if verdicts is None:
        raise StorageError("damaged")
    return {**row, "verdicts": verdicts}


def _words(verdicts: str) -> tuple[str, ...] | None:
    """Return the words of a list in JSON, None where it is none any more."""
    try:
        found = json.loads(verdicts)
    except ValueError:
        return None
    return tuple(found) if isinstance(found, list) and all(isinstance(word, str) for word in found) else None

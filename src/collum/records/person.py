"""Everything that the record holds on one case, read as of one moment, in clear."""

from collections.abc import Iterator
from dataclasses import dataclass
from typing import Any

from sqlalchemy import Connection, select

from collum.records.answers import StoredAnswer, answers_to
from collum.records.cards import cards_of
from collum.records.keeping import KeptCase, decisions_on
from collum.records.revisions import newest_of, revisions_of
from collum.records.rounds import rounds_of
from collum.records.stored import Card, RecordedRound, Revision, StoredPlan
from collum.records.tables import (
    ATTACHMENT,
    ATTACHMENT_REMOVED,
    CARD,
    CASE,
    CASE_REVISION,
    EVENT,
    KEPT_CASE,
    PLAN,
    PLAN_ANSWER,
    ROUND,
    ROUND_END,
    ROUND_EVENT,
)


@dataclass(frozen=True, slots=True, kw_only=True)
class PersonRecord:
    """All revisions, plans with their answers, cards and rounds of a case, decisions to keep it, and the events about them.

    Each is as it was written.
    """

    revisions: tuple[Revision, ...]
    plans: tuple[StoredPlan, ...]
    answers: tuple[StoredAnswer, ...]
    cards: tuple[Card, ...]
    rounds: tuple[RecordedRound, ...]
    kept: tuple[KeptCase, ...]
    events: tuple[dict[str, Any], ...]


def person_row(case_id: str) -> str:
    """Return what the trail calls a person where an event is about no row: given out, taken in."""
    return f"person {case_id}"


def everything_of(connection: Connection, case_id: str, plans: tuple[StoredPlan, ...]) -> PersonRecord:
    """Return what is recorded of a case. Raises UnknownRecord, DamagedCase, CaseDeleted, StorageError."""
    newest_of(connection, case_id)
    revisions, cards = revisions_of(connection, case_id), cards_of(connection, case_id)
    answers = answers_to(connection, plans)
    rounds, kept = rounds_of(connection, case_id), decisions_on(connection, case_id)
    attached = select(ATTACHMENT.c.id).where(ATTACHMENT.c.case_id == case_id)
    ids = {
        CASE.name: {case_id},
        CASE_REVISION.name: {revision.id for revision in revisions},
        PLAN.name: {plan.id for plan in plans},
        PLAN_ANSWER.name: {answer.id for answer in answers},
        CARD.name: {card.id for card in cards},
        KEPT_CASE.name: {decision.id for decision in kept},
        ATTACHMENT.name: set(connection.execute(attached).scalars()),
    }
    of_rounds = {one.id for one in rounds}
    ids |= {ATTACHMENT_REMOVED.name: ids[ATTACHMENT.name], person_row(case_id).split(" ")[0]: {case_id}}
    ids |= {table.name: of_rounds for table in (ROUND, ROUND_EVENT, ROUND_END)}
    events = tuple(_events(connection, ids))
    return PersonRecord(revisions=revisions, plans=plans, answers=answers, cards=cards, rounds=rounds, kept=kept, events=events)


def _events(connection: Connection, ids: dict[str, set[str]]) -> Iterator[dict[str, Any]]:
    for event in connection.execute(select(EVENT).order_by(EVENT.c.number)).mappings():
        table, _, key = event["row"].partition(" ")
        if key.split(" ")[0] in ids.get(table, ()):
            yield dict(event)

"""Cards and dose limits in the record: written in one transaction with their ground, added to, never changed."""

import json
from contextlib import closing
from dataclasses import replace
from pathlib import Path

import pytest
from sqlalchemy import text
from sqlalchemy.exc import IntegrityError

from collum.records import DATABASE, CardGround, DoseLimitEntry, StaleRevision, StorageError, Store, UnknownRecord
from collum.records.engine import writing
from tests.records.making import document, identity, plan_content, stamp
from tests.records.opening import raw

CASE_ID = identity(100)
CLEARED = json.dumps({"cleared": True})


def filled(store: Store) -> str:
    store.add_case(CASE_ID, document("one"), stamp(1))
    plan_id = store.add_plan(CASE_ID, 1, plan_content(), stamp(2)).id
    store.add_revision(CASE_ID, 1, document("two"), stamp(3))
    return plan_id


def limit(number: int, mg_per_kg: float) -> DoseLimitEntry:
    return DoseLimitEntry(
        id=identity(number),
        agent="lidocaine",
        mg_per_kg=mg_per_kg,
        most_mg=300,
        source="local rule",
        entered_by="DN",
        entered_at=stamp(number).at,
        zone="Europe/Vienna",
    )


def test_the_decision_sees_the_newest_revision_the_plan_and_the_latest_time(store: Store) -> None:
    plan_id = filled(store)
    seen: list[CardGround] = []

    def decide(ground: CardGround) -> str:
        seen.append(ground)
        return CLEARED

    card = store.issue_card(plan_id, 0, 2, decide, stamp(9))
    (ground,) = seen
    assert (ground.newest.number, ground.planned.number, ground.plan.id) == (2, 1, plan_id)
    assert ground.newest_entry == ""  # no visit was opened in this case
    assert (card.plan_id, card.revision_id, card.issued_at) == (plan_id, ground.newest.id, stamp(9).at)
    assert store.issued_card(plan_id, 0)[0] == card


def test_nothing_is_written_where_the_decision_refuses(store: Store) -> None:
    plan_id = filled(store)

    def refuse(_ground: CardGround) -> str:
        raise PermissionError

    with pytest.raises(PermissionError):
        store.issue_card(plan_id, 0, 2, refuse, stamp(9))
    assert store.issued_card(plan_id, 0)[0] is None


@pytest.mark.parametrize("revision", [0, 1, 3])
def test_a_card_names_the_newest_revision_or_is_refused_undecided(store: Store, revision: int) -> None:
    plan_id = filled(store)
    with pytest.raises(StaleRevision) as stale:
        store.issue_card(plan_id, 0, revision, lambda _ground: pytest.fail("decided"), stamp(9))
    assert stale.value.newest.number == 2


@pytest.mark.parametrize("decision", ['{"cleared": false}', "{}", "{", '{"cleared": "yes"}'])
def test_the_database_takes_no_card_that_is_not_cleared(store: Store, decision: str) -> None:
    plan_id = filled(store)
    with pytest.raises(Exception, match="CHECK|Expecting"):
        store.issue_card(plan_id, 0, 2, lambda _ground: decision, stamp(9))
    assert store.issued_card(plan_id, 0)[0] is None


def test_the_last_card_of_a_tooth_is_the_one_that_counts(store: Store) -> None:
    plan_id = filled(store)
    first = store.issue_card(plan_id, 0, 2, lambda _ground: CLEARED, stamp(9))
    second = store.issue_card(plan_id, 0, 2, lambda _ground: CLEARED, stamp(10))
    assert store.issued_card(plan_id, 0)[0] == second != first
    assert store.issued_card(plan_id, 1)[0] is None


def test_the_round_of_a_card_comes_back_as_it_was_and_a_change_of_it_is_damage(store: Store, folder: Path) -> None:
    plan_id = filled(store)
    heat = json.dumps({"round": None})
    store.issue_card(plan_id, 0, 2, lambda _ground: CLEARED, stamp(9), heat=heat)
    card = store.issued_card(plan_id, 0)[0]
    assert card is not None and card.heat == heat
    with closing(raw(folder / DATABASE)) as connection, connection:
        connection.executescript("DROP TRIGGER card_refuses_update; UPDATE card SET heat = '{}'")
    with pytest.raises(StorageError) as trouble:
        store.issued_card(plan_id, 0)
    assert trouble.value.trouble == "damaged"


def test_a_card_of_an_unknown_plan_is_unknown(store: Store) -> None:
    with pytest.raises(UnknownRecord):
        store.issue_card(identity(77), 0, 1, lambda _ground: CLEARED, stamp(9))
    with pytest.raises(UnknownRecord):
        store.issued_card(identity(77), 0)


def visited(*opened_at: str) -> str:
    return json.dumps({"visits": [{"opened_at": moment} for moment in opened_at]})


def test_the_latest_time_is_that_of_what_was_written_since_the_last_visit_was_opened(store: Store) -> None:
    store.add_case(CASE_ID, visited(), replace(stamp(50), at="2099-01-01T00:00:00Z"))  # a clock that was ahead
    assert store.newest_with_entry(CASE_ID)[1] == ""
    store.add_revision(CASE_ID, 1, visited("2026-05-01T08:00:00Z"), stamp(3))
    assert store.newest_with_entry(CASE_ID)[1] == stamp(3).at
    store.add_case(identity(200), document("another case"), stamp(4))
    assert store.newest_with_entry(CASE_ID)[1] == stamp(4).at
    plan_id = store.add_plan(CASE_ID, 2, plan_content(), stamp(5)).id
    assert store.newest_with_entry(CASE_ID)[1] == stamp(5).at
    store.issue_card(plan_id, 0, 2, lambda _ground: CLEARED, stamp(6))
    newest, entry = store.newest_with_entry(CASE_ID)
    assert (newest.number, entry) == (2, stamp(6).at)
    store.add_revision(CASE_ID, 2, visited("2026-05-01T08:00:00Z", "2026-05-01T09:00:00Z"), stamp(2))
    assert store.newest_with_entry(CASE_ID)[1] == stamp(2).at


def test_dose_limits_stay_in_the_order_they_were_entered(store: Store) -> None:
    for number, mg_per_kg in ((1, 4.0), (2, 5.0), (3, 4.5)):
        store.add_dose_limit(limit(number, mg_per_kg))
    assert [entry.mg_per_kg for entry in store.dose_limits()] == [4.0, 5.0, 4.5]


@pytest.mark.parametrize("table", ["card", "dose_limit"])
@pytest.mark.parametrize("change", ["UPDATE {} SET zone = 'x'", "DELETE FROM {}", "INSERT OR REPLACE INTO {} SELECT * FROM {}"])
def test_nothing_kept_can_be_changed_removed_or_replaced(store: Store, table: str, change: str) -> None:
    plan_id = filled(store)
    store.issue_card(plan_id, 0, 2, lambda _ground: CLEARED, stamp(9))
    store.add_dose_limit(limit(20, 4.0))
    with pytest.raises(IntegrityError, match="append-only"), writing(store._engine) as connection:
        connection.execute(text(change.format(table, table)))

"""The record's promises, one table for each use: fresh, repeated, stale, unknown; and what the database refuses by itself."""

import hashlib
from concurrent.futures import ThreadPoolExecutor
from contextlib import closing
from itertools import count
from pathlib import Path

import pytest
from hypothesis import given
from hypothesis import strategies as st
from sqlalchemy import event, text
from sqlalchemy.exc import IntegrityError

from collum.records import DATABASE, StaleRevision, StorageError, Store, UnknownRecord
from collum.records.engine import writing
from tests.records.making import document, identity, plan_content, stamp
from tests.records.opening import raw

CASE_ID = identity(100)


def revision_count(folder: Path) -> int:
    with closing(raw(folder / DATABASE)) as connection, connection:
        return int(connection.execute("SELECT count(*) FROM case_revision").fetchone()[0])


def test_a_new_case_has_one_revision_without_a_parent(store: Store) -> None:
    first = store.add_case(CASE_ID, document("one"), stamp(1))
    assert store.newest_revision(CASE_ID) == first == store.revision(CASE_ID, 1)
    assert (first.number, first.parent_id, first.zone, first.author) == (1, None, "Europe/Vienna", "bench")
    assert first.sha256 == hashlib.sha256(document("one").encode()).hexdigest()


def test_each_save_follows_the_one_it_names(store: Store) -> None:
    store.add_case(CASE_ID, document("one"), stamp(1))
    second = store.add_revision(CASE_ID, 1, document("two"), stamp(2))
    assert (second.number, second.parent_id) == (2, identity(1))
    assert store.newest_revision(CASE_ID).document == document("two")
    assert store.revision(CASE_ID, 1).document == document("one")


def test_a_stale_save_writes_nothing_and_hands_over_the_newer_revision(store: Store, folder: Path) -> None:
    store.add_case(CASE_ID, document("one"), stamp(1))
    second = store.add_revision(CASE_ID, 1, document("two"), stamp(2))
    with pytest.raises(StaleRevision) as stale:
        store.add_revision(CASE_ID, 1, document("three"), stamp(3))
    assert (stale.value.newest, stale.value.taken_as) == (second, None)
    assert revision_count(folder) == 2


def test_a_save_sent_again_after_its_answer_was_lost_is_answered_alike(store: Store, folder: Path) -> None:
    store.add_case(CASE_ID, document("one"), stamp(1))
    second = store.add_revision(CASE_ID, 1, document("two"), stamp(2))
    assert store.add_revision(CASE_ID, 1, document("two"), stamp(3)) == second
    assert store.add_revision(CASE_ID, 2, document("two"), stamp(4)) == second
    assert revision_count(folder) == 2


def test_a_save_sent_again_after_others_followed_it_learns_what_it_had_become(store: Store, folder: Path) -> None:
    store.add_case(CASE_ID, document("one"), stamp(1))
    store.add_revision(CASE_ID, 1, document("two"), stamp(2))
    third = store.add_revision(CASE_ID, 2, document("three"), stamp(3))
    with pytest.raises(StaleRevision) as stale:
        store.add_revision(CASE_ID, 1, document("two"), stamp(4))
    assert (stale.value.newest, stale.value.taken_as) == (third, 2)
    assert revision_count(folder) == 3


def test_the_same_content_from_a_revision_further_back_is_stale(store: Store) -> None:
    store.add_case(CASE_ID, document("one"), stamp(1))
    store.add_revision(CASE_ID, 1, document("two"), stamp(2))
    store.add_revision(CASE_ID, 2, document("three"), stamp(3))
    with pytest.raises(StaleRevision):
        store.add_revision(CASE_ID, 1, document("three"), stamp(4))


def test_of_many_saves_at_once_from_one_revision_one_is_kept(store: Store) -> None:
    store.add_case(CASE_ID, document("one"), stamp(1))

    def save(number: int) -> bool:
        try:
            store.add_revision(CASE_ID, 1, document(f"writer {number}"), stamp(number))
        except StaleRevision:
            return False
        return True

    with ThreadPoolExecutor(8) as pool:
        kept = list(pool.map(save, range(10, 26)))
    assert kept.count(True) == 1
    assert store.newest_revision(CASE_ID).document == document(f"writer {10 + kept.index(True)}")


def test_returning_to_an_earlier_content_is_a_new_revision(store: Store) -> None:
    store.add_case(CASE_ID, document("one"), stamp(1))
    store.add_revision(CASE_ID, 1, document("two"), stamp(2))
    assert store.add_revision(CASE_ID, 2, document("one"), stamp(3)).number == 3


@pytest.mark.parametrize("base", [-1, 0, 2])
def test_a_base_that_never_was_is_stale(store: Store, base: int) -> None:
    store.add_case(CASE_ID, document("one"), stamp(1))
    with pytest.raises(StaleRevision):
        store.add_revision(CASE_ID, base, document("two"), stamp(3))


def test_what_is_unknown_is_said_by_kind(store: Store) -> None:
    store.add_case(CASE_ID, document("one"), stamp(1))
    asked = {
        "case": lambda: store.newest_revision(identity(9)),
        "revision": lambda: store.add_plan(CASE_ID, 9, plan_content(), stamp(5)),
        "plan": lambda: store.plan(identity(9)),
    }
    for kind, ask in asked.items():
        with pytest.raises(UnknownRecord) as missing:
            ask()
        assert missing.value.kind == kind
    with pytest.raises(UnknownRecord):
        store.plans_of(identity(9))


def test_a_stored_plan_comes_back_byte_for_byte(store: Store) -> None:
    store.add_case(CASE_ID, document("one"), stamp(1))
    content = plan_content()
    stored = store.add_plan(CASE_ID, 1, content, stamp(5))
    again = store.plan(stored.id)
    assert again == stored
    assert (again.result, again.constants) == (content.result, content.constants)
    assert (again.case_id, again.revision_number, again.draws, again.seed) == (CASE_ID, 1, 10_000, 7)


def test_the_same_plan_is_kept_once_and_another_beside_it(store: Store) -> None:
    store.add_case(CASE_ID, document("one"), stamp(1))
    first = store.add_plan(CASE_ID, 1, plan_content("a"), stamp(5))
    assert store.add_plan(CASE_ID, 1, plan_content("a"), stamp(6)).id == first.id
    store.add_plan(CASE_ID, 1, plan_content("b"), stamp(7))
    store.add_revision(CASE_ID, 1, document("two"), stamp(8))
    store.add_plan(CASE_ID, 2, plan_content("a"), stamp(3))
    assert [plan.id for plan in store.plans_of(CASE_ID)] == [identity(3), identity(7), identity(5)]


def test_the_last_verdicts_are_those_of_the_newest_plan_of_each_case(store: Store) -> None:
    store.add_case(CASE_ID, document("one"), stamp(1))
    store.add_case(identity(200), document("one"), stamp(2))
    assert store.last_verdicts() == {}
    store.add_plan(CASE_ID, 1, plan_content("a", verdicts=("kept",)), stamp(5))
    store.add_revision(CASE_ID, 1, document("two"), stamp(6))
    store.add_plan(CASE_ID, 2, plan_content("b", verdicts=("short", "kept")), stamp(4))
    assert store.last_verdicts() == {CASE_ID: ("short", "kept")}


def test_the_list_holds_the_newest_revision_of_each_case_in_few_statements(store: Store) -> None:
    for case in range(30):
        store.add_case(identity(1000 + case), document("one"), stamp(2000 + case))
        store.add_revision(identity(1000 + case), 1, document(f"two {case}"), stamp(3000 + case))
    statements: list[str] = []
    event.listen(store._engine, "before_cursor_execute", lambda *args: statements.append(args[2]))
    listed = store.newest_revisions()
    assert [r.number for r in listed] == [2] * 30
    assert {r.document for r in listed} == {document(f"two {case}") for case in range(30)}
    assert len([s for s in statements if not s.startswith(("BEGIN", "COMMIT"))]) <= 3


@pytest.mark.parametrize("table", ["case_revision", "plan"])
@pytest.mark.parametrize(
    "change", ["UPDATE {} SET author = 'x'", "DELETE FROM {}", "INSERT OR REPLACE INTO {} SELECT * FROM {}"]
)
def test_nothing_kept_can_be_changed_removed_or_replaced(store: Store, table: str, change: str) -> None:
    store.add_case(CASE_ID, document("one"), stamp(1))
    store.add_plan(CASE_ID, 1, plan_content(), stamp(5))
    with pytest.raises(IntegrityError, match="append-only"), writing(store._engine) as connection:
        connection.execute(text(change.format(table, table)))
    assert store.revision(CASE_ID, 1).author == "bench"


@pytest.mark.parametrize(
    "broken",
    [
        {"number": "0"},
        {"number": "2"},
        {"case_id": "'" + identity(55) + "'"},
        {"document": "'{'"},
        {"sha256": "'short'"},
        {"saved_at": "'yesterday'"},
        {"author": "''"},
        {"number": "'one'"},
    ],
    ids=lambda broken: "-".join(broken),
)
def test_the_schema_itself_refuses_a_broken_row(store: Store, broken: dict[str, str]) -> None:
    store.add_case(CASE_ID, document("one"), stamp(1))
    row = {
        "id": f"'{identity(70)}'",
        "case_id": f"'{identity(60)}'",
        "number": "1",
        "parent_id": "NULL",
        "document": "'{}'",
        "sha256": f"'{'0' * 64}'",
        "saved_at": "'2026-05-01T08:00:00.000Z'",
        "zone": "'UTC'",
        "author": "'bench'",
    }
    with writing(store._engine) as connection:
        connection.execute(text(f"INSERT INTO \"case\" VALUES ('{identity(60)}', '2026-05-01T08:00:00.000Z')"))
    insertion = "INSERT INTO case_revision ({}) VALUES ({})"
    with pytest.raises(IntegrityError), writing(store._engine) as connection:
        bad = row | broken
        connection.execute(text(insertion.format(", ".join(bad), ", ".join(bad.values()))))
    with writing(store._engine) as connection:
        connection.execute(text(insertion.format(", ".join(row), ", ".join(row.values()))))


def test_the_engine_keeps_its_promises_on_every_connection(store: Store) -> None:
    wanted = {"foreign_keys": 1, "journal_mode": "wal", "synchronous": 2, "temp_store": 2, "recursive_triggers": 1}
    with store._engine.connect() as one, store._engine.connect() as two:
        for connection in (one, two):
            found = {name: connection.exec_driver_sql(f"PRAGMA {name}").scalar() for name in wanted}
            assert found == wanted


def test_tampering_with_a_stored_plan_is_noticed(store: Store, folder: Path) -> None:
    store.add_case(CASE_ID, document("one"), stamp(1))
    store.add_plan(CASE_ID, 1, plan_content(), stamp(5))
    with closing(raw(folder / DATABASE)) as connection, connection:
        connection.executescript("DROP TRIGGER plan_refuses_update; UPDATE plan SET result = '{}'")
    with pytest.raises(StorageError) as trouble:
        store.plan(identity(5))
    assert trouble.value.trouble == "damaged"


def test_any_text_comes_back_as_it_was(tmp_path: Path) -> None:
    """On one record of one kind, with a new case for each example."""
    numbers = count(1)
    with closing(Store.open(tmp_path)) as store:

        @given(st.lists(st.text(st.characters(codec="utf-8", exclude_characters="\x00"), max_size=20), min_size=1, max_size=6))
        def comes_back(notes: list[str]) -> None:
            case_id = identity(10_000 + next(numbers))
            base = store.add_case(case_id, document(notes[0]), stamp(next(numbers)))
            for note in notes[1:]:
                base = store.add_revision(case_id, base.number, document(note), stamp(next(numbers)))
            assert store.newest_revision(case_id).document == document(notes[-1])

        comes_back()

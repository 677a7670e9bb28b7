"""Answers beside stored plans: written once, checked at each read, in a record of the schema before them as in a new one."""

from collections.abc import Callable
from contextlib import closing
from pathlib import Path

import pytest
from sqlalchemy import text
from sqlalchemy.exc import IntegrityError

from collum.records import DATABASE, StorageError, Store, StoredPlan
from collum.records.engine import make_database, open_engine, writing
from collum.records.migrate import migrate
from tests.records.making import document, identity, plan_content, stamp
from tests.records.opening import KEYS, OpenStore, copied, inspected, raw

CASE_ID = identity(100)
ANSWER = '{"text": "ä"}'
BEFORE = "0012"


def filled(store: Store, number: int = 1) -> StoredPlan:
    """Store a case with a plan; return the plan."""
    store.add_case(CASE_ID, document("one"), stamp(1))
    return store.add_plan(CASE_ID, 1, plan_content(str(number)), stamp(number + 1))


def test_an_answer_comes_back_byte_for_byte_and_is_stored_once(store: Store, folder: Path) -> None:
    plan = filled(store)
    assert store.answers.of_plan(plan, "restoration") is None
    first = store.answers.add(plan, "restoration", "0.1.0", ANSWER, stamp(5))
    assert (first.document, first.program_version, first.plan_sha256) == (ANSWER, "0.1.0", plan.sha256)
    assert (first.made_at, first.author) == (stamp(5).at, "bench")
    assert store.answers.add(plan, "restoration", "9.9.9", '{"text": "other"}', stamp(6)) == first
    assert store.answers.of_plan(plan, "restoration") == first
    assert store.answers.of_plan(plan, "bridge") is None
    assert store.plan(plan.id) == plan
    assert store.everything_of(CASE_ID).answers == (first,)
    assert inspected(folder).counts["plan_answer"] == 1 and inspected(folder).faults == ()


@pytest.mark.parametrize(
    "change", ["UPDATE {} SET author = 'x'", "DELETE FROM {}", "INSERT OR REPLACE INTO {} SELECT * FROM {}"]
)
def test_nothing_stored_can_be_changed_removed_or_replaced(store: Store, change: str) -> None:
    plan = filled(store)
    store.answers.add(plan, "bridge", "0.1.0", ANSWER, stamp(5))
    with pytest.raises(IntegrityError, match="append-only"), writing(store._engine) as connection:
        connection.execute(text(change.format("plan_answer", "plan_answer")))


def _of_another_plan(store: Store) -> str:
    other = store.add_plan(CASE_ID, 1, plan_content("2"), stamp(9))
    return f"UPDATE plan_answer SET plan_id = '{other.id}'"


@pytest.mark.parametrize(
    "change",
    [
        lambda _: "UPDATE plan_answer SET document = '{}'",
        lambda _: "UPDATE plan_answer SET plan_sha256 = plan_sha256 || '0'",
        _of_another_plan,
    ],
    ids=["content", "hash of the plan", "plan"],
)
def test_a_row_that_was_changed_is_refused(store: Store, folder: Path, change: Callable[[Store], str]) -> None:
    plan = filled(store)
    store.answers.add(plan, "bridge", "0.1.0", ANSWER, stamp(5))
    statement = change(store)
    with closing(raw(folder / DATABASE)) as connection:
        connection.executescript(f"DROP TRIGGER plan_answer_refuses_update; {statement}")
    (about,) = {found.id for found in store.plans_of(CASE_ID)} & ({plan.id} if "plan_id" not in statement else {identity(9)})
    with pytest.raises(StorageError) as trouble:
        store.answers.of_plan(store.plan(about), "bridge")
    assert trouble.value.trouble == "damaged"


def test_another_version_written_into_a_sealed_row_is_refused(tmp_path: Path) -> None:
    store = Store.open(tmp_path, KEYS)
    plan = filled(store)
    store.answers.add(plan, "bridge", "0.1.0", ANSWER, stamp(5))
    with closing(raw(tmp_path / DATABASE)) as connection:
        connection.executescript("DROP TRIGGER plan_answer_refuses_update; UPDATE plan_answer SET program_version = '9'")
    with pytest.raises(StorageError):
        store.answers.of_plan(plan, "bridge")
    store.close()
    assert ("row_changed", "plan_answer") in {(fault.what, fault.table) for fault in inspected(tmp_path).faults}


def test_a_sealed_answer_shows_neither_itself_nor_the_hash_of_its_plan(tmp_path: Path) -> None:
    store = Store.open(tmp_path, KEYS)
    plan = filled(store)
    store.answers.add(plan, "bridge", "0.1.0", '{"note": "ZQX-7731"}', stamp(5))
    with closing(raw(tmp_path / DATABASE)) as connection:
        row = str(connection.execute("SELECT * FROM plan_answer").fetchone())
    store.close()
    assert "ZQX-7731" not in row and plan.sha256 not in row


def test_after_a_loss_of_power_an_answer_is_there_whole_or_not_at_all(
    store: Store, folder: Path, tmp_path: Path, open_store: OpenStore
) -> None:
    plan = filled(store)
    before = copied(folder, tmp_path / "before")
    kept = store.answers.add(plan, "bridge", "0.1.0", ANSWER, stamp(5))
    after = copied(folder, tmp_path / "after")
    for died, expected in ((before, None), (after, kept)):
        opened = open_store(died)
        assert opened.answers.of_plan(plan, "bridge") == expected
        assert opened.answers.add(plan, "bridge", "0.1.0", ANSWER, stamp(5)) == kept
        opened.close()


def _schema(connection: object) -> list[str]:
    names = "SELECT name, sql FROM sqlite_master WHERE sql IS NOT NULL ORDER BY name"
    return [str(row) for row in connection.execute(names).fetchall()]  # type: ignore[attr-defined]  # of either library


def test_a_record_of_the_schema_before_is_raised_with_its_rows_and_takes_answers(tmp_path: Path, open_store: OpenStore) -> None:
    folder = tmp_path / "practice"
    folder.mkdir()
    store = open_store(folder)
    plan = filled(store)
    store.close()
    with closing(raw(folder / DATABASE)) as connection:
        connection.executescript(f"DROP TABLE plan_answer; UPDATE alembic_version SET version_num = '{BEFORE}'")
        taken_back = _schema(connection)
    make_database(tmp_path / "fresh.db")
    engine = open_engine(tmp_path / "fresh.db")
    migrate(engine, BEFORE)
    engine.dispose()
    with closing(raw(tmp_path / "fresh.db")) as connection:
        assert _schema(connection) == taken_back
    to_read = Store.open_to_read(folder, KEYS if open_store is not Store.open else None)
    assert to_read.answers.of_plan(plan, "bridge") is None
    to_read.close()
    store = open_store(folder, at="2026-05-02T08:00:00Z")
    assert store.plan(plan.id) == plan
    kept = store.answers.add(plan, "bridge", "0.1.0", ANSWER, stamp(5))
    assert store.answers.of_plan(plan, "bridge") == kept
    store.close()
    assert inspected(folder).faults == ()

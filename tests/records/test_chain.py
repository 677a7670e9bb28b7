"""The chain of events finds a change, a removal, an addition, a swap, a cut end and an older copy, and names them."""

from collections.abc import Callable, Iterator
from pathlib import Path

import pytest
from sqlalchemy import Engine, text

from collum.records import DATABASE, Store
from collum.records.chain import count, faults, head
from collum.records.engine import open_engine, reading, writing
from collum.records.sealing import Keys
from collum.records.seals import Sealed, with_seal
from collum.records.stored import ChainHead
from tests.records.making import document, identity, plan_content, stamp

KEYS = Keys(bytes(range(32)))
CASE_ID = identity(100)
REVISION_1, REVISION_2, PLAN = identity(1), identity(2), identity(3)


@pytest.fixture
def engine(tmp_path: Path) -> Iterator[Engine]:
    """A sealed record with a case of two revisions and a plan: four events."""
    store = Store.open(tmp_path, KEYS)
    store.add_case(CASE_ID, document("one"), stamp(1))
    store.add_revision(CASE_ID, 1, document("two"), stamp(2))
    store.add_plan(CASE_ID, 2, plan_content(), stamp(3))
    store.close()
    opened = with_seal(open_engine(tmp_path / DATABASE, KEYS.database), Sealed(KEYS))
    yield opened
    opened.dispose()


def found(engine: Engine, expected: ChainHead | None = None) -> set[tuple[str, int | None, str | None]]:
    with reading(engine) as connection:
        return {(fault.kind, fault.event, fault.row) for fault in faults(connection, expected=expected)}


def edit(engine: Engine, *statements: str) -> None:
    """Edit as somebody who has the key of the database and can drop its triggers."""
    with writing(engine) as connection:
        for (trigger,) in connection.execute(text("SELECT name FROM sqlite_master WHERE type = 'trigger'")).all():
            connection.execute(text(f"DROP TRIGGER {trigger}"))
        connection.execute(text("PRAGMA defer_foreign_keys = ON"))
        for statement in statements:
            connection.execute(text(statement))


def test_an_untouched_record_has_no_fault_and_every_write_has_its_event(engine: Engine) -> None:
    assert found(engine) == set()
    with reading(engine) as connection:
        assert count(connection) == head(connection).number == 4
        told = connection.execute(text("SELECT action, author FROM event ORDER BY number")).all()
    assert [tuple(row) for row in told] == [
        ("case made", "bench"),
        ("case saved", "bench"),
        ("case saved", "bench"),
        ("plan stored", "bench"),
    ]


@pytest.mark.parametrize(
    ("change", "expected"),
    [
        (
            f"UPDATE case_revision SET author = 'x' WHERE id = '{REVISION_2}'",
            {("row_changed", 3, f"case_revision {REVISION_2}")},
        ),
        (f"DELETE FROM plan WHERE id = '{PLAN}'", {("row_removed", 4, f"plan {PLAN}")}),
        (
            f"INSERT INTO dose_limit VALUES ('{identity(9)}', 'a', 1, 1, 's', 'e', '2026-05-01T08:00:00Z', 'UTC')",
            {("row_added", None, f"dose_limit {identity(9)}")},
        ),
        (
            "UPDATE event SET author = 'x' WHERE number = 2",
            {("event_changed", 2, f"case_revision {REVISION_1}")},
        ),
        (
            "DELETE FROM event WHERE number = 3",
            {("event_missing", 3, None), ("row_added", None, f"case_revision {REVISION_2}")},
        ),
        (
            f"UPDATE case_revision SET document = (SELECT document FROM case_revision WHERE id = '{REVISION_1}'), sha256 = "
            f"(SELECT sha256 FROM case_revision WHERE id = '{REVISION_1}') WHERE id = '{REVISION_2}'",
            {("row_changed", 3, f"case_revision {REVISION_2}")},
        ),
    ],
    ids=["changed", "removed", "added", "event changed", "event removed", "swapped"],
)
def test_each_change_is_named(engine: Engine, change: str, expected: set[tuple[str, int | None, str | None]]) -> None:
    edit(engine, change)
    assert found(engine) == expected


def cut(engine: Engine) -> None:
    edit(engine, f"DELETE FROM plan WHERE id = '{PLAN}'", "DELETE FROM event WHERE number = 4")


@pytest.mark.parametrize(
    ("change", "kind"),
    [(cut, "end_cut_off"), (lambda engine: None, "other_end")],
)
def test_a_head_seen_elsewhere_tells_a_cut_end_and_another_copy(
    engine: Engine, change: Callable[[Engine], None], kind: str
) -> None:
    with reading(engine) as connection:
        seen = head(connection)
    if kind == "other_end":
        seen = ChainHead(number=seen.number, seal="1" * 64)
    change(engine)
    assert {fault[0] for fault in found(engine, seen)} == {kind}


def test_an_event_made_without_the_key_of_the_chain_is_found(engine: Engine) -> None:
    """Somebody with the database open, but not the data key, changes a row and makes hash and event anew."""
    edit(engine, "UPDATE event SET seal = lower(hex(randomblob(32))), author = 'x' WHERE number = 4")
    assert ("event_changed", 4, f"plan {PLAN}") in found(engine)

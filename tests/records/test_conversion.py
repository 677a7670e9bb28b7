"""A clear record becomes a sealed one with the same content, or stays as it was; never anything between."""

import os
from pathlib import Path

import pytest

from collum.records import DATABASE, RoundMark, RoundStart, StorageError, Store
from collum.records.conversion import STAGED, is_clear, seal_database
from collum.records.sealing import Keys
from tests.records.making import document, identity, plan_content, stamp

KEYS = Keys(bytes(range(32)))
CASE_ID, OTHER_ID = identity(100), identity(101)
NOTE = "ZQX-7731"


def filled(folder: Path) -> None:
    """A clear record: two cases, three revisions, a plan with an answer, a card, a round that ended and one that did not."""
    store = Store.open(folder)
    store.add_case(CASE_ID, document(NOTE), stamp(1))
    store.add_revision(CASE_ID, 1, document("two"), stamp(2))
    store.add_case(OTHER_ID, document("other"), stamp(3))
    plan = store.add_plan(CASE_ID, 2, plan_content(), stamp(4))
    store.answers.add(plan, "bridge", "0.1.0", f'{{"note": "{NOTE}"}}', stamp(8))
    store.issue_card(plan.id, 0, 2, lambda _ground: '{"cleared": true}', stamp(5), heat='{"a": 1}')
    start = RoundStart(
        tooth=36,
        visit_opened_at="2026-05-01T08:00:00Z",
        heat='{"b": 2}',
        first_stroke_at="2026-05-01T08:05:00Z",
        first_stroke_s=5,
    )
    for number in (6, 9):
        running = store.rounds.start(CASE_ID, 2, lambda *_: start, stamp(number))
        mark = RoundMark(key="1", kind="stroke", at_s=3, sector=4, lasted_s=None)
        store.rounds.mark(CASE_ID, running.id, [mark], "2026-05-01T08:06:00Z")
        if number == 6:
            store.rounds.close(CASE_ID, running.id, "[1]", lambda _found: "{}", stamp(7))
    store.close()


def content(folder: Path, keys: Keys | None) -> object:
    store = Store.open(folder, keys)
    try:
        plans = store.plans_of(CASE_ID)
        return (
            store.newest_revisions(),
            [store.revision(CASE_ID, number) for number in (1, 2)],
            [store.plan(plan.id) for plan in plans],
            [store.answers.of_plan(store.plan(plan.id), "bridge") for plan in plans],
            [store.issued_card(plan.id, 0)[0] for plan in plans],
            store.rounds.of_case(CASE_ID),
            store.last_verdicts(),
        )
    finally:
        store.close()


def test_a_sealed_record_holds_what_the_clear_one_held_and_shows_none_of_it(tmp_path: Path) -> None:
    filled(tmp_path)
    before = content(tmp_path, None)
    assert is_clear(tmp_path / DATABASE)
    seal_database(tmp_path / DATABASE, KEYS, stamp(50))
    assert not is_clear(tmp_path / DATABASE)
    assert content(tmp_path, KEYS) == before
    held = b"".join(file.read_bytes() for file in tmp_path.iterdir())
    assert NOTE.encode() not in held and b"case_revision" not in held
    assert {file.name for file in tmp_path.iterdir()} == {DATABASE, "practice.head"}


def test_without_its_key_a_sealed_record_does_not_open(tmp_path: Path) -> None:
    filled(tmp_path)
    seal_database(tmp_path / DATABASE, KEYS, stamp(50))
    for keys in (None, Keys(bytes(32))):
        with pytest.raises(StorageError) as told:
            Store.open(tmp_path, keys)
        assert told.value.trouble == "not_a_database"


def test_interrupted_before_the_switch_the_clear_record_is_as_it_was_and_the_next_try_succeeds(tmp_path: Path) -> None:
    filled(tmp_path)
    before = content(tmp_path, None)

    def killed() -> None:
        raise KeyboardInterrupt

    with pytest.raises(KeyboardInterrupt):
        seal_database(tmp_path / DATABASE, KEYS, stamp(50), before_switch=killed)
    assert (tmp_path / STAGED).exists()
    assert content(tmp_path, None) == before
    seal_database(tmp_path / DATABASE, KEYS, stamp(51))
    assert content(tmp_path, KEYS) == before
    assert not (tmp_path / STAGED).exists()


def test_a_damaged_clear_record_is_not_converted(tmp_path: Path) -> None:
    import sqlite3

    filled(tmp_path)
    with sqlite3.connect(tmp_path / DATABASE) as connection:
        connection.executescript(
            "DROP TRIGGER case_revision_refuses_update; UPDATE case_revision SET document = '{}' WHERE number = 1"
        )
    connection.close()
    with pytest.raises(StorageError) as told:
        seal_database(tmp_path / DATABASE, KEYS, stamp(50))
    assert told.value.trouble == "damaged"
    assert is_clear(tmp_path / DATABASE)
    assert os.listdir(tmp_path)

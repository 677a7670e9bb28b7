"""A revision that was changed behind the program's back is noticed wherever it is read."""

import sqlite3
from collections.abc import Callable
from contextlib import closing
from pathlib import Path

import pytest

from collum.records import DATABASE, CaseDamage, DamagedCase, Revision, StorageError, Store
from tests.records.making import document, identity, stamp

CASE_ID = identity(100)
READINGS: dict[str, Callable[[Store], object]] = {
    "opening the case": lambda store: store.newest_revision(CASE_ID),
    "opening an earlier revision": lambda store: store.revision(CASE_ID, 1),
    "saving after it": lambda store: store.add_revision(CASE_ID, 1, document("two"), stamp(2)),
}


@pytest.mark.parametrize("read", READINGS.values(), ids=READINGS.keys())
def test_a_changed_revision_is_damage(store: Store, folder: Path, read: Callable[[Store], object]) -> None:
    store.add_case(CASE_ID, document("one"), stamp(1))
    with closing(sqlite3.connect(folder / DATABASE)) as connection:
        connection.executescript("DROP TRIGGER case_revision_refuses_update; UPDATE case_revision SET document = '{\"a\": 1}'")
    with pytest.raises(StorageError) as trouble:
        read(store)
    assert trouble.value.trouble == "damaged"


def tampered(folder: Path, case_id: str, number: int) -> None:
    with closing(sqlite3.connect(folder / DATABASE)) as connection:
        connection.executescript(
            "DROP TRIGGER IF EXISTS case_revision_refuses_update; "
            f"UPDATE case_revision SET document = '{{}}' WHERE case_id = '{case_id}' AND number = {number}"
        )


def test_a_damaged_case_hides_no_other_and_says_what_of_it_is_whole(store: Store, folder: Path) -> None:
    for number in (100, 200, 300):
        store.add_case(identity(number), document("one"), stamp(number))
        store.add_revision(identity(number), 1, document("two"), stamp(number + 1))
        store.add_revision(identity(number), 2, document("three"), stamp(number + 2))
    for number in (1, 3):
        tampered(folder, identity(200), number)
    listed = {found.case_id: found for found in store.newest_revisions()}
    assert all(isinstance(listed[identity(number)], Revision) for number in (100, 300)) and len(listed) == 3
    damaged = listed[identity(200)]
    assert damaged == CaseDamage(case_id=identity(200), damaged=(1, 3), whole=(2,), last_whole=store.revision(identity(200), 2))
    with pytest.raises(DamagedCase) as opened:
        store.newest_revision(identity(200))
    assert opened.value.damage == damaged
    assert store.revision(identity(200), 2).document == document("two")


def test_a_case_that_lost_every_save_is_named(store: Store, folder: Path) -> None:
    store.add_case(CASE_ID, document("one"), stamp(1))
    with closing(sqlite3.connect(folder / DATABASE)) as connection:
        connection.executescript(
            f"INSERT INTO \"case\" VALUES ('{identity(200)}', '2026-05-01T08:00:00Z'); PRAGMA wal_checkpoint"
        )
    assert [found.case_id for found in store.newest_revisions()] == [identity(200), CASE_ID]
    assert CaseDamage(case_id=identity(200), damaged=(), whole=(), last_whole=None) in store.newest_revisions()

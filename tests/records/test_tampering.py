"""A revision that was changed behind the program's back is noticed wherever it is read."""

import sqlite3
from collections.abc import Callable
from contextlib import closing
from pathlib import Path

import pytest

from collum.records import DATABASE, StorageError, Store
from tests.records.making import document, identity, stamp

CASE_ID = identity(100)
READINGS: dict[str, Callable[[Store], object]] = {
    "opening the case": lambda store: store.newest_revision(CASE_ID),
    "opening an earlier revision": lambda store: store.revision(CASE_ID, 1),
    "the list of cases": lambda store: store.newest_revisions(),
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

"""The kinds of engine on which the tests of the record run, and what they share about the files of a record."""

import shutil
from collections.abc import Callable, Mapping
from pathlib import Path

from collum.records import DATABASE, Store

OpenStore = Callable[..., Store]
KINDS: Mapping[str, OpenStore] = {"plain": Store.open}
LOG = f"{DATABASE}-wal"
MARKER = "practice.head"


def copied(folder: Path, target: Path, *, without: tuple[str, ...] = ()) -> Path:
    """Return a copy of the files of a record as they are at this moment, as after a loss of power."""
    target.mkdir(parents=True)
    for name in (DATABASE, LOG, MARKER):
        if (folder / name).exists() and name not in without:
            shutil.copy(folder / name, target / name)
    return target


def documents(store: Store) -> dict[str, str]:
    """Return the newest document of each case by its id."""
    return {found.case_id: found.document for found in store.newest_revisions()}  # type: ignore[union-attr]  # all whole

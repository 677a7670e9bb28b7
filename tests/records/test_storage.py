"""The disk takes no more, may not be written, or somebody else holds it: words, and all that was confirmed before is kept."""

import os
import shutil
import sqlite3
import tempfile
from collections.abc import Callable, Iterator
from contextlib import closing, contextmanager
from dataclasses import replace
from pathlib import Path

import pytest

from collum.records import DATABASE, RoundStart, StorageError, Store, WriterLock, inspect_record
from tests.records.making import document, identity, plan_content, stamp
from tests.records.opening import LOG, OpenStore, documents

CASE_ID, ROUND_CASE_ID = identity(100), identity(101)
KEPT = {CASE_ID: document("one"), ROUND_CASE_ID: document("one")}
posix = pytest.mark.skipif(os.name == "nt", reason="limits and owners of this kind exist on POSIX only")


def start(_revision: object, _entry: str) -> RoundStart:
    heat = '{"filling": "' + "x" * 40_000 + '"}'
    moment = "2026-05-01T08:00:00Z"
    return RoundStart(tooth=45, visit_opened_at=moment, heat=heat, first_stroke_at=moment, first_stroke_s=1.0)


WRITES: dict[str, Callable[[Store], object]] = {
    "a case": lambda store: store.add_case(identity(200), document("x" * 40_000), stamp(5)),
    "cases": lambda store: store.add_cases([(identity(200 + i), document("x" * 9_000), stamp(5 + i)) for i in range(6)]),
    "a save": lambda store: store.add_revision(CASE_ID, 1, document("x" * 40_000), stamp(5)),
    "a plan": lambda store: store.add_plan(CASE_ID, 1, plan_content("x" * 40_000), stamp(5)),
    "a round": lambda store: store.rounds.start(CASE_ID, 1, start, stamp(5)),
    "the end of a round": lambda store: store.rounds.close(
        ROUND_CASE_ID, identity(9), "[1]", lambda _found: '{"filling": "' + "x" * 40_000 + '"}', stamp(5)
    ),
}


@contextmanager
def no_file_longer_than(size_bytes: int) -> Iterator[None]:
    """Let the system refuse to make any file of this process longer, as a full disk does."""
    import resource

    soft, hard = resource.getrlimit(resource.RLIMIT_FSIZE)
    resource.setrlimit(resource.RLIMIT_FSIZE, (size_bytes, hard))
    try:
        yield
    finally:
        resource.setrlimit(resource.RLIMIT_FSIZE, (soft, hard))


@contextmanager
def as_nobody() -> Iterator[None]:
    """Act as an account that owns nothing, where this one may do everything."""
    if os.geteuid() != 0:
        yield
        return
    os.seteuid(65534)
    try:
        yield
    finally:
        os.seteuid(0)


@pytest.fixture
def kept(store: Store) -> Store:
    """A record with two cases, the second of which has an open round."""
    store.add_case(CASE_ID, document("one"), stamp(1))
    store.add_case(ROUND_CASE_ID, document("one"), stamp(2))
    store.rounds.start(ROUND_CASE_ID, 1, start, stamp(9))
    return store


@posix
@pytest.mark.parametrize("write", WRITES.values(), ids=WRITES.keys())
def test_a_write_the_disk_does_not_take_is_refused_whole_and_the_next_one_is_kept(
    kept: Store, folder: Path, write: Callable[[Store], object]
) -> None:
    before = inspect_record(folder, None).counts
    with no_file_longer_than((folder / LOG).stat().st_size + 10_000), pytest.raises(StorageError) as trouble:
        write(kept)
    assert trouble.value.trouble in ("full", "write_failed")
    assert inspect_record(folder, None).counts == before
    assert documents(kept) == KEPT
    write(kept)
    assert inspect_record(folder, None).faults == ()


def test_a_database_that_may_not_grow_is_a_full_disk_at_every_write(kept: Store, folder: Path) -> None:
    with kept._engine.connect() as connection:
        pages = connection.exec_driver_sql("PRAGMA page_count").scalar()
        connection.exec_driver_sql(f"PRAGMA max_page_count = {pages}")
    before = inspect_record(folder, None).counts
    for name, write in WRITES.items():
        with pytest.raises(StorageError) as trouble:
            write(kept)
        assert trouble.value.trouble == "full", name
    assert inspect_record(folder, None).counts == before


@posix
def test_a_folder_that_may_only_be_read_is_said_so_and_can_be_looked_at(open_store: OpenStore) -> None:
    """The folder is one that every account may enter, which those of the test bench are not."""
    folder = Path(tempfile.mkdtemp())
    try:
        store = open_store(folder)
        store.add_case(CASE_ID, document("one"), stamp(1))
        store.close()
        for path in folder.iterdir():
            path.chmod(0o444)
        folder.chmod(0o555)
        before = {path.name: path.read_bytes() for path in folder.iterdir()}
        with as_nobody():
            for use in (lambda: WriterLock(folder), lambda: open_store(folder)):
                with pytest.raises(StorageError) as trouble:
                    use()
                assert trouble.value.trouble in ("cannot_open", "read_only")
        assert inspect_record(folder, None).entries == 2
        assert {path.name: path.read_bytes() for path in folder.iterdir() if path.name in before} == before
    finally:
        folder.chmod(0o755)
        shutil.rmtree(folder)


def test_a_lock_held_by_another_program_is_said_so_and_nothing_is_written(
    kept: Store, folder: Path, open_store: OpenStore, monkeypatch: pytest.MonkeyPatch
) -> None:
    monkeypatch.setattr("collum.records.engine._WAIT_S", 0.02)
    impatient = open_store(folder)
    with closing(sqlite3.connect(folder / DATABASE, isolation_level=None)) as other:
        other.execute("BEGIN IMMEDIATE")
        for name, write in WRITES.items():
            with pytest.raises(StorageError) as trouble:
                write(impatient)
            assert trouble.value.trouble == "busy", name
        assert documents(impatient) == KEPT
        other.execute("ROLLBACK")
    WRITES["a save"](impatient)
    impatient.close()


@pytest.mark.parametrize("at", ["2099-12-31T23:59:59Z", "1999-01-01T00:00:00Z"], ids=["ahead", "back"])
def test_a_clock_that_jumps_changes_neither_order_nor_what_is_kept(folder: Path, open_store: OpenStore, at: str) -> None:
    store = open_store(folder)
    store.add_case(CASE_ID, document("one"), stamp(1))
    store.add_revision(CASE_ID, 1, document("two"), replace(stamp(2), at=at))
    store.add_revision(CASE_ID, 2, document("three"), stamp(3))
    store.close()
    store = open_store(folder, at=at)
    assert store.newest_revision(CASE_ID).document == document("three")
    assert [store.revision(CASE_ID, number).saved_at for number in (1, 2, 3)] == [stamp(1).at, at, stamp(3).at]
    assert inspect_record(folder, None).faults == ()
    store.close()

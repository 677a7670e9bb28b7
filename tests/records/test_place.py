"""The folder or a file of the record is taken away while it is open: nothing is confirmed that is not where it belongs."""

import os
import shutil
import subprocess
import sys
from collections.abc import Callable, Iterator
from contextlib import suppress
from pathlib import Path

import pytest
from sqlalchemy import event

from collum.records import DATABASE, StorageError, Store, WriterLock
from tests.records.making import document, identity, plan_content, stamp
from tests.records.opening import LOG, OpenStore, copied, documents

CASE_ID = identity(100)
pytestmark = pytest.mark.skipif(os.name == "nt", reason="a file in use cannot be taken away there")


@pytest.fixture
def practice(tmp_path: Path) -> Path:
    folder = tmp_path / "practice"
    folder.mkdir()
    return folder


@pytest.fixture
def held(practice: Path, open_store: OpenStore) -> Iterator[Store]:
    """A record that is written under its lock, with one case."""
    lock = WriterLock(practice)
    store = open_store(practice, lock=lock)
    store.add_case(CASE_ID, document("one"), stamp(1))
    yield store
    with suppress(StorageError):
        store.close()
    lock.release()


def replace_by_copy(path: Path) -> None:
    shutil.copy(path, path.with_name("copy"))
    path.with_name("copy").replace(path)


def rename_folder(folder: Path) -> None:
    folder.rename(folder.with_name("elsewhere"))


def rename_and_make_anew(folder: Path) -> None:
    rename_folder(folder)
    folder.mkdir()


TAKEN: dict[str, Callable[[Path], object]] = {
    "folder renamed": rename_folder,
    "folder replaced": rename_and_make_anew,
    "folder removed": shutil.rmtree,
    "database removed": lambda folder: (folder / DATABASE).unlink(),
    "database replaced": lambda folder: replace_by_copy(folder / DATABASE),
    "log removed": lambda folder: (folder / LOG).unlink(),
    "log replaced": lambda folder: replace_by_copy(folder / LOG),
    "lock removed": lambda folder: (folder / "lock").unlink(),
    "lock replaced": lambda folder: replace_by_copy(folder / "lock"),
}
WRITES: dict[str, Callable[[Store], object]] = {
    "a case": lambda store: store.add_case(identity(200), document("new"), stamp(5)),
    "a save": lambda store: store.add_revision(CASE_ID, 1, document("two"), stamp(5)),
    "a plan": lambda store: store.add_plan(CASE_ID, 1, plan_content(), stamp(5)),
}


def refused(store: Store, write: Callable[[Store], object]) -> None:
    with pytest.raises(StorageError) as trouble:
        write(store)
    assert trouble.value.trouble == "moved"


@pytest.mark.parametrize("take", TAKEN.values(), ids=TAKEN.keys())
def test_nothing_is_confirmed_once_the_files_are_not_where_they_were(
    held: Store, practice: Path, take: Callable[[Path], object]
) -> None:
    take(practice)
    for write in WRITES.values():
        refused(held, write)
    assert documents(held) == {CASE_ID: document("one")}  # what is open can still be read


@pytest.mark.parametrize("write", WRITES.values(), ids=WRITES.keys())
def test_a_folder_taken_away_between_check_and_commit_is_noticed_before_the_answer(
    held: Store, practice: Path, write: Callable[[Store], object]
) -> None:
    event.listen(held._engine, "commit", lambda _connection: rename_folder(practice))
    refused(held, write)


def test_a_folder_put_back_is_written_to_again(held: Store, practice: Path) -> None:
    rename_folder(practice)
    refused(held, WRITES["a save"])
    practice.with_name("elsewhere").rename(practice)
    assert held.add_revision(CASE_ID, 1, document("two"), stamp(5)).number == 2


def test_no_new_database_is_made_in_the_place_of_one_that_was_removed(held: Store, practice: Path) -> None:
    (practice / DATABASE).unlink()
    held._engine.dispose()  # so that the next connection looks for the file by its name
    refused(held, WRITES["a save"])
    assert not (practice / DATABASE).exists()


def test_what_was_confirmed_outlives_the_loss_of_the_log_and_of_the_program(
    held: Store, practice: Path, tmp_path: Path, open_store: OpenStore
) -> None:
    held.add_revision(CASE_ID, 1, document("two"), stamp(2))
    (practice / LOG).unlink()
    refused(held, lambda store: store.add_revision(CASE_ID, 2, document("three"), stamp(3)))
    after = open_store(copied(practice, tmp_path / "after"))
    assert documents(after) == {CASE_ID: document("two")}
    after.close()


_ENDS = """
import sys
from pathlib import Path
from collum.records import Store, WriterLock
from tests.records.making import document, identity, stamp
folder = Path(sys.argv[1])
lock = WriterLock(folder)
store = Store.open(folder, lock=lock)
store.add_case(identity(100), document("one"), stamp(1))
folder.rename(folder.with_name("elsewhere"))
folder.mkdir()
for name in ("practice.db-wal", "practice.db-shm"):
    (folder / name).write_text("of another record")
store.close()
lock.release()
"""


@pytest.mark.slow
def test_the_end_of_a_program_whose_folder_was_replaced_takes_nothing_of_the_new_one(
    practice: Path, open_store: OpenStore
) -> None:
    subprocess.run([sys.executable, "-c", _ENDS, str(practice)], cwd=Path(__file__).parents[2], check=True)
    assert {file.name: file.read_text() for file in practice.iterdir()} == {
        f"{DATABASE}-wal": "of another record",
        f"{DATABASE}-shm": "of another record",
    }
    moved = open_store(practice.with_name("elsewhere"))
    assert documents(moved) == {CASE_ID: document("one")}
    moved.close()


def test_a_lock_that_was_removed_lets_a_second_writer_in_and_the_first_confirm_nothing(
    held: Store, practice: Path, open_store: OpenStore
) -> None:
    (practice / "lock").unlink()
    second_lock = WriterLock(practice)
    second = open_store(practice, lock=second_lock)
    second.add_revision(CASE_ID, 1, document("of the second"), stamp(3))
    refused(held, WRITES["a case"])
    assert documents(second) == {CASE_ID: document("of the second")}
    second.close()
    second_lock.release()

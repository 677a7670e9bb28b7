"""Files of cases: exact back, whole or not at all, and found where they are not what was stored."""

import io
import os
import shutil
import signal
import subprocess
import sys
from collections.abc import Callable, Iterator
from pathlib import Path
from time import sleep

import numpy as np
import pytest
from hypothesis import HealthCheck, given, settings
from hypothesis import strategies as st

from collum.records import (
    DATABASE,
    Attachment,
    AttachmentLabel,
    DamagedAttachment,
    RecordClosed,
    StorageError,
    Store,
    UnknownRecord,
    WriterLock,
)
from collum.records.attachment_folder import ATTACHMENTS
from collum.records.conversion import seal_database
from collum.records.sealing.stream import CHUNK_BYTES
from tests.records.making import document, identity, stamp
from tests.records.opening import KEYS, OpenStore, accepted, copied, inspected, raw

CASE_ID, OTHER_ID = identity(100), identity(101)
LABEL = AttachmentLabel(
    name="Zqx 7731 film.png", media_type="image/png", kind="radiograph", taken_on="2026-04-30", note=None, thumbnail="iVBORw0K"
)
CONTENT = np.random.default_rng(7).bytes(3 * CHUNK_BYTES + 17)
_HEAD = 37  # what a sealed file begins with, before its chunks: the name of the form and the salt
_SEALED_CHUNK = CHUNK_BYTES + 16


@pytest.fixture
def store(folder: Path, open_store: OpenStore) -> Iterator[Store]:
    opened = open_store(folder)
    for number, case_id in ((1, CASE_ID), (2, OTHER_ID)):
        opened.add_case(case_id, document("a"), stamp(number))
    yield opened
    opened.close()


def add(store: Store, content: bytes = CONTENT, number: int = 10, case_id: str = CASE_ID) -> Attachment:
    return store.attachments.add(case_id, io.BytesIO(content), lambda: LABEL, stamp(number))


def content_of(store: Store, found: Attachment) -> bytes:
    return b"".join(store.attachments.read(found.case_id, found.id)[1])


def files_in(folder: Path) -> list[Path]:
    return sorted((folder / ATTACHMENTS).glob("*"))


def test_a_file_is_listed_as_it_was_told_and_comes_back_exact_after_a_new_start(
    store: Store, folder: Path, open_store: OpenStore
) -> None:
    made = add(store)
    assert (made.label, made.size, made.author, made.removed) == (LABEL, len(CONTENT), "bench", None)
    store.close()
    again = open_store(folder)
    assert again.attachments.of_case(CASE_ID) == (made,)
    assert again.attachments.of_case(OTHER_ID) == ()
    assert content_of(again, made) == CONTENT
    again.close()
    assert inspected(folder).faults == ()
    assert [file.stat().st_mode & 0o777 for file in files_in(folder)] == [0o600]


@pytest.fixture(scope="module")
def sealed(tmp_path_factory: pytest.TempPathFactory) -> Iterator[Store]:
    opened = Store.open(tmp_path_factory.mktemp("sealed"), KEYS)
    opened.add_case(CASE_ID, document("a"), stamp(1))
    yield opened
    opened.close()


SIZES = st.sampled_from([0, CHUNK_BYTES, 2 * CHUNK_BYTES]).flatmap(lambda about: st.integers(max(0, about - 20), about + 20))


@given(size=SIZES, seed=st.integers(0, 2**32))
@settings(max_examples=25, deadline=None, suppress_health_check=[HealthCheck.function_scoped_fixture])
def test_any_bytes_of_any_size_come_back_exact(sealed: Store, size: int, seed: int) -> None:
    content = np.random.default_rng(seed).bytes(size)
    number = 1_000 + len(sealed.attachments.of_case(CASE_ID))
    assert content_of(sealed, add(sealed, content, number)) == content


Change = Callable[[bytes], bytes]


def flipped(at: int) -> Change:
    def change(stored: bytes) -> bytes:
        place = at % len(stored)
        return stored[:place] + bytes([stored[place] ^ 1]) + stored[place + 1 :]

    return change


def swapped(stored: bytes) -> bytes:
    first, second = stored[_HEAD : _HEAD + _SEALED_CHUNK], stored[_HEAD + _SEALED_CHUNK : _HEAD + 2 * _SEALED_CHUNK]
    return stored[:_HEAD] + second + first + stored[_HEAD + 2 * _SEALED_CHUNK :]


DAMAGE: dict[str, Change] = {
    "first byte": flipped(0),
    "salt": flipped(_HEAD - 1),
    "a chunk": flipped(_HEAD + 5),
    "last byte": flipped(-1),
    "chunks swapped": swapped,
    "a whole chunk cut off": lambda stored: stored[: _HEAD + 2 * _SEALED_CHUNK],
    "end cut off": lambda stored: stored[:-1],
    "empty": lambda _stored: b"",
    "more at the end": lambda stored: stored + b"x",
}


@pytest.mark.parametrize("damage", DAMAGE.values(), ids=DAMAGE.keys())
def test_a_file_that_is_not_what_was_stored_is_found_before_any_of_it_is_given(
    store: Store, folder: Path, damage: Change
) -> None:
    made = add(store)
    file = folder / ATTACHMENTS / made.file
    file.write_bytes(damage(file.read_bytes()))
    with pytest.raises(DamagedAttachment):
        store.attachments.read(CASE_ID, made.id)


def test_a_file_of_another_case_or_attachment_or_none_in_its_place_is_found(store: Store, folder: Path) -> None:
    made, same_case, other_case = add(store), add(store, b"b" * 50, 11), add(store, b"c" * 50, 12, OTHER_ID)
    file = folder / ATTACHMENTS / made.file
    for other in (same_case, other_case):
        file.write_bytes((folder / ATTACHMENTS / other.file).read_bytes())
        with pytest.raises(DamagedAttachment):
            store.attachments.read(CASE_ID, made.id)
    file.unlink()
    with pytest.raises(DamagedAttachment):
        store.attachments.read(CASE_ID, made.id)
    assert content_of(store, same_case) == b"b" * 50


def test_a_sealed_file_does_not_open_as_another_attachment_even_where_its_hash_would_fit(sealed: Store) -> None:
    one, other = add(sealed, CONTENT, 2_001), add(sealed, CONTENT, 2_002)
    folder = sealed.attachments._folder / ATTACHMENTS
    (folder / one.file).write_bytes((folder / other.file).read_bytes())
    with pytest.raises(DamagedAttachment):
        sealed.attachments.read(CASE_ID, one.id)


def test_a_check_of_the_record_names_the_file_that_is_not_what_was_stored(store: Store, folder: Path) -> None:
    made, other = add(store), add(store, b"b" * 50, 11)
    file = folder / ATTACHMENTS / made.file
    file.write_bytes(file.read_bytes()[:-1])
    store.close()
    told = [(fault.what, fault.table, fault.id) for fault in inspected(folder).faults]
    assert told == [("content", "attachment_file", made.id)]
    (folder / ATTACHMENTS / other.file).unlink()
    assert {fault.id for fault in inspected(folder).faults} == {made.id, other.id}


def test_a_clear_record_is_sealed_with_its_files_and_none_stays_readable(tmp_path: Path) -> None:
    store = Store.open(tmp_path)
    store.add_case(CASE_ID, document("a"), stamp(1))
    made, lost = add(store), add(store, b"lost", 11)
    removed = store.attachments.remove(CASE_ID, made.id, "wrong tooth", stamp(20)).removed
    (tmp_path / ATTACHMENTS / lost.file).unlink()
    store.close()
    seal_database(tmp_path / DATABASE, KEYS, stamp(50))
    store = Store.open(tmp_path, KEYS)
    found, still_lost = store.attachments.of_case(CASE_ID)
    assert (found.id, found.label, found.sha256, found.removed) == (made.id, LABEL, made.sha256, removed)
    assert content_of(store, found) == CONTENT
    with pytest.raises(DamagedAttachment):
        store.attachments.read(CASE_ID, still_lost.id)
    store.close()
    assert [file.name for file in files_in(tmp_path)] == [found.file]
    held = b"".join(file.read_bytes() for file in tmp_path.rglob("*") if file.is_file())
    assert CONTENT[:40] not in held and LABEL.name.encode() not in held and b"wrong tooth" not in held


def test_what_is_asked_under_another_case_is_not_there(store: Store) -> None:
    made = add(store)
    for case_id, attachment_id in ((OTHER_ID, made.id), (CASE_ID, identity(999))):
        with pytest.raises(UnknownRecord):
            store.attachments.read(case_id, attachment_id)
        with pytest.raises(UnknownRecord):
            store.attachments.remove(case_id, attachment_id, "wrong person", stamp(20))
    with pytest.raises(UnknownRecord):
        add(store, case_id=identity(999), number=11)


def test_taking_a_file_out_is_an_addition_that_is_kept_once(store: Store, folder: Path) -> None:
    made = add(store)
    removed = store.attachments.remove(CASE_ID, made.id, "belongs to another tooth", stamp(20)).removed
    assert removed is not None and removed.reason == "belongs to another tooth" and removed.author == "bench"
    assert store.attachments.remove(CASE_ID, made.id, "again", stamp(21)).removed == removed
    assert content_of(store, made) == CONTENT
    connection = raw(folder / "practice.db")
    for table in ("attachment", "attachment_removed"):
        for change in (f"UPDATE {table} SET zone = 'x'", f"DELETE FROM {table}"):
            with pytest.raises(Exception, match="append-only"):
                connection.execute(change)
    connection.close()


class Breaking(io.BytesIO):
    """A source that ends with an error after its first parts."""

    def __init__(self, error: Exception) -> None:
        super().__init__(CONTENT)
        self.error = error

    def read(self, size: int | None = -1) -> bytes:
        if self.tell() > 2 * CHUNK_BYTES:
            raise self.error
        return super().read(size)


@pytest.mark.parametrize("trouble", [OSError(28, "no space"), RuntimeError("cancelled")], ids=["disk full", "cancelled"])
def test_an_addition_that_fails_leaves_nothing(store: Store, folder: Path, trouble: Exception) -> None:
    expected = StorageError if isinstance(trouble, OSError) else RuntimeError
    with pytest.raises(expected):
        store.attachments.add(CASE_ID, Breaking(trouble), lambda: LABEL, stamp(10))

    def refuses() -> AttachmentLabel:
        raise RuntimeError("not this type")

    with pytest.raises(RuntimeError):
        store.attachments.add(CASE_ID, io.BytesIO(CONTENT), refuses, stamp(11))
    assert files_in(folder) == [] and store.attachments.of_case(CASE_ID) == ()


def test_a_row_that_is_refused_takes_its_file_with_it(store: Store, folder: Path) -> None:
    add(store)
    before = files_in(folder)
    with pytest.raises(StorageError):
        add(store, b"other", 10)  # the same id: the file is there already
    assert files_in(folder) == before
    connection = raw(folder / "practice.db")
    connection.execute("CREATE TRIGGER full BEFORE INSERT ON attachment BEGIN SELECT RAISE(ABORT, 'x'); END")
    connection.commit()
    connection.close()
    with pytest.raises(Exception, match="x"):
        add(store, b"other", 12)
    assert files_in(folder) == before


@pytest.mark.parametrize("end", [Store.close, lambda store: store.narrow([OTHER_ID])], ids=["closed", "narrowed"])
def test_a_record_that_drops_its_keys_ends_what_is_on_its_way(store: Store, folder: Path, end: Callable[[Store], None]) -> None:
    made = add(store)
    parts = store.attachments.read(CASE_ID, made.id)[1]
    next(parts)

    class Ending(io.BytesIO):
        def read(self, size: int | None = -1) -> bytes:
            if self.tell() > 0:
                end(store)
            return super().read(size)

    with pytest.raises(RecordClosed):
        store.attachments.add(CASE_ID, Ending(CONTENT), lambda: LABEL, stamp(11))
    with pytest.raises(RecordClosed):
        list(parts)
    assert [file.name for file in files_in(folder)] == [made.file]


def test_opening_sweeps_what_was_left_over_and_nothing_else(store: Store, folder: Path, open_store: OpenStore) -> None:
    made = add(store)
    store.close()
    for name in ("ab" * 32, "cd" * 32 + ".part", "read me.txt"):
        (folder / ATTACHMENTS / name).write_bytes(b"x")
    open_store(folder).close()
    assert [file.name for file in files_in(folder)] == sorted([made.file, "read me.txt"])


def test_a_file_of_a_newer_state_outlives_going_on_with_an_older_one(
    store: Store, folder: Path, open_store: OpenStore, tmp_path_factory: pytest.TempPathFactory
) -> None:
    store.close()
    older = copied(folder, tmp_path_factory.mktemp("copies") / "older")
    store = open_store(folder)
    made = add(store)
    store.close()
    newer = copied(folder, older.parent / "newer")
    shutil.copy(older / DATABASE, folder / DATABASE)
    lock = WriterLock(folder)
    accepted(folder, lock)
    open_store(folder, lock=lock).close()
    assert [file.name for file in files_in(folder)] == [f"{made.file}.left"]
    shutil.copy(newer / DATABASE, folder / DATABASE)
    again = open_store(folder, lock=lock)
    assert content_of(again, made) == CONTENT
    again.close()
    lock.release()


def test_with_a_case_its_files_are_deleted_and_the_record_stays_whole(tmp_path: Path) -> None:
    store = Store.open(tmp_path, KEYS)
    for number, case_id in ((1, CASE_ID), (2, OTHER_ID)):
        store.add_case(case_id, document("a"), stamp(number))
    add(store)
    kept = add(store, b"other", 11, OTHER_ID)
    before = {file.name: file.read_bytes() for file in files_in(tmp_path)}
    store.delete_case(CASE_ID, "wish of the person", stamp(20))
    assert [file.name for file in files_in(tmp_path)] == [kept.file]
    store.close()
    for name, content in before.items():  # as after a power failure between the two
        (tmp_path / ATTACHMENTS / name).write_bytes(content)
    store = Store.open(tmp_path, KEYS)
    assert [file.name for file in files_in(tmp_path)] == [kept.file] and content_of(store, kept) == b"other"
    store.close()
    assert inspected(tmp_path).faults == ()


ADDING = """
import io, sys
from pathlib import Path
from tests.records.test_attachments import CASE_ID, CONTENT, LABEL
from tests.records.making import stamp
from tests.records.opening import KEYS
from collum.records import Store
store = Store.open(Path(sys.argv[1]), KEYS)
for number in range(10, 400):
    store.attachments.add(CASE_ID, io.BytesIO(CONTENT), lambda: LABEL, stamp(number))
    print(number, flush=True)
"""


def test_a_kill_while_files_are_added_leaves_each_whole_or_nothing(tmp_path: Path) -> None:
    rng = np.random.default_rng(3)
    for kill in range(4):
        folder = tmp_path / str(kill)
        folder.mkdir()
        store = Store.open(folder, KEYS)
        store.add_case(CASE_ID, document("a"), stamp(1))
        store.close()
        command = [sys.executable, "-c", ADDING, str(folder)]
        with subprocess.Popen(command, stdout=subprocess.PIPE, text=True) as adding:
            assert adding.stdout is not None
            confirmed = [adding.stdout.readline() for _ in range(rng.integers(1, 7))]
            sleep(rng.uniform(0, 0.02))  # the kill comes at any point of an addition
            os.kill(adding.pid, signal.SIGKILL)
            confirmed += adding.stdout.readlines()
        lock = WriterLock(folder)
        store = Store.open(folder, KEYS, lock=lock)
        kept = store.attachments.of_case(CASE_ID)
        assert len(confirmed) <= len(kept) <= len(confirmed) + 1
        assert all(content_of(store, found) == CONTENT for found in kept)
        assert {file.name for file in files_in(folder)} == {found.file for found in kept}
        store.close()
        lock.release()
        assert inspected(folder).faults == ()

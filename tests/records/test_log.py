"""The write-ahead log: cut off at any frame it gives what was confirmed before; it is folded in when nothing is written."""

import shutil
from collections.abc import Callable
from dataclasses import dataclass
from pathlib import Path
from threading import Event

import pytest

from collum.records import DATABASE, Store
from collum.records.folding import Folding
from collum.records.stored import StorageError
from tests.records.making import document, identity, plan_content, stamp
from tests.records.opening import LOG, MARKER, OpenStore, copied, documents

HEADER_BYTES, FRAME_HEAD_BYTES, PAGE_BYTES = 32, 24, 4096  # file format of SQLite, chapter "WAL-Index and WAL format"
FRAME_BYTES = FRAME_HEAD_BYTES + PAGE_BYTES
WAIT_S = 30


@dataclass(frozen=True)
class Confirmed:
    """What the record held when the log had this length."""

    log_bytes: int
    documents: dict[str, str]
    plans: int


def held(store: Store) -> tuple[dict[str, str], int]:
    return documents(store), sum(len(store.plans_of(case_id)) for case_id in documents(store))


@pytest.fixture
def written(tmp_path: Path, open_store: OpenStore) -> tuple[Path, list[Confirmed]]:
    """A record whose log holds cases, saves and plans, and what was confirmed after each."""
    folder = tmp_path / "live"
    folder.mkdir()
    open_store(folder).close()
    store = open_store(folder)
    steps: list[Confirmed] = [Confirmed(0, {}, 0)]
    for number in range(12):
        case_id = identity(500 + number % 3)
        if number < 3:
            store.add_case(case_id, document(f"made {number}"), stamp(number))
        elif number % 4 == 3:
            store.add_plan(case_id, 1, plan_content("x" * 5000), stamp(number))
        else:
            base = store.newest_revision(case_id).number
            store.add_revision(case_id, base, document(f"saved {number} " + "x" * 3000 * (number % 2)), stamp(number))
        steps.append(Confirmed((folder / LOG).stat().st_size, *held(store)))
    copy = copied(folder, tmp_path / "copy", without=(MARKER,))
    store.close()
    return copy, steps


@pytest.mark.slow
def test_a_log_cut_off_anywhere_gives_what_was_confirmed_before_and_nothing_else(
    written: tuple[Path, list[Confirmed]], tmp_path: Path, open_store: OpenStore
) -> None:
    copy, steps = written
    whole = (copy / LOG).stat().st_size
    frames = (whole - HEADER_BYTES) // FRAME_BYTES
    assert frames > 25 and whole == HEADER_BYTES + frames * FRAME_BYTES
    cuts = [HEADER_BYTES + frame * FRAME_BYTES for frame in range(frames)]
    cuts += [cut + FRAME_BYTES // 2 for cut in cuts[::5]]
    for cut in [0, HEADER_BYTES - 1, *cuts, whole]:
        folder = tmp_path / "cut"
        shutil.copytree(copy, folder)
        with (folder / LOG).open("r+b") as log:
            log.truncate(cut)
        store = open_store(folder)
        expected = max((step for step in steps if step.log_bytes <= cut), key=lambda step: step.log_bytes)
        assert held(store) == (expected.documents, expected.plans), cut
        store.close()
        shutil.rmtree(folder)


def test_a_flipped_bit_in_the_log_ends_it_there(written: tuple[Path, list[Confirmed]], open_store: OpenStore) -> None:
    copy, steps = written
    at = steps[7].log_bytes + FRAME_HEAD_BYTES + 100
    data = bytearray((copy / LOG).read_bytes())
    data[at] ^= 0x10
    (copy / LOG).write_bytes(data)
    store = open_store(copy)
    assert held(store) == (steps[7].documents, steps[7].plans)
    store.close()


def test_with_the_marker_a_log_that_lost_confirmed_entries_is_a_question(
    written: tuple[Path, list[Confirmed]], tmp_path: Path, open_store: OpenStore
) -> None:
    copy, steps = written
    shutil.copy(tmp_path / "live" / MARKER, copy / MARKER)
    with (copy / LOG).open("r+b") as log:
        log.truncate(steps[-2].log_bytes)
    with pytest.raises(StorageError) as trouble:
        open_store(copy)
    assert trouble.value.trouble == "behind"


# Folding in


def test_after_a_pause_the_database_file_alone_holds_everything(
    tmp_path: Path, open_store: OpenStore, monkeypatch: pytest.MonkeyPatch
) -> None:
    monkeypatch.setattr("collum.records.folding.IDLE_S", 0.02)
    done = Event()
    monkeypatch.setattr("collum.records.guard.Keeper._fold", _told(done))
    store = open_store(tmp_path)
    store.add_case(identity(500), document("one"), stamp(1))
    assert done.wait(WAIT_S)
    alone = open_store(copied(tmp_path, tmp_path / "alone", without=(LOG,)))
    assert documents(alone) == {identity(500): document("one")}
    alone.close()
    store.close()


def _told(done: Event) -> Callable[..., bool]:
    from collum.records.guard import Keeper

    fold = Keeper._fold

    def folding(self: Keeper) -> bool:
        whole = fold(self)
        done.set()
        return whole

    return folding


def test_a_record_that_was_closed_has_no_log(tmp_path: Path, open_store: OpenStore) -> None:
    store = open_store(tmp_path)
    store.add_case(identity(500), document("one"), stamp(1))
    assert (tmp_path / LOG).stat().st_size > 0
    store.close()
    assert not (tmp_path / LOG).exists() and (tmp_path / DATABASE).stat().st_size > PAGE_BYTES


def test_a_log_left_by_a_kill_is_folded_in_when_the_record_is_opened(tmp_path: Path, open_store: OpenStore) -> None:
    """The key of a case that was deleted just before the kill is in the database until then."""
    (tmp_path / "live").mkdir()
    store = open_store(tmp_path / "live")
    store.add_case(identity(500), document("one"), stamp(1))
    left = copied(tmp_path / "live", tmp_path / "left")
    store.close()
    assert (left / LOG).stat().st_size > 0
    store = open_store(left)
    assert (left / LOG).stat().st_size == 0 and documents(store) == {identity(500): document("one")}
    store.close()


def test_each_write_puts_the_folding_off_and_a_failed_one_is_tried_again(monkeypatch: pytest.MonkeyPatch) -> None:
    monkeypatch.setattr("collum.records.folding.IDLE_S", 0.05)
    answers = iter([StorageError("busy"), False, True])
    done = Event()
    calls: list[object] = []

    def fold() -> bool:
        answer = next(answers)
        calls.append(answer)
        if isinstance(answer, StorageError):
            raise answer
        if answer:
            done.set()
        return bool(answer)

    folding = Folding(fold)
    for _ in range(5):
        folding.wrote()
    assert done.wait(WAIT_S)
    folding.stop()
    assert len(calls) == 3


def test_a_folding_that_never_wrote_ends_at_once() -> None:
    Folding(lambda: pytest.fail("nothing to fold")).stop()

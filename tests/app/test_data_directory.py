"""The data directory, who holds it, its log, and the demo practice in it."""

import errno
import json
import os
import stat
import threading
from pathlib import Path

import pytest

from collum.app.demo import NotADemo, claim, demo_cases, fill, renew
from collum.app.logs import log_file, open_log
from collum.app.practice import Practice, open_practice
from collum.app.record.data_directory import is_demo, prepare_data_directory
from collum.app.record.instance import OPEN_PAGE, AlreadyRunning, Instance, ask_for_link, running_instance
from collum.records import DATABASE, StorageError
from tests.making.environment import FixedEnvironment

SENTINEL = "ZQX-7731"
posix = pytest.mark.skipif(os.name == "nt", reason="permissions of this kind exist on POSIX only")


@posix
def test_a_new_directory_is_its_owners_alone(tmp_path: Path) -> None:
    folder = tmp_path / "deep" / "practice"
    assert prepare_data_directory(folder) == ()
    assert stat.S_IMODE(folder.stat().st_mode) == 0o700


@posix
def test_a_directory_open_to_others_is_warned_of(tmp_path: Path) -> None:
    folder = tmp_path / "practice"
    folder.mkdir()
    folder.chmod(0o750)
    assert prepare_data_directory(folder) == ("open_to_others",)


def test_a_synchronised_directory_is_warned_of(tmp_path: Path) -> None:
    assert "synchronised" in prepare_data_directory(tmp_path / "OneDrive - Practice" / "collum")


def test_a_file_in_the_way_is_storage_trouble(tmp_path: Path) -> None:
    (tmp_path / "practice").write_text("in the way", encoding="utf-8")
    with pytest.raises(StorageError):
        prepare_data_directory(tmp_path / "practice")


# The running instance


def test_a_second_instance_learns_where_the_first_listens(tmp_path: Path) -> None:
    with Instance(tmp_path) as first:
        with pytest.raises(AlreadyRunning) as early, Instance(tmp_path):
            pass
        assert early.value.running is None
        first.announce(port=4711, started_at="2026-05-01T08:00:00.000Z", new_link=lambda: "link")
        with pytest.raises(AlreadyRunning) as later, Instance(tmp_path):
            pass
        assert later.value.running is not None
        assert later.value.running.address == "http://127.0.0.1:4711/"
        assert running_instance(tmp_path) == later.value.running
        (tmp_path / OPEN_PAGE).touch()
    assert running_instance(tmp_path) is None
    assert [file.name for file in tmp_path.iterdir()] == ["lock"]


def test_a_note_left_by_a_dead_process_is_not_believed(tmp_path: Path) -> None:
    note = {"pid": 1, "port": 4711, "started_at": "2026-05-01T08:00:00.000Z"}
    (tmp_path / "instance.json").write_text(json.dumps(note), encoding="utf-8")
    assert running_instance(tmp_path) is None
    assert running_instance(tmp_path / "gone") is None


def test_each_wish_gets_a_link_of_its_own_and_leaves_nothing(tmp_path: Path) -> None:
    links = iter(["one", "two"])
    with Instance(tmp_path) as instance:
        instance.announce(port=1, started_at="", new_link=lambda: next(links))
        assert [ask_for_link(tmp_path), ask_for_link(tmp_path)] == ["one", "two"]
        assert sorted(file.name for file in tmp_path.iterdir()) == ["instance.json", "lock"]
        if os.name != "nt":
            assert stat.S_IMODE((tmp_path / "instance.json").stat().st_mode) == 0o600


def test_a_wish_that_nobody_answers_is_taken_back(tmp_path: Path, monkeypatch: pytest.MonkeyPatch) -> None:
    monkeypatch.setattr("collum.app.record.instance._WAIT_S", 0.2)
    assert ask_for_link(tmp_path) is None
    assert list(tmp_path.iterdir()) == []


def test_links_are_given_again_once_the_disk_has_room_again(tmp_path: Path, monkeypatch: pytest.MonkeyPatch) -> None:
    """The wish itself is written by a process that still found room; the thread that answers goes on after it did not."""
    from collum.app.record import instance as module

    write, refused = module.write_own, threading.Event()

    def full(file: Path, text: str) -> None:
        if file.name.startswith("link-given") and not refused.is_set():
            refused.set()
            raise StorageError("full")
        write(file, text)

    monkeypatch.setattr(module, "write_own", full)
    with Instance(tmp_path) as instance:
        instance.announce(port=1, started_at="", new_link=lambda: "link")
        (tmp_path / "link-wanted-first").touch()
        assert refused.wait(60)
        assert ask_for_link(tmp_path) == "link"


def test_what_a_full_disk_does_not_take_is_storage_trouble_and_nothing_is_left(
    tmp_path: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    def full(*_: object, **__: object) -> None:
        raise OSError(errno.ENOSPC, "full")

    monkeypatch.setattr("collum.app.record.own_file.os.fdopen", full)
    with pytest.raises(StorageError) as trouble:
        ask_for_link(tmp_path)
    assert trouble.value.trouble == "full"
    assert list(tmp_path.iterdir()) == []


# The log


def test_a_crash_is_noted_by_place_and_never_by_what_it_says(environment: FixedEnvironment) -> None:
    prepare_data_directory(environment.data_directory)
    with open_log(environment) as log:
        try:
            Practice(environment, None).open(SENTINEL)  # type: ignore[arg-type]  # a planted fault
        except AttributeError as error:
            error.add_note(SENTINEL)
            log.crash("the-id", error)
    line = json.loads(log_file(environment).read_text(encoding="utf-8"))
    assert (line["event"], line["id"], line["kind"]) == ("crash", "the-id", "AttributeError")
    assert line["places"].startswith("app/practice.py:")
    assert SENTINEL not in json.dumps(line)


def test_the_log_is_bounded_and_its_owners_alone(environment: FixedEnvironment, monkeypatch: pytest.MonkeyPatch) -> None:
    monkeypatch.setattr("collum.app.logs._MOST_BYTES", 300)
    prepare_data_directory(environment.data_directory)
    with open_log(environment) as log:
        for number in range(100):
            log.event("planned", number=number)
    files = list(log_file(environment).parent.iterdir())
    assert len(files) == 5
    assert all(file.stat().st_size <= 400 for file in files)
    if os.name != "nt":
        assert {stat.S_IMODE(file.stat().st_mode) for file in files} == {0o600}


def test_a_line_the_disk_does_not_take_is_left_out_in_silence(
    environment: FixedEnvironment, monkeypatch: pytest.MonkeyPatch, capsys: pytest.CaptureFixture[str]
) -> None:
    with open_log(environment) as log:
        monkeypatch.setattr(log._handler.stream, "write", _full)
        log.event("planned", number=1)
        monkeypatch.undo()
        log.event("planned", number=2)
    assert capsys.readouterr().err == ""
    assert json.loads(log_file(environment).read_text(encoding="utf-8"))["number"] == 2


def _full(_line: str) -> None:
    raise OSError(errno.ENOSPC, "full")


def test_a_log_that_cannot_be_written_is_storage_trouble(environment: FixedEnvironment) -> None:
    prepare_data_directory(environment.data_directory)
    (environment.data_directory / "log").touch()
    with pytest.raises(StorageError), open_log(environment):
        pass


# The demo practice


def test_the_demo_cases_are_invented_and_say_so() -> None:
    cases = demo_cases()
    assert len(cases) >= 3
    assert all(case.invented and case.expected for case in cases)


def test_loading_again_keeps_edits_and_renewing_drops_them(environment: FixedEnvironment) -> None:
    folder = environment.data_directory
    claim(folder)
    with open_practice(environment) as practice:
        assert fill(practice) == len(demo_cases())
        first = practice.cases()[0]
        changed = practice.open(first.case_id).document | {"note": "edited"}
        practice.save(first.case_id, base_revision=1, document=changed)
    claim(folder)
    with open_practice(environment) as practice:
        assert fill(practice) == 0
        assert practice.cases()[0].note == "edited"
    renew(folder)
    with open_practice(environment, new=True) as practice:
        assert fill(practice) == len(demo_cases())
        assert "edited" not in [case.note for case in practice.cases()]
    assert is_demo(folder)


def test_a_practice_of_patients_is_never_taken_for_the_demo(environment: FixedEnvironment) -> None:
    with open_practice(environment):
        pass
    before = (environment.data_directory / DATABASE).read_bytes()
    for use in (claim, renew):
        with pytest.raises(NotADemo):
            use(environment.data_directory)
    assert not is_demo(environment.data_directory)
    assert (environment.data_directory / DATABASE).read_bytes() == before

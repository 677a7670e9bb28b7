"""`collum record` and what the other commands say when the record is not as it was: words, the exit status, nothing lost."""

import json
import os
import sqlite3
from contextlib import closing
from pathlib import Path
from typing import Any

import pytest
from sqlalchemy import Connection

from collum.app.demo import demo_cases
from collum.app.practice import open_practice
from collum.records import DATABASE, Revision, StorageError, WriterLock
from collum.records.revisions import add_revision
from collum.wording import text
from tests.cli.conftest import Run
from tests.making.environment import FixedEnvironment

MARKER = "practice.head"


@pytest.fixture
def kept(tmp_path: Path, document: dict[str, Any]) -> Path:
    """The data directory of the commands, with one case saved twice."""
    folder = tmp_path / "data"
    with open_practice(FixedEnvironment(data_directory=folder)) as practice:
        made = practice.create(document)
        practice.save(made.case_id, base_revision=1, document={**made.document, "note": "again"})
    return folder


def forge(folder: Path) -> None:
    with closing(sqlite3.connect(folder / DATABASE)) as connection:
        connection.executescript(
            "DROP TRIGGER case_revision_refuses_update; UPDATE case_revision SET document = '{}' WHERE number = 2"
        )


def test_a_whole_record_is_said_to_be_whole(run: Run, kept: Path) -> None:
    told = run("record", "check")
    assert (told.status, told.err) == (0, "")
    assert told.out.splitlines()[0] == text("record.check.whole", {"entries": 3})
    as_json = json.loads(run("record", "check", "--json", "--data", kept).out)
    assert as_json["whole"] is True and as_json["faults"] == [] and as_json["format"] == "collum-record-check/1"
    assert (as_json["entries"], as_json["confirmed"], as_json["counts"]["case_revision"]) == (3, 3, 2)


def test_what_is_damaged_is_named_and_ends_as_storage_trouble(run: Run, kept: Path) -> None:
    forge(kept)
    told = run("record", "check")
    assert told.status == 4
    assert "Save 2 of the case" in told.out and "does not hold what was written" in told.out
    as_json = json.loads(run("record", "check", "--json").out)
    assert as_json["whole"] is False
    (fault,) = as_json["faults"]
    assert (fault["what"], fault["table"], fault["number"]) == ("content", "case_revision", 2)


def test_the_check_works_beside_a_workbench_that_is_running(run: Run, kept: Path) -> None:
    lock = WriterLock(kept)
    with open_practice(FixedEnvironment(data_directory=kept), lock=lock):
        assert run("record", "check").status == 0
        for command in ("accept", "new"):
            told = run("record", command)
            assert (told.status, told.out) == (4, "") and text("record.what.locked") in told.err
    lock.release()


def test_a_record_that_is_gone_is_a_question_with_two_answers(run: Run, kept: Path) -> None:
    (kept / DATABASE).rename(kept.with_name("taken"))
    for command in (("record", "check"), ("record", "accept"), ("compare", "a", "b")):
        told = run(*command)
        assert (told.status, told.out) == (4, "")
        assert told.err.strip().endswith(f"{text('record.what.missing')} {text('record.remedy.missing')}")
    assert not (kept / DATABASE).exists()
    told = run("record", "new")
    assert told.status == 0
    (aside,) = [path for path in kept.iterdir() if path.name.startswith("set-aside-")]
    assert [path.name for path in aside.iterdir()] == [MARKER] and str(aside) in told.err
    assert text("record.check.begun", {"folder": str(kept)}) in told.err
    assert run("record", "check").status == 0


def test_an_older_copy_is_gone_on_with_only_where_that_is_wanted(run: Run, kept: Path, document: dict[str, Any]) -> None:
    older = (kept / DATABASE).read_bytes()
    with open_practice(FixedEnvironment(data_directory=kept, ids=50)) as practice:
        practice.create(document)
    (kept / DATABASE).write_bytes(older)
    told = run("record", "check")
    assert told.status == 4 and text("record.fault.behind", {"number": 2}) in told.out
    assert text("record.what.behind") in run("serve", "--port", "0").err
    told = run("record", "accept")
    assert (told.status, told.err.strip()) == (0, text("record.check.accepted", {"entries": 3}))
    assert run("record", "check").status == 0


# The demo practice


def test_a_demo_that_was_cut_short_is_filled_whole_the_next_time(
    run: Run, tmp_path: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    folder = tmp_path / "demo"
    written: list[object] = []

    def dies_at_the_fifth(connection: Connection, revision: Revision) -> None:
        written.append(revision)
        if len(written) == 5:
            raise StorageError("full")
        add_revision(connection, revision)

    with monkeypatch.context() as patched:
        patched.setattr("collum.records.store.add_revision", dies_at_the_fifth)
        told = run("demo", "--data", folder)
    assert (told.status, told.out) == (4, "") and text("record.what.full") in told.err
    assert json.loads(run("record", "check", "--json", "--data", folder).out)["entries"] == 0
    assert f"{len(demo_cases())} invented cases loaded" in run("demo", "--data", folder).err


def test_a_demo_whose_record_is_gone_is_renewed_only_by_the_wish_for_it(run: Run, tmp_path: Path) -> None:
    folder = tmp_path / "demo"
    assert run("demo", "--data", folder).status == 0
    (folder / DATABASE).unlink()
    assert text("record.what.missing") in run("demo", "--data", folder).err
    assert f"{len(demo_cases())} invented cases loaded" in run("demo", "--data", folder, "--reset").err


# Where a fault of our own is noted


def crashing(run: Run, monkeypatch: pytest.MonkeyPatch, *arguments: object) -> str:
    def crash(*_arguments: object, **_named: object) -> None:
        raise RuntimeError("planted")

    monkeypatch.setattr("collum.app.record.instance.running_instance", crash)
    told = run(*arguments)
    assert told.status == 1
    return told.err


@pytest.mark.skipif(os.name == "nt", reason="permissions of this kind exist on POSIX only")
def test_a_fault_of_our_own_is_noted_in_the_data_directory_of_the_run_for_its_owner_alone(
    run: Run, tmp_path: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    for folder, arguments in (
        (tmp_path / "deep" / "given", ("--data", tmp_path / "deep" / "given")),
        (tmp_path / "data", ()),  # by the variable
    ):
        log = folder / "log" / "collum.jsonl"
        assert str(log) in crashing(run, monkeypatch, "open", *arguments)
        assert "RuntimeError" in log.read_text(encoding="utf-8")
        assert [path.stat().st_mode & 0o777 for path in (folder, log.parent, log)] == [0o700, 0o700, 0o600]
    assert not (tmp_path / "usual").exists()


def test_a_fault_that_cannot_be_noted_is_told_all_the_same(run: Run, tmp_path: Path, monkeypatch: pytest.MonkeyPatch) -> None:
    (tmp_path / "data").mkdir()
    (tmp_path / "data" / "log").write_text("in the way", encoding="utf-8")
    assert "could not be noted" in crashing(run, monkeypatch, "open")

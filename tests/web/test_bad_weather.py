"""Trouble with the record at the HTTP door: always words, never a fault of our own, and nothing confirmed that is not kept."""

import json
import shutil
import sqlite3
from collections.abc import Callable, Iterator
from contextlib import closing
from pathlib import Path
from typing import Any

import numpy as np
import pytest

from collum.app import demo
from collum.app.logs import log_file, open_log
from collum.app.practice import Practice, open_practice
from collum.app.record.vault import opened_vault
from collum.case import CaseFaults, to_document
from collum.records import DATABASE, StorageError
from collum.web.practice_services import PracticeServices
from collum.web.services import NoStorage, NoSuchRecord, Outdated
from collum.wording import text
from tests.making.environment import FixedEnvironment
from tests.web.conftest import Served
from tests.web.making import refused

FLIPS, SEED = 48, 20_260
MARKER = "practice.head"
TOLD = (NoStorage, NoSuchRecord)


def flipped(source: Path, target: Path, offset: int, bit: int) -> None:
    data = bytearray(source.read_bytes())
    data[offset] ^= 1 << bit
    target.write_bytes(data)


@pytest.fixture(scope="module")
def kept(tmp_path_factory: pytest.TempPathFactory) -> Path:
    """A practice of three cases, each saved twice, with a plan and a dose limit, closed in order."""
    folder = tmp_path_factory.mktemp("kept")
    with open_practice(FixedEnvironment(data_directory=folder), draws=100) as practice:
        for case in demo.demo_cases()[:3]:
            made = practice.create(to_document(case))
            practice.save(made.case_id, base_revision=1, document={**made.document, "note": "saved again"})
        practice.store_plan(made.case_id, revision=2)
    return folder


def asked(services: PracticeServices, ids: dict[str, str]) -> Iterator[Callable[[], Any]]:
    """Yield what a day at the workbench asks of the record."""
    yield services.cases
    yield lambda: services.about(None)
    for case_id in ids.values():
        yield lambda case_id=case_id: services.open(case_id)
        yield lambda case_id=case_id: services.open_earlier(case_id, 1)
        yield lambda case_id=case_id: services.plans(case_id)
        yield lambda case_id=case_id: services.safety.of_case(case_id, "current")
        yield lambda case_id=case_id: services.work.round(case_id)


def ids_in(folder: Path) -> tuple[dict[str, str], str]:
    with closing(sqlite3.connect(folder / DATABASE)) as connection:
        cases = dict(connection.execute("SELECT case_id, document FROM case_revision WHERE number = 2").fetchall())
        (plan_id,) = connection.execute("SELECT id FROM plan").fetchone()
    return {document: case_id for case_id, document in cases.items()}, plan_id


@pytest.mark.slow
def test_a_flipped_bit_anywhere_is_told_in_words_and_what_is_shown_is_what_was_written(kept: Path, tmp_path: Path) -> None:
    rng = np.random.default_rng(SEED)
    size = (kept / DATABASE).stat().st_size
    offsets = [*range(0, 100, 13), *(int(o) for o in rng.integers(100, size, FLIPS))]
    written, plan_id = ids_in(kept)
    by_case = {case_id: json.loads(document) for document, case_id in written.items()}
    outcomes: dict[str, int] = {"whole": 0, "told": 0, "not opened": 0}
    for turn, offset in enumerate(offsets):
        folder = tmp_path / str(turn)
        folder.mkdir()
        shutil.copy(kept / MARKER, folder / MARKER)
        flipped(kept / DATABASE, folder / DATABASE, offset, int(rng.integers(8)))
        environment = FixedEnvironment(data_directory=folder, ids=1000)
        try:
            opened = opened_vault(environment, clear_allowed=True)
            with opened as vault, open_log(environment) as log:
                told = _used(PracticeServices(vault, log), vault.practice, by_case, plan_id)
            outcomes["told" if told else "whole"] += 1
        except StorageError as error:
            assert text(f"record.what.{error.trouble}") and text(f"record.remedy.{error.trouble}")
            outcomes["not opened"] += 1
        shutil.rmtree(folder)
    assert outcomes["told"] > 5 and outcomes["whole"] > 5, outcomes


def _used(services: PracticeServices, practice: Practice, by_case: dict[str, Any], plan_id: str) -> bool:
    """Ask for everything; return whether anything was refused. What is given has to be what was written."""
    told = services.about(None).record_note is not None
    for ask in asked(services, {str(n): case_id for n, case_id in enumerate(by_case)}):
        try:
            ask()
        except TOLD:
            told = True
    for case_id, document in by_case.items():
        try:
            found = services.open(case_id)
            if practice.store.trouble is None:
                assert found.document == document
                services.save(case_id, found.revision, {**found.document, "note": "and again"})
        except (*TOLD, Outdated, CaseFaults):
            told = True
    try:
        assert json.loads(services.stored_plan(plan_id))["format"].startswith("collum-plan/")
    except TOLD:
        told = True
    return told


# At the door itself


def test_a_folder_that_was_moved_is_told_with_what_to_do(served: Served) -> None:
    first = served.api("GET", "/cases").json()["cases"][0]["case_id"]
    case = served.api("GET", f"/cases/{first}").json()
    body = {"base_revision": case["revision"], "document": {**case["document"], "note": "not lost"}}
    elsewhere = served.data.with_name(f"{served.data.name}-elsewhere")
    served.data.rename(elsewhere)
    try:
        (error,) = refused(served.api("PUT", f"/cases/{first}", body), 503)
        assert (error["what"], error["allowed"]) == (text("record.page.what.moved"), text("record.remedy.moved"))
        assert served.api("GET", f"/cases/{first}").json() == case
    finally:
        elsewhere.rename(served.data)
    assert served.api("PUT", f"/cases/{first}", body).json()["revision"] == case["revision"] + 1


def test_a_damaged_case_hides_no_other_and_its_whole_save_can_be_had(served: Served) -> None:
    cases = served.api("GET", "/cases").json()["cases"]
    case_id = cases[1]["case_id"]
    case = served.api("GET", f"/cases/{case_id}").json()
    served.api("PUT", f"/cases/{case_id}", {"base_revision": 1, "document": {**case["document"], "note": "second"}})
    change = "UPDATE case_revision SET document = json_set(document, '$.note', 'forged') WHERE case_id = ? AND number = 2"
    with closing(sqlite3.connect(served.data / DATABASE)) as connection, connection:
        trigger = connection.execute("SELECT sql FROM sqlite_master WHERE name = 'case_revision_refuses_update'").fetchone()[0]
        connection.execute("DROP TRIGGER case_revision_refuses_update")
        connection.execute(change, (case_id,))
        connection.execute(trigger)
    listed = served.api("GET", "/cases").json()
    assert [one["case_id"] for one in listed["cases"]] == [one["case_id"] for one in cases if one["case_id"] != case_id]
    (damaged,) = listed["damaged"]
    assert (damaged["case_id"], damaged["whole"], damaged["reference"]) == (case_id, [1], cases[1]["reference"])
    (error,) = refused(served.api("GET", f"/cases/{case_id}"), 503)
    assert (error["what"], error["allowed"]) == (damaged["what"], damaged["remedy"])
    assert "save 2" in error["what"] and "save 1" in error["allowed"]
    assert served.api("GET", f"/cases/{case_id}/revisions/1").json()["document"] == case["document"]
    refused(served.api("GET", f"/cases/{case_id}/revisions/2"), 503)


def test_a_record_known_to_be_damaged_is_no_fault_of_our_own_and_the_log_still_knows(kept: Path, tmp_path: Path) -> None:
    shutil.copy(kept / DATABASE, tmp_path / DATABASE)
    with (tmp_path / DATABASE).open("r+b") as file:
        file.seek(2 * 4096)  # a page of the structure, not of a long text
        file.write(b"\xa5" * 2000)
    environment = FixedEnvironment(data_directory=tmp_path)
    with opened_vault(environment, clear_allowed=True) as vault, open_log(environment) as log:
        services = PracticeServices(vault, log)
        assert services.about(None).record_note == f"{text('record.what.damaged')} {text('record.page.remedy.damaged')}"
        with pytest.raises(NoStorage, match="does not hold what was written"), services._troubles():
            raise KeyError("met while reading what is damaged")
        with pytest.raises(CaseFaults):
            services.create({}, None)
    assert "KeyError" in log_file(environment).read_text(encoding="utf-8")

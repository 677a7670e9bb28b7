"""A fault in one route, planted: terminal, server and paper say which route it was and by which id the log tells of it."""

import json
import re
from pathlib import Path
from typing import Any

import pytest

from collum.app.logs import log_file
from collum.app.practice import Practice
from collum.app.safety.gate import NotCleared
from collum.case import to_document
from collum.plan.lengthening.procedures.bone_surgery import BoneSurgery
from collum.wording import text
from tests.cli.conftest import Run
from tests.cli.conftest import run as run  # the fixture
from tests.making.environment import FixedEnvironment
from tests.making.teeth import broken_premolar, case_of
from tests.papers.pages import words_of

FAILED = "soft tissue and bone"
UUID = r"[0-9a-f]{8}-[0-9a-f]{4}-7[0-9a-f]{3}-[0-9a-f]{4}-[0-9a-f]{12}"


@pytest.fixture(autouse=True)
def _planted(monkeypatch: pytest.MonkeyPatch) -> None:
    def fails(*_given: object, **_named: object) -> None:
        raise ZeroDivisionError("a secret of the case")

    monkeypatch.setattr(BoneSurgery, "plan", fails)


def crashes(data: Path) -> list[dict[str, Any]]:
    file = log_file(FixedEnvironment(data_directory=data))
    noted = [json.loads(line) for line in file.read_text(encoding="utf-8").splitlines()]
    return [line for line in noted if line["event"] == "crash"]


def test_the_terminal_tells_the_route_and_the_id_in_the_log(run: Run, tmp_path: Path) -> None:
    case_file = tmp_path / "case.json"
    case_file.write_text(json.dumps(to_document(case_of(broken_premolar()))), encoding="utf-8")
    ran = run("plan", case_file)
    page = re.sub(r"\s+", " ", ran.out)
    (noted,) = crashes(tmp_path / "data")
    assert (ran.status, ran.err) == (0, "")
    assert re.search(rf"{text(f'screen.route.name.{FAILED}')} +not assessed", ran.out)
    assert f"could not be calculated because of an error in the program (error {noted['id']})" in page
    assert "Not now: a procedure that might be recommended" in page
    assert re.search(r"Extrusion first +(unlikely|short)", ran.out)
    assert noted["kind"] == "ZeroDivisionError" and "secret" not in json.dumps(noted)


def test_a_kept_plan_and_its_paper_tell_it_and_the_routes_own_paper_is_refused(practice: Practice) -> None:
    opened = practice.create(to_document(case_of(broken_premolar())))
    stored = practice.store_plan(opened.case_id, revision=1)
    tooth = json.loads(stored.result)["teeth"][0]
    route = next(r for r in tooth["routes"] if r["name"] == FAILED)
    (noted,) = crashes(practice.environment.data_directory)
    assert route["verdict"] == "not assessed" and route["explanation"][0]["parameters"] == {"id": noted["id"]}
    assert tooth["recommended_route"] is None
    page = re.sub(r"\s+", "", words_of(practice.paper(stored.id, "plan-sheet")))
    assert noted["id"] in page and "becauseofanerrorintheprogram" in page
    with pytest.raises(NotCleared):
        practice.paper(stored.id, "flap-sheet")

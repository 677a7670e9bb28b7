"""The other doors: the command line, the shipped cases, two teeth in one case, a record that was tampered with."""

import io
import json
import shutil
import sqlite3
import sys
from collections.abc import Callable, Mapping
from contextlib import closing, suppress
from dataclasses import replace
from itertools import product
from pathlib import Path
from typing import Any

import pytest

from collum.app.demo import demo_cases
from collum.app.environment import SystemEnvironment, utc_text
from collum.app.practice import Practice, open_practice
from collum.case import Case
from collum.cli.main import main
from collum.plan.safety import ROUTES
from collum.records import DATABASE
from tests.judged.gate.cases import CASE_OF, PROCEDURE, TWO_TEETH, case_told, document_told, offering, shipped
from tests.judged.gate.doors import PAPER, Chair, file_opens, planned, refused, without_waiting
from tests.judged.gate.expected import Told
from tests.judged.gate.said import WAYS, Way
from tests.judged.gate.sequences import cleared
from tests.judged.gate.test_tricks import closing_ways
from tests.judged.gate.truth import JUDGED, Operation
from tests.making.environment import FixedEnvironment

NOTHING = Told(ways=(), answered_for=False)
REFUSED_FOR_SAFETY, FAULTY, DONE = 3, 2, 0


@pytest.fixture(autouse=True)
def _without_waiting(monkeypatch: pytest.MonkeyPatch) -> None:
    without_waiting(monkeypatch)


@pytest.fixture
def environment(tmp_path: Path) -> FixedEnvironment:
    return FixedEnvironment(data_directory=tmp_path / "practice")


# The command line


def told_now(operation: Operation, *ways: Way) -> bytes:
    """Return the file of a case whose visit was opened just now by the clock of this machine."""
    document = document_told(CASE_OF[operation], Told(ways=ways, answered_for=False), operation)
    opened_at = utc_text(SystemEnvironment(data_directory=Path()).now())
    document["visits"][0]["opened_at"] = opened_at
    document["visits"][0]["time_outs"] = [{**one, "at": opened_at} for one in document["visits"][0].get("time_outs", ())]
    return json.dumps(document).encode()


@pytest.fixture
def report(tmp_path: Path, monkeypatch: pytest.MonkeyPatch) -> Callable[..., tuple[int, bool]]:
    """Run `collum report` on a file; return its exit status and whether it wrote a paper."""
    monkeypatch.setenv("COLLUM_DATA", str(tmp_path / "data"))
    target = tmp_path / "paper.pdf"

    def run(data: bytes, *options: str, piped: bool = False) -> tuple[int, bool]:
        target.unlink(missing_ok=True)
        file = tmp_path / "case.json"
        file.write_bytes(data)
        monkeypatch.setattr(sys, "stdin", io.TextIOWrapper(io.BytesIO(data)))
        status = main(["report", "-" if piped else str(file), "--pdf", str(target), *options])
        return status, target.exists()

    return run


@pytest.mark.parametrize("operation", JUDGED)
def test_the_command_line_prints_the_paper_of_a_clean_case_alone(
    operation: Operation, report: Callable[..., tuple[int, bool]]
) -> None:
    paper = ("--paper", PAPER[operation])
    assert report(told_now(operation), *paper) == (DONE, True)
    for way in closing_ways(operation)[JUDGED.index(operation) :: 2]:
        assert report(told_now(operation, way), *paper) == (REFUSED_FOR_SAFETY, False), way.name


@pytest.mark.parametrize("operation", JUDGED)
def test_no_option_of_the_command_line_prints_a_closed_paper(
    operation: Operation, report: Callable[..., tuple[int, bool]]
) -> None:
    data, kind = told_now(operation, next(way for way in WAYS if way.name == "bleeding_disorder=yes")), PAPER[operation]
    number = json.loads(data)["teeth"][0]["number"]
    spelled = (kind.upper(), f"{kind} ", f"{kind}.pdf", kind.replace("-", "_"), kind.replace("-", "\u2010"), f"=={kind}", "")
    for options in (
        *(("--paper", name) for name in spelled),
        *(("--paper", kind, *more) for more in (("--force",), ("--seed", "1"), ("--draws", "100"), ("--errors", "json"))),
        *(("--paper", kind, "--tooth", tooth) for tooth in (str(number), "11", f"{number} iso", "0", "-1", "")),
        *(("--paper", kind, more) for more in ("--cleared", "--override", "--for=current", "--yes", "--copy=referral")),
        ("--paper", "plan-sheet", "--paper", kind),
        (f"--paper={kind}",),
        ("--", "--paper", kind),
    ):
        status, written = report(data, *options, piped="--force" in options)
        assert not written and status in (REFUSED_FOR_SAFETY, FAULTY), options


# What the route gives


@pytest.mark.parametrize("case", demo_cases(), ids=lambda case: case.patient.reference)
def test_clean_answers_open_what_the_plan_of_a_shipped_case_offers_and_nothing_else(case: Case, tmp_path: Path) -> None:
    reference = case.patient.reference
    for operation in JUDGED:
        told = document_told(reference, NOTHING, operation)
        tooth = planned(case_told(reference, NOTHING, operation)).teeth[0]
        name = ROUTES[PROCEDURE[operation]]
        route = next(route for route in tooth.routes if route.name == name)
        offered = route.verdict in ("kept", "in doubt")
        assert file_opens(json.dumps(told).encode(), operation, tmp_path) <= offered
        recorded = told["patient"].get("drugs") or told["patient"].get("history")  # counts whatever is answered
        # An open route may still do nothing that its paper is for; what a cut of gum removes is not asked here.
        done = route.summary.bone_most_mm if operation == "flap" else route.summary.extrusion_mm
        if offered and operation in ("flap", "movement") and done > 0 and not recorded:
            assert file_opens(json.dumps(told).encode(), operation, tmp_path)


# Two teeth in one case


def _answers_of(document: dict[str, Any], number: int, **changes: str) -> dict[str, Any]:
    for tooth in document["visits"][-1]["teeth"]:
        if tooth["number"] == number:
            tooth["answers"] |= changes
    return document


def test_a_stop_at_one_tooth_closes_its_card_and_not_that_of_the_other(
    practice: Practice, environment: FixedEnvironment
) -> None:
    chair = Chair(practice, environment, shipped(TWO_TEETH))
    cleared(chair, "current")
    first, second = (tooth["number"] for tooth in chair.document["teeth"])
    chair.save(_answers_of(chair.document, second, acute_infection="yes"))
    assert not chair.opens("current", tooth=1, with_round=False)
    assert refused(lambda: chair.issue(chair.plans[0], 1))
    assert chair.opens("current", tooth=0, with_round=False)
    document = chair.document
    document["teeth"].reverse()  # the positions of the plan are those of its own case
    chair.save(document)
    chair.answer()
    chair.save(_answers_of(chair.document, second, acute_infection="yes"))
    assert refused(lambda: chair.issue(chair.plans[0], 0)) and refused(lambda: chair.issue(chair.plans[0], 1))
    assert not chair.opens_of(chair.plan(), "current", 0)
    assert chair.opens_of(chair.plans[-1], "current", 1)
    assert first != second


def test_a_stop_of_the_patient_closes_the_cards_of_all_teeth(practice: Practice, environment: FixedEnvironment) -> None:
    chair = Chair(practice, environment, shipped(TWO_TEETH))
    cleared(chair, "current")
    chair.answer(next(way for way in WAYS if way.name == "cardiac_device=yes"))
    assert not any(chair.opens("current", tooth=tooth, with_round=False) for tooth in (0, 1))


# A record that was tampered with. Who makes the hash anew as well, or takes out the newest revision whole, is not found yet.

TAMPERED: Mapping[str, str] = {
    "an answer changed": """UPDATE case_revision
        SET document = replace(document, '"bleeding_disorder":"yes"', '"bleeding_disorder":"no"')""",
    "the revisions numbered down": "UPDATE case_revision SET number = -number",
    "the visit moved on": "UPDATE case_revision SET document = replace(document, '2026-05-01T08', '2026-05-01T09')",
    "the plan says cleared": """UPDATE plan SET result = replace(result, '"safety_cleared":false', '"safety_cleared":true')""",
    "the plan is of another revision": "UPDATE plan SET revision_id = (SELECT id FROM case_revision WHERE number = 1)",
    "the card is of the newest revision": """UPDATE card SET revision_id =
        (SELECT id FROM case_revision ORDER BY number DESC LIMIT 1)""",
    "a card is written": """INSERT INTO card SELECT 'x', plan.id, case_revision.id, 0, '{"cleared": true}', 'x', plan.made_at,
        plan.zone, plan.author, '{}' FROM plan, case_revision LIMIT 1""",
    "a card without points is written": """INSERT INTO card SELECT 'x', plan.id, case_revision.id, 0,
        '{"cleared": true, "visit": null, "points": [], "teeth": []}', 'x', plan.made_at, plan.zone, plan.author, '{}'
        FROM plan, case_revision LIMIT 1""",
}


@pytest.mark.parametrize("operation", JUDGED)
def test_a_record_that_was_tampered_with_opens_no_paper(
    tmp_path: Path, environment: FixedEnvironment, operation: Operation
) -> None:
    with open_practice(environment) as practice:
        chair = Chair(practice, environment, offering(operation))
        plan_id = cleared(chair, operation)
        chair.answer(next(way for way in WAYS if way.name == "bleeding_disorder=yes"))
    for unlocked, (name, statement) in product((False, True), TAMPERED.items()):
        folder = tmp_path / f"{name}, {unlocked}"
        shutil.copytree(environment.data_directory, folder)
        tamper(folder / DATABASE, statement, unlocked=unlocked)
        with open_practice(replace(environment, data_directory=folder)) as practice:
            chair.practice = practice
            assert not chair.opens_of(plan_id, operation), (name, unlocked)


def tamper(database: Path, statement: str, *, unlocked: bool) -> None:
    """Run a statement on a database, `unlocked` without the triggers that refuse a change."""
    with closing(sqlite3.connect(database)) as connection:
        if unlocked:
            for (name,) in connection.execute("SELECT name FROM sqlite_master WHERE type = 'trigger'").fetchall():
                connection.execute(f"DROP TRIGGER {name}")
        with suppress(sqlite3.DatabaseError):
            connection.execute(statement)
        connection.commit()

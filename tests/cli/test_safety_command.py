"""`collum safety`, and a card that is refused with exit status 3 while anything keeps it closed."""

import json
from datetime import timedelta
from pathlib import Path
from typing import Any

import pytest

from collum.app.environment import SystemEnvironment, utc_text
from collum.evidence.safety_rules import RULES
from tests.cli.conftest import Run
from tests.making.answers import answered


def moment(away: timedelta = timedelta(0)) -> str:
    """The machine's own clock counts here, as at the chair."""
    return utc_text(SystemEnvironment(data_directory=Path()).now() + away)


@pytest.fixture
def case_of(tmp_path: Path, document: dict[str, Any]) -> Any:
    def write(changes: dict[str, str | None] | None = None, **visit: Any) -> Path:
        file = tmp_path / "answered.json"
        file.write_text(json.dumps(answered(document, changes, **{"opened_at": moment(), **visit})), encoding="utf-8")
        return file

    return write


def test_every_question_is_printed_where_nothing_was_answered(run: Run, case_file: Path) -> None:
    ran = run("safety", case_file)
    assert (ran.status, ran.err) == (0, "")
    assert "Not cleared: safety questions unanswered." in ran.out
    for rule in RULES:
        assert f"· {rule.id}: " in ran.out
    assert "Another instrument than current" in ran.out


def test_a_cleared_case_says_by_what_and_until_when(run: Run, case_of: Any) -> None:
    ran = run("safety", case_of({"allergy": "yes"}))
    assert "Cleared by the answers of" in ran.out and "asked by DN" in ran.out
    assert "The answers count until" in ran.out
    assert "screening.allergy: precaution." in ran.out


def test_the_answer_as_json_is_the_screening(run: Run, case_of: Any) -> None:
    found = json.loads(run("safety", case_of({"cochlear_implant": "yes", "masks": None}), "--json").out)
    assert (found["cleared"], found["unanswered"]) == (False, 1)
    assert {point["rule"] for point in found["points"]} == {"cochlear_implant", "masks"}


def test_the_checklist_is_written_whole_and_never_over_a_file(run: Run, case_file: Path, tmp_path: Path) -> None:
    target = tmp_path / "list.pdf"
    assert run("safety", case_file, "--pdf", target).status == 0
    assert target.read_bytes().startswith(b"%PDF-")
    assert run("safety", case_file, "--pdf", target).status == 2
    assert run("safety", case_file, "--pdf", target, "--force").status == 0


def test_the_letter_is_written_where_there_is_something_to_ask(run: Run, case_of: Any, tmp_path: Path) -> None:
    target = tmp_path / "letter.pdf"
    ran = run("safety", case_of(), "--letter", target)
    assert (ran.status, ran.out, target.exists()) == (2, "", False)
    assert ran.err.startswith("--letter: ")
    assert run("safety", case_of({"pregnant": "yes"}), "--letter", target).status == 0
    assert target.read_bytes().startswith(b"%PDF-")
    assert run("safety", case_of({"pregnant": "yes"}), "--letter", target).status == 2


@pytest.mark.parametrize("rule", [rule for rule in RULES if rule.outcome == "stop"], ids=lambda rule: rule.id)
def test_a_stop_refuses_the_card(run: Run, case_of: Any, tmp_path: Path, rule: Any) -> None:
    target = tmp_path / "card.pdf"
    ran = run("report", case_of({rule.id: rule.on}), "--pdf", target, "--paper", "chairside-card", "--draws", 100, "--force")
    assert ran.status == 3
    assert not target.exists()
    assert f".{rule.id}" in ran.err.splitlines()[0] and "no override" in ran.err
    assert "Another instrument than current is always open to you." in ran.err


def test_a_cleared_case_prints_its_card(run: Run, case_of: Any, tmp_path: Path) -> None:
    target = tmp_path / "card.pdf"
    ran = run("report", case_of(), "--pdf", target, "--paper", "chairside-card")
    assert (ran.status, ran.out, ran.err) == (0, "", "")
    assert target.read_bytes().startswith(b"%PDF-")


@pytest.mark.parametrize("away", [timedelta(hours=-13), timedelta(days=-1), timedelta(hours=1)], ids=str)
def test_answers_of_another_day_or_of_tomorrow_refuse_the_card(run: Run, case_of: Any, tmp_path: Path, away: timedelta) -> None:
    ran = run("report", case_of(opened_at=moment(away)), "--pdf", tmp_path / "card.pdf", "--paper", "chairside-card")
    assert ran.status == 3
    assert "opened_at" in ran.err


def test_the_refusal_is_json_where_that_was_asked(run: Run, case_file: Path, tmp_path: Path) -> None:
    ran = run("report", case_file, "--pdf", tmp_path / "c.pdf", "--paper", "chairside-card", "--errors", "json")
    assert ran.status == 3
    (fault,) = json.loads(ran.err.splitlines()[0])["errors"]
    assert set(fault) == {"where", "what", "allowed", "value"}


@pytest.mark.parametrize(
    "edit",
    [
        lambda d: d.update(safety_cleared=True),
        lambda d: d["visits"][0].update(cleared=True),
        lambda d: d["visits"][0]["overrides"].append({"rule": "cardiac_device", "name": "X", "reason": "y", "at": moment()}),
        lambda d: d["visits"][0]["screening"].update(cardiac_device="maybe"),
        lambda d: d["visits"][0].update(opened_at="today"),
    ],
    ids=["a key that clears", "a visit that clears", "an override of a stop", "another answer", "no moment"],
)
def test_an_edited_file_is_refused_as_faulty(run: Run, case_of: Any, tmp_path: Path, edit: Any) -> None:
    file = case_of({"cardiac_device": "yes"}, overrides=[])
    document = json.loads(file.read_text(encoding="utf-8"))
    edit(document)
    file.write_text(json.dumps(document), encoding="utf-8")
    ran = run("report", file, "--pdf", tmp_path / "card.pdf", "--paper", "chairside-card")
    assert ran.status == 2
    assert not (tmp_path / "card.pdf").exists()

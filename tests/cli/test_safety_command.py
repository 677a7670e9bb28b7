"""`collum safety`, and a card that is refused with exit status 3 while anything keeps it closed."""

import json
from datetime import timedelta
from pathlib import Path
from typing import Any

import pytest

from collum.app.environment import SystemEnvironment, utc_text
from collum.evidence.safety_rules import RULES
from collum.wording import text
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
        assert (f"· {rule.id}: " in ran.out) is ("current" in rule.outcomes)
    assert "Instead of current, a scalpel" in ran.out


def test_a_cleared_case_says_by_what_and_until_when(run: Run, case_of: Any) -> None:
    ran = run("safety", case_of({"allergy": "yes"}))
    assert "none keeps it closed: answers of" in ran.out and "asked by DN" in ran.out
    assert "The answers count until" in ran.out
    assert "screening.allergy: precaution." in ran.out


def test_what_was_answered_for_another_plan_is_named_with_its_question_and_the_mark_that_is_lacking(
    run: Run, case_of: Any, tmp_path: Path
) -> None:
    file = case_of()
    document = json.loads(file.read_text(encoding="utf-8"))
    document["teeth"][0]["held"] = {"cut": {"F": -1.0}}
    file.write_text(json.dumps(document), encoding="utf-8")
    ran = run("safety", file)
    assert "Not cleared: 11 open; 11 of them were answered for another plan and are asked again." in ran.out
    head, _, listed = ran.out.partition("Answered for another plan: look at the plan as it is now, then answer again")
    assert "· visits[0].room.right_patient: Person, tooth and plan confirmed with the patient?" in listed
    target = tmp_path / "card.pdf"
    refused = run("report", file, "--pdf", target, "--paper", "chairside-card", "--draws", 100)
    assert refused.status == 3 and not target.exists() and "Answered for another plan" in refused.err
    mark = head.split("(given_for): ")[1].split()[0]
    for part in (document["visits"][0], document["visits"][0]["teeth"][0]):
        part["given_for"] = dict.fromkeys(part["given_for"], mark)
    for entry in document["visits"][0]["time_outs"]:
        entry["given_for"] = mark
    file.write_text(json.dumps(document), encoding="utf-8")
    assert "none keeps it closed: answers of" in run("safety", file).out


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


@pytest.mark.parametrize("procedure", ["bone", "movement"])
def test_an_operation_without_current_is_asked_what_concerns_it(
    run: Run, case_file: Path, case_of: Any, procedure: Any
) -> None:
    ran = run("safety", case_file, "--for", procedure)
    assert text(f"safety.procedure.{procedure}") in ran.out and "return plate" not in ran.out.casefold()
    for rule in RULES:
        assert (f"· {rule.id}: " in ran.out) is (procedure in rule.outcomes)
    found = json.loads(run("safety", case_of({"cardiac_device": "yes"}), "--for", procedure, "--json").out)
    assert (found["procedure"], found["cleared"]) == (procedure, True)


@pytest.mark.parametrize("rule", [rule for rule in RULES if rule.outcome == "stop"], ids=lambda rule: rule.id)
def test_a_stop_refuses_the_card(run: Run, case_of: Any, tmp_path: Path, rule: Any) -> None:
    target = tmp_path / "card.pdf"
    ran = run("report", case_of({rule.id: rule.on}), "--pdf", target, "--paper", "chairside-card", "--draws", 100, "--force")
    assert ran.status == 3
    assert not target.exists()
    assert f".{rule.id}" in ran.err.splitlines()[0] and "no override" in ran.err
    assert "This paper stays closed" in ran.err


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
        lambda d: d["visits"][0]["overrides"].append({"rule": "cochlear_implant", "name": "X", "reason": "y", "at": moment()}),
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

"""What the layers add to the gate: no paper without the time-out, and no earlier answer that was not read out.

Each case is clean but for one thing, which has to close every operation by itself.
"""

import copy
import json
from collections.abc import Callable, Mapping
from pathlib import Path
from typing import Any

import pytest

from collum.case import from_document
from collum.plan.patient.answers import list_mark
from collum.plan.safety import screen
from tests.judged.gate.cases import CASE_OF, NOW, PROCEDURE, document_told
from tests.judged.gate.doors import file_opens, without_waiting
from tests.judged.gate.expected import Told
from tests.judged.gate.said import WAYS
from tests.judged.gate.truth import JUDGED, Operation

Document = dict[str, Any]
CLEAN = Told(ways=(), answered_for=False)
CARRIED_AT, LONG_AGO = "2025-06-01T08:00:00Z", "2025-04-30T07:59:59Z"
HISTORY_OF_TODAY = ("consent",)  # what of the patient is answered at each visit


@pytest.fixture(autouse=True)
def _without_waiting(monkeypatch: pytest.MonkeyPatch) -> None:
    without_waiting(monkeypatch)


def opens(document: Document, operation: Operation, folder: Path) -> bool:
    return file_opens(json.dumps(document).encode(), operation, folder)


def _counted(**changes: Any) -> Callable[[Document], None]:
    def change(document: Document) -> None:
        for entry in document["visits"][-1]["time_outs"]:
            entry |= changes

    return change


def _other_side(document: Document) -> None:
    for entry in document["visits"][-1]["time_outs"]:
        entry["side"] = "left" if entry["side"] == "right" else "right"


def _instruments_exchanged(document: Document) -> None:
    wrong = {"current": "scalpel", "scalpel": "electrode", "bone": "electrode", "movement": "electrode"}
    operation = document.pop("operation")
    for entry in document["visits"][-1]["time_outs"]:
        entry["instrument"] = wrong[PROCEDURE[operation]]


def _said_alone(document: Document) -> None:
    """The answer of older files is there, the entry is not."""
    assert document["visits"][-1]["room"]["time_out"] == "yes"
    document["visits"][-1].pop("time_outs")


def _nobody(layer: str) -> Callable[[Document], None]:
    def change(document: Document) -> None:
        document["visits"][-1]["answered_by"].pop(layer)

    return change


WRONG: Mapping[str, Callable[[Document], None]] = {
    "answered as in older files": _said_alone,
    "another tooth": _counted(tooth=17),
    "the other side": _other_side,
    "another instrument": _instruments_exchanged,
    "before the visit": _counted(at="2026-05-01T07:59:59Z"),
    "in a year": _counted(at="2027-05-01T08:00:00Z"),
    "for another plan": _counted(given_for="0" * 16),
    "by a blank name": _counted(name=" "),
    "by a name nobody sees": _counted(name="\u200b"),
    "nobody for the agreement": _nobody("agreement"),
    "nobody for the history": _nobody("history"),
    "nobody for tooth and place": _nobody("tooth"),
    "nobody for the room": _nobody("room"),
}


@pytest.mark.parametrize("operation", JUDGED)
@pytest.mark.parametrize("name", WRONG)
def test_a_wrong_or_missing_time_out_and_answers_of_nobody_close(name: str, operation: Operation, tmp_path: Path) -> None:
    document = document_told(CASE_OF[operation], CLEAN, operation)
    if name == "another instrument":
        document["operation"] = operation
    WRONG[name](document)
    assert not opens(document, operation, tmp_path)


def carried(operation: Operation, *, at: str = CARRIED_AT, marked: bool = True) -> Document:
    """A visit of today whose history was asked in full at another, and read out today where it is `marked`."""
    document = document_told(CASE_OF[operation], CLEAN, operation)
    today = document["visits"][0]
    earlier = {"date": at[:10], "kind": "cut", "by": "DN", "opened_at": at, "screening": dict(today["screening"])}
    today["screening"] = {rule: today["screening"][rule] for rule in HISTORY_OF_TODAY}
    document["visits"] = [earlier, today]
    return read_out(document) if marked else document


def read_out(document: Document) -> Document:
    """Return the document with its list read out as it is."""
    today = document["visits"][-1]
    today["read_out"] = {"list": list_mark(from_document(document)), "by": "AB", "at": today["opened_at"]}
    return document


@pytest.mark.parametrize("operation", JUDGED)
def test_an_earlier_history_counts_once_it_was_read_out(operation: Operation, tmp_path: Path) -> None:
    assert opens(carried(operation), operation, tmp_path)
    assert not opens(carried(operation, marked=False), operation, tmp_path)
    assert not opens(carried(operation, at=LONG_AGO), operation, tmp_path)


def _earlier(**answers: Any) -> Callable[[Document], None]:
    def change(document: Document) -> None:
        for rule, answer in answers.items():
            if answer is None:
                document["visits"][0]["screening"].pop(rule)
            else:
                document["visits"][0]["screening"][rule] = answer

    return change


def _patient(**changes: Any) -> Callable[[Document], None]:
    return lambda document: document["patient"].update(changes)


def _today(**changes: Any) -> Callable[[Document], None]:
    return lambda document: document["visits"][-1].update(changes)


def _read(**changes: Any) -> Callable[[Document], None]:
    return lambda document: document["visits"][-1]["read_out"].update(changes)


CHANGED: Mapping[str, Callable[[Document], None]] = {
    "an earlier answer changed": _earlier(smoking="yes"),
    "an earlier answer gone": _earlier(asthma=None),
    "an answer of today changed": lambda document: document["visits"][-1]["screening"].update(smoking="yes"),
    "a drug more": _patient(drugs=["paracetamol"]),
    "an illness more": _patient(history={"asthma": {}}),
    "read out before the visit": _read(at="2026-05-01T07:00:00Z"),
    "read out in a year": _read(at="2027-05-01T08:00:00Z"),
    "another list read out": _read(list="0" * 16),
    "the earlier visit not opened": lambda document: document["visits"][0].pop("opened_at"),
    "the earlier visit dated after it": lambda document: document["visits"][0].update(opened_at="2026-05-01T08:00:01Z"),
}


@pytest.mark.parametrize("name", CHANGED)
def test_a_list_that_changed_after_it_was_read_out_closes(name: str, tmp_path: Path) -> None:
    document = carried("flap")
    CHANGED[name](document)
    assert not opens(document, "flap", tmp_path)


@pytest.mark.parametrize("operation", JUDGED)
def test_an_earlier_answer_that_closes_closes_after_it_was_read_out(operation: Operation) -> None:
    """What was said at the full history, or at a visit since, acts as if it was said today."""
    for way in WAYS:
        if way.part != "screening" or way.unsaid or way.key in HISTORY_OF_TODAY:
            continue
        document = carried(operation, marked=False)
        document["visits"][0]["screening"][way.key] = way.answer
        told = document_told(CASE_OF[operation], Told(ways=(way,), answered_for=False), operation)
        expected = {(point.rule, point.outcome) for point in screened(told, operation) if point.closes}
        found = {(point.rule, point.outcome) for point in screened(read_out(document), operation) if point.closes}
        assert found == expected, way.name
        between = copy.deepcopy(carried(operation, marked=False))
        visit = {**between["visits"][0], "opened_at": "2026-01-01T08:00:00Z", "screening": {way.key: way.answer}}
        between["visits"].insert(1, visit)
        found = {(point.rule, point.outcome) for point in screened(read_out(between), operation) if point.closes}
        assert found == expected, way.name


def screened(document: Document, operation: Operation) -> Any:
    return screen(from_document(document), PROCEDURE[operation], now=NOW).all_points  # type: ignore[arg-type]  # a procedure

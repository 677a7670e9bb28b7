"""Tricks with a case file, by the hundred: none prints a paper of an operation over a fact that closes it."""

import json
from collections.abc import Iterator
from pathlib import Path
from typing import Any

import pytest

from collum.case import from_document, plan_mark
from tests.judged.gate.cases import CASE_OF, PROCEDURE, document_told, override_of
from tests.judged.gate.doors import file_opens, without_waiting
from tests.judged.gate.expected import Told, asked_of_one
from tests.judged.gate.said import WAYS, Way
from tests.judged.gate.tricks import Spoilt, tricks
from tests.judged.gate.truth import JUDGED, Operation

WAYS_FOR_EACH_TRICK = 2  # of each operation; the campaign takes all of them


@pytest.fixture(autouse=True)
def _without_waiting(monkeypatch: pytest.MonkeyPatch) -> None:
    without_waiting(monkeypatch)


def closing_ways(operation: Operation) -> list[Way]:
    """Return the ways that close an operation by an answer or by the record, apart from those that close its route."""
    return [
        way
        for way in WAYS
        if not way.unsaid
        and way.answer != "unknown"
        and asked_of_one(way, operation, answered_for=True) == "stays closed"
        and (way.part != "record" or way.key in ("implant_beside", "apical_state"))
    ]


def spoilt(way: Way, operation: Operation) -> Spoilt:
    document = document_told(CASE_OF[operation], Told(ways=(way,), answered_for=False), operation)
    case = from_document(document)
    return Spoilt(document=document, way=way, operation=operation, number=case.teeth[0].number, mark=plan_mark(case))


def attempts(operation: Operation, most: int | None) -> Iterator[tuple[Way, str]]:
    """Yield each trick with the ways it can be tried on, `most` of them, others for every trick."""
    closing = closing_ways(operation)
    for turn, name in enumerate(dict.fromkeys(name for way in closing for name in tricks(way))):
        fitting = [way for way in closing if name in tricks(way)]
        tried = fitting if most is None else [fitting[(turn + i * len(fitting) // most) % len(fitting)] for i in range(most)]
        yield from ((way, name) for way in dict.fromkeys(tried))


def holes(operation: Operation, folder: Path, most: int | None) -> tuple[int, list[str]]:
    """Return how many tricks were tried, and those that printed the paper."""
    tried = list(attempts(operation, most))
    found = []
    for way, name in tried:
        made = tricks(way)[name](spoilt(way, operation))
        data = made if isinstance(made, bytes) else json.dumps(made).encode()
        if file_opens(data, operation, folder):
            found.append(f"{way.name}: {name}")
    return len(tried), found


@pytest.mark.parametrize("operation", JUDGED)
def test_no_trick_with_a_file_opens_a_paper(operation: Operation, tmp_path: Path) -> None:
    tried, found = holes(operation, tmp_path, WAYS_FOR_EACH_TRICK)
    assert found == [] and tried > 100


def cautions_that_close(operation: Operation) -> list[Way]:
    """Return the ways that close an operation until somebody answers for them."""
    said = (way for way in WAYS if not way.unsaid and way.answer != "unknown")
    asked = ((way, [asked_of_one(way, operation, answered_for=by_name) for by_name in (False, True)]) for way in said)
    return [way for way, found in asked if found == ["stays closed", "opens"]]


def means_the_same(made: dict[str, Any], given: Spoilt) -> bool:
    """Whether the override in a changed document says no more and no less than an honest one."""
    honest = override_of(given.way, given.number, given.mark, given.operation)
    bound = {"given_for"} if "given_for" in honest else set()
    asked = {"rule", "tooth", "at", *bound} | (set() if given.operation == "current" else {"procedure"})
    (entry, *others) = made["visits"][-1]["overrides"]
    readable = all(any(letter.isalnum() for letter in str(entry.get(key, ""))) for key in ("name", "reason"))
    spoken = entry.get("procedure", "current") in PROCEDURE.values() if "procedure" not in asked else True
    return not others and readable and spoken and all(entry.get(key) == honest.get(key) for key in asked)


@pytest.mark.parametrize("operation", JUDGED)
def test_a_caution_that_closes_is_opened_by_a_readable_name_at_its_time_for_its_operation(
    operation: Operation, tmp_path: Path
) -> None:
    for way in cautions_that_close(operation):
        given = spoilt(way, operation)
        assert not file_opens(json.dumps(given.document).encode(), operation, tmp_path), way.name
        for name, trick in tricks(way).items():
            made = trick(given)
            if name.startswith("override ") and isinstance(made, dict):
                opens = file_opens(json.dumps(made).encode(), operation, tmp_path)
                assert opens == means_the_same(made, given), f"{way.name}: {name}"


@pytest.mark.campaign
@pytest.mark.parametrize("operation", JUDGED)
def test_no_trick_with_a_file_opens_a_paper_for_any_fact(operation: Operation, tmp_path: Path) -> None:
    tried, found = holes(operation, tmp_path, None)
    assert found == [] and tried > 500

"""The program answers a few frozen cases as it did, and by campaign all of them; what differs is found and named.

`make golden` looks at all of them with a list of what differs; `make golden ARGS=renew` keeps new answers. See decision 56.
"""

import ast
from typing import Any

import numpy as np
import pytest

from tests.golden.answers import FEW, ONCE, TWICE
from tests.golden.comparing import all_answers, answers_of, beside_cases, differences, table, within
from tests.golden.fields import RELATIVE, answer_of, briefly, difference, fields_of
from tests.golden.store import HERE, Answers, frozen_cases, read_answers

QUICK = tuple(f"{part}-{FEW}" for part in TWICE if part != "heat")
# Cases whose answers differ in kind: kept, short, in doubt, all routes, a bridge, several teeth. One each with heat and papers.
CASES: dict[str, tuple[str, ...]] = {
    "demo AQ-07 answered": (*QUICK, f"heat-{FEW}", *ONCE),
    "demo AQ-09 answered": (*QUICK, *ONCE),
    "demo AQ-12": QUICK,
    "demo AQ-20": QUICK,
    "demo AQ-31": QUICK,
    "demo AQ-41": (*QUICK, "safety"),
    "plausible 3": QUICK,
    "plausible 13": (*QUICK, "safety"),
    "coherent 6": QUICK,
    "coherent 53": (*QUICK, "safety"),
    "many 7": (*QUICK, "safety"),
}
EVERY = 4  # one in so many case files


@pytest.fixture(scope="module")
def kept() -> Answers:
    return read_answers()


@pytest.mark.slow
@pytest.mark.parametrize("name", CASES)
def test_a_few_cases_are_answered_as_before(kept: Answers, name: str) -> None:
    case = next(case for case in frozen_cases() if case.name == name)
    now = {part: {name: fields} for part, fields in answers_of(case, CASES[name]).items()}
    assert_same(kept, now)


@pytest.mark.slow
def test_case_files_are_answered_as_before_and_no_constant_has_moved(kept: Answers) -> None:
    assert_same(kept, beside_cases(EVERY))


@pytest.mark.campaign
@pytest.mark.timeout(7200)
def test_every_answer_is_as_before(kept: Answers) -> None:
    assert [str(one) for one in differences(kept, all_answers())] == []


def assert_same(kept: Answers, now: Answers) -> None:
    """Judge `now` against the kept answers to the same cases; the machine decides how closely."""
    before = {"machine": kept["machine"], **within(kept, now)}
    assert [str(one) for one in differences(before, {"machine": beside_cases(1_000)["machine"], **now})] == []


def test_nothing_but_the_doors_knows_where_things_are_in_the_program() -> None:
    """Cases are frozen by code that is run for that alone."""
    knowing = {path.name for path in HERE.glob("*.py") if "collum" in _imported(path.read_text(encoding="utf-8"))}
    assert knowing == {"doors.py", "freezing.py"}


def _imported(source: str) -> set[str]:
    tree = ast.walk(ast.parse(source))
    named = [name.name for node in tree if isinstance(node, ast.Import) for name in node.names]
    named += [str(node.module) for node in ast.walk(ast.parse(source)) if isinstance(node, ast.ImportFrom)]
    return {name.split(".")[0] for name in named}


DOCUMENT: dict[str, Any] = {
    "teeth": [
        {
            "routes": [
                {"name": "one", "line": [1.0, 2.0, 3.0, 4.0, 5.0], "why": {"key": "a", "text": "Long words of a sentence."}},
                {"name": "two", "line": None, "why": {"key": "b", "text": "Other words of a sentence."}},
            ]
        }
    ]
}


def test_a_field_has_the_path_of_its_route_and_many_numbers_their_figures() -> None:
    found = fields_of(DOCUMENT, whole=False)
    assert found["teeth[].routes[two].line"] == "[null]"
    line = found["teeth[].routes[one].line[]"]
    assert {name: line[name] for name in ("n", "mean", "least", "greatest")} == {
        "n": 5,
        "mean": 3.0,
        "least": 1.0,
        "greatest": 5.0,
    }
    assert set(found["words"]) == {"n", "h"}
    assert fields_of(DOCUMENT, whole=True)["teeth[].routes[one].why.text"] == "Long words of a sentence."


def test_a_brief_answer_has_one_field_of_numbers_for_each_route() -> None:
    found = briefly(DOCUMENT)
    assert found["teeth[].routes[one] numbers"] == fields_of(DOCUMENT, whole=False)["teeth[].routes[one].line[]"]
    assert "teeth[].routes[two] words" in found


@pytest.mark.parametrize("kept_few", [True, False])
def test_a_number_that_moved_is_told_with_how_far(kept_few: bool) -> None:
    values = np.arange(3.0 if kept_few else 30.0)
    moved = values.copy()
    moved[-1] += 0.25
    said = difference(answer_of(values, whole=False), answer_of(moved, whole=False), relative=RELATIVE)
    assert said is not None and "(by 0.25)" in said


def test_values_that_changed_places_are_noticed_on_the_same_machine() -> None:
    values = np.arange(30.0)
    answers = (answer_of(values, whole=False), answer_of(values[::-1], whole=False))
    assert difference(*answers, relative=0) is not None
    assert difference(answers[0], answers[0], relative=0) is None


def test_on_another_machine_the_last_places_do_not_count() -> None:
    values = np.linspace(1, 2, 30)
    for factor, same in ((1 + RELATIVE / 4, True), (1 + 4 * RELATIVE, False)):
        answers = (answer_of(values, whole=False), answer_of(values * factor, whole=False))
        assert (difference(*answers, relative=RELATIVE) is None) == same
        assert difference(*answers, relative=0) is not None


def test_a_changed_constant_is_named_before_what_it_moves() -> None:
    before: Answers = {"arrays-2000": {"one": {"cut": [1.0]}}, "constants": {"all": {"neck.a": [1.0]}}, "machine": {}}
    now: Answers = {"arrays-2000": {"one": {"cut": [1.5]}}, "constants": {"all": {"neck.a": [2.0]}}, "machine": {}}
    found = differences(before, now)
    assert [(one.part, one.field) for one in found] == [("constants", "neck.a"), ("arrays-2000", "cut")]
    assert list(table(found))[2] == "| constants | neck.a | 1 | all: [0] 1.0 -> 2.0 (by 1) |"


def test_a_case_or_field_that_is_gone_or_new_is_a_difference() -> None:
    before: Answers = {"plan-2000": {"one": {"a": [1.0]}, "two": {"a": [1.0]}}}
    now: Answers = {"plan-2000": {"one": {"b": [1.0]}}}
    assert [(one.case, one.field, one.what) for one in differences(before, now)] == [
        ("one", "a", "is gone"),
        ("one", "b", "was not there"),
        ("two", "a", "is gone"),
    ]

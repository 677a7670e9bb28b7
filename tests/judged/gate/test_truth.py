"""The gate against the truth table: every pair of facts, with and without names, as the pure function decides it."""

from functools import lru_cache

import pytest

from collum.case import schema
from collum.plan.safety import screen
from tests.judged.gate.cases import BARE, CASE_OF, NOW, PROCEDURE, case_told
from tests.judged.gate.doors import planned
from tests.judged.gate.expected import Told, all_told, asked_of
from tests.judged.gate.said import ASKED, RECORDED_WAYS, WITHOUT_PLATE, Way
from tests.judged.gate.truth import JUDGED, LINES, Operation

ROUTE: dict[Operation, str] = {
    "current": "soft tissue only",
    "scalpel": "soft tissue only",
    "flap": "soft tissue and bone",
    "movement": "extrusion first",
}


@lru_cache
def route_is_open(way: Way, operation: Operation) -> bool:
    """Whether the plan of a case in which this alone is recorded opens the route of an operation."""
    plan = planned(case_told(CASE_OF[operation], Told(ways=(way,), answered_for=False), operation))
    route = next(route for route in plan.teeth[0].routes if route.name == ROUTE[operation])
    return route.verdict in ("kept", "in doubt")


def closed(told: Told, operation: Operation) -> bool:
    """Whether a paper stays closed: by the gate, or because what is recorded closes its route."""
    screening = screen(case_told(BARE, told, operation), PROCEDURE[operation], now=NOW)
    return not screening.cleared or not all(route_is_open(way, operation) for way in told.ways if way.recorded)


def wrong(told: Told, operation: Operation) -> str | None:
    """Return what is wrong where the gate decides otherwise than the table asks."""
    asked = asked_of(told.ways, operation, answered_for=told.answered_for)
    shut = closed(told, operation)
    if asked == "either" or shut == (asked == "stays closed"):
        return None
    return f"{operation} {'is closed' if shut else 'opens'}: {told}"


@pytest.mark.slow
def test_every_pair_of_facts_closes_what_it_concerns_and_nothing_else() -> None:
    found = [said for told, operation in all_told() if (said := wrong(told, operation))]
    assert found == []


def test_a_unit_without_a_plate_is_one_answer_for_the_plate_as_a_whole() -> None:
    told = Told(ways=(WITHOUT_PLATE,), answered_for=False)
    assert [operation for operation in JUDGED if closed(told, operation)] == []


def test_every_question_has_a_line_of_the_table() -> None:
    visit = schema()["properties"]["visits"]["items"]["properties"]  # type: ignore[index, call-overload]
    parts = {"screening": visit["screening"], "room": visit["room"], "tooth": visit["teeth"]["items"]["properties"]["answers"]}
    assert {(part, key) for part, table in parts.items() for key in table["properties"]} == set(ASKED)
    assert {fact for fact, _ in ASKED.values()} | {way.fact for way in RECORDED_WAYS} <= set(LINES)

"""Cases that say facts: as a document, as a file would hold it, and as a record for the pure gate."""

from collections.abc import Iterable, Mapping
from dataclasses import replace
from datetime import datetime, timedelta
from functools import lru_cache
from typing import Any

from collum.app.demo import demo_cases
from collum.case import Case, from_document, plan_mark, schema, to_document
from collum.case.parts import visit_of as typed_visit
from tests.judged.gate.expected import Told
from tests.judged.gate.said import Way, recorded, rule_of, said
from tests.judged.gate.truth import Operation

OPENED_AT = "2026-05-01T08:00:00Z"
NOW = datetime.fromisoformat(OPENED_AT) + timedelta(hours=1)
# A shipped case whose plan opens the route of the operation.
CASE_OF: Mapping[Operation, str] = {"current": "AQ-07", "scalpel": "AQ-07", "flap": "AQ-09", "movement": "AQ-09"}
TWO_TEETH = "AQ-26"  # for current
BARE = "BARE"  # one tooth with next to no reading, for what asks the gate alone
INSTRUMENTS = ("electrode", "scalpel")
PROCEDURE: Mapping[Operation, str] = {"current": "current", "scalpel": "scalpel", "flap": "bone", "movement": "movement"}
_VISIT = schema()["properties"]["visits"]["items"]["properties"]  # type: ignore[index, call-overload]
_FOR_ONE_PLAN = frozenset(_VISIT["given_for"]["properties"])
_FOR_ONE_PLAN_AT_TOOTH = frozenset(_VISIT["teeth"]["items"]["properties"]["given_for"]["properties"])


@lru_cache
def shipped(reference: str) -> Mapping[str, Any]:
    """Return the document of a shipped case, or of the bare one; not to be changed."""
    if reference == BARE:
        tooth = {"number": 46, "sites": {"order": ["F"], "probing_depth": [2.0]}}
        return {"format": "collum-case/2", "patient": {"reference": BARE}, "teeth": [tooth]}
    return next(to_document(case) for case in demo_cases() if case.patient.reference == reference)


def offering(operation: Operation) -> Mapping[str, Any]:
    """Return the document of a shipped case whose plan opens the route of an operation, with its instrument."""
    document = shipped(CASE_OF[operation])
    return with_scalpel(document) if operation == "scalpel" else document


def number_of(document: Mapping[str, Any]) -> int:
    return int(document["teeth"][0]["number"])


def visit_of(mark: str, numbers: Iterable[int], told: Told, operation: Operation = "current") -> dict[str, Any]:
    """Return a visit that says what is told of every tooth in `numbers`, for the plan that `mark` names."""
    answers = said(*told.ways)
    marks = dict.fromkeys(_FOR_ONE_PLAN & {*answers["screening"], *answers["room"]}, mark)
    at_tooth = dict.fromkeys(_FOR_ONE_PLAN_AT_TOOTH & set(answers["tooth"]), mark)
    visit: dict[str, Any] = {
        "date": OPENED_AT[:10],
        "kind": "cut",
        "by": "DN",
        "opened_at": OPENED_AT,
        "screening": answers["screening"],
        "room": answers["room"],
        "given_for": marks,
        "roles": answers["roles"],
        "answered_by": dict.fromkeys(("agreement", "history", "tooth", "room"), "DN"),
        "teeth": [{"number": number, "answers": answers["tooth"], "given_for": at_tooth} for number in numbers],
    }
    if answers["room"].get("time_out") == "yes":
        visit["time_outs"] = [counted(number, instrument, mark) for number in numbers for instrument in INSTRUMENTS]
    if told.answered_for:
        visit["overrides"] = [override_of(way, number, mark, operation) for way in told.ways for number in numbers]
    return visit


def counted(number: int, instrument: str, mark: str, at: str = OPENED_AT) -> dict[str, Any]:
    """Return the entry of a time-out at which a tooth was counted aloud; the right side has quadrants 1 and 4."""
    side = "right" if number // 10 in (1, 4) else "left"
    return {"tooth": number, "side": side, "instrument": instrument, "name": "D. Nurse", "at": at, "given_for": mark}


def override_of(way: Way, number: int, mark: str, operation: Operation) -> dict[str, Any]:
    """Return the entry by which somebody answers for a way by name, as far as a file can hold one."""
    rule = rule_of(way)
    made: dict[str, Any] = {"rule": rule, "name": "D. Nurse", "reason": "looked at it myself", "at": OPENED_AT}
    made |= {"procedure": PROCEDURE[operation]}
    made |= {"given_for": mark} if rule in _FOR_ONE_PLAN or rule == "recorded_drugs" else {}
    return made | ({"tooth": number} if way.part in ("tooth", "record") else {})


def case_told(reference: str, told: Told, operation: Operation = "current") -> Case:
    """Return a shipped case with a visit of `OPENED_AT` that says what is told of its planned teeth."""
    case, mark = _recorded(reference, tuple(way for way in told.ways if way.recorded), operation == "scalpel")
    numbers = [tooth.number for tooth in case.teeth if tooth.role != "neighbour"]
    return replace(case, visits=(typed_visit(0, visit_of(mark, numbers, told, operation)),))


def document_told(reference: str, told: Told, operation: Operation = "current") -> dict[str, Any]:
    """Return the same as a document; an override that a file cannot hold makes it faulty."""
    return to_document(case_told(reference, told, operation))


def with_scalpel(document: Mapping[str, Any]) -> dict[str, Any]:
    """Return a document in which the scalpel is the instrument of every cut; of the format that knows one."""
    teeth = [{**tooth, "cut_by": "scalpel"} for tooth in document["teeth"]]
    return {**document, "format": "collum-case/3", "teeth": teeth}


@lru_cache(maxsize=1024)
def _recorded(reference: str, ways: tuple[Way, ...], by_scalpel: bool) -> tuple[Case, str]:
    document = shipped(reference)
    told = recorded(document, number_of(document), *ways)
    case = from_document(with_scalpel(told) if by_scalpel else told)
    return case, plan_mark(case)

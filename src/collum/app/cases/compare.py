"""Use case: what changed between two stored plans of a tooth, and which requirements moved the verdict.

Everything is read from what was stored with each plan: the case as it was, the constants as they were, the result as printed.
"""

import json
from collections.abc import Iterable, Mapping
from dataclasses import dataclass
from typing import Any

from collum.app.cases.case_store import CaseStore
from collum.case import todays
from collum.case.shapes import Json
from collum.records import StoredPlan
from collum.wording import text

_WISHES = ("restoration", "requirements", "held", "role")
_BESIDE = ("note", "number")


@dataclass(frozen=True, slots=True, kw_only=True)
class Change:
    """One thing that differs; None where it was absent."""

    what: str
    before: str | None
    after: str | None


@dataclass(frozen=True, slots=True, kw_only=True)
class RouteChange:
    """One route in both plans. `decides`: the fact that closes it; `requirements`: those whose verdict or chance changed."""

    verdict: Change
    decides: Change
    requirements: tuple[Change, ...]


@dataclass(frozen=True, slots=True, kw_only=True)
class Comparison:
    """Two plans of one tooth. `verdict` and `requirements` are those of the route that was recommended before, else after.

    A requirement is told as `verdict (chance)`.
    """

    tooth_number: int
    recommended: Change
    verdict: Change
    readings: tuple[Change, ...]
    wishes: tuple[Change, ...]
    constants: tuple[Change, ...]
    program: tuple[Change, ...]
    requirements: tuple[Change, ...]
    routes: tuple[RouteChange, ...]


class NoCommonTooth(LookupError):
    """The two plans have no tooth in common, or not the one asked for."""


def compare_plans(store: CaseStore, first_id: str, second_id: str, *, tooth_number: int | None = None) -> Comparison:
    """Return what changed from the first stored plan to the second. Raises UnknownRecord, NoCommonTooth."""
    first, second = store.plan(first_id), store.plan(second_id)
    results = json.loads(first.result), json.loads(second.result)
    number = _common_tooth(results, tooth_number)
    teeth = [_tooth(result["teeth"], number) for result in results]
    recommended = [tooth["recommended_route"] for tooth in teeth]
    routes = _routes(*teeth)
    telling = next((r for name in recommended for r in routes if r.verdict.what == name), routes[0])
    cases = [todays(json.loads(store.revision(plan.case_id, plan.revision_number).document)) for plan in (first, second)]
    recorded = [_flat(_of_tooth(case, number)) for case in cases]
    changes = _changes(*recorded)
    return Comparison(
        tooth_number=number,
        recommended=Change(what="recommended_route", before=recommended[0], after=recommended[1]),
        verdict=telling.verdict,
        readings=tuple(c for c in changes if not c.what.startswith((*_WISHES, *_BESIDE))),
        wishes=tuple(c for c in changes if c.what.startswith(_WISHES)),
        constants=_changes(*(_constants(plan) for plan in (first, second))),
        program=_changes(*(_program(plan) for plan in (first, second))),
        requirements=telling.requirements,
        routes=routes,
    )


def _routes(before: Json, after: Json) -> tuple[RouteChange, ...]:
    """Return every route that either plan holds, in the order of the second; None stands for a plan without it."""
    old = {route["name"]: route for route in before["routes"]}
    new = {route["name"]: route for route in after["routes"]}
    return tuple(_route(name, old.get(name), new.get(name)) for name in {**new, **old})


def _route(name: str, before: Json, after: Json) -> RouteChange:
    both = (before, after)
    verdicts = [route and route["verdict"] for route in both]
    facts = [route and route["closed_by"] and route["closed_by"]["reason"]["text"] for route in both]
    return RouteChange(
        verdict=Change(what=name, before=verdicts[0], after=verdicts[1]),
        decides=Change(what="closed_by", before=facts[0], after=facts[1]),
        requirements=_changes(*({} if route is None else _requirements(route) for route in both)),
    )


def _common_tooth(results: tuple[Json, Json], asked: int | None) -> int:
    numbers = [[tooth["number"] for tooth in result["teeth"]] for result in results]
    common = [number for number in numbers[0] if number in numbers[1] and asked in (None, number)]
    if not common:
        raise NoCommonTooth
    return int(common[0])


def _tooth(teeth: Iterable[Json], number: int) -> Json:
    return next(tooth for tooth in teeth if tooth["number"] == number)


def _of_tooth(case: Json, number: int) -> Json:
    """Return the tooth as it was recorded, with what is recorded of the patient beside it."""
    return {**_tooth(case["teeth"], number), "patient": {k: v for k, v in case["patient"].items() if k != "reference"}}


def _flat(found: Json, path: str = "") -> dict[str, str]:
    """Return every value under its path, as text."""
    if isinstance(found, dict):
        return {k: v for key, value in found.items() for k, v in _flat(value, f"{path}.{key}" if path else key).items()}
    return {path: json.dumps(found, ensure_ascii=False).strip('"')}


def _constants(plan: StoredPlan) -> dict[str, str]:
    return {constant["key"]: f"{constant['value']:g} {constant['unit']}" for constant in json.loads(plan.constants)}


def _program(plan: StoredPlan) -> dict[str, str]:
    return {"version": plan.program_version, "plan format": plan.plan_format, "draws": str(plan.draws)}


def _requirements(route: Json) -> dict[str, str]:
    return {row["id"]: _graded(row) for row in route["requirements"]}


def _graded(row: Mapping[str, Any]) -> str:
    if row["probability"] is None:
        return str(row["verdict"])
    return text("compare.graded", {"verdict": row["verdict"], "probability": row["probability"]})


def _changes(before: Mapping[str, str], after: Mapping[str, str]) -> tuple[Change, ...]:
    names = [*before, *(name for name in after if name not in before)]
    return tuple(
        Change(what=name, before=before.get(name), after=after.get(name))
        for name in names
        if before.get(name) != after.get(name)
    )

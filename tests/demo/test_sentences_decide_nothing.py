"""No answer is computed from a sentence: with every key renamed and every parameter withheld the answers stay the same."""

import sys
from collections.abc import Iterator
from contextlib import contextmanager
from datetime import UTC, datetime
from itertools import count
from typing import Any

import pytest

from collum.app import speaking
from collum.app.plans.bridge import bridges_of_plan
from collum.app.plans.heat import heat_of_plan
from collum.app.plans.planning import Planner
from collum.app.plans.restoration import restorations_of_plan
from collum.app.safety.gate import NotCleared, opening_for
from collum.case import Case, from_document, to_document
from collum.evidence.safety_rules import PROCEDURES
from collum.plan import sentence
from collum.plan.heat import HeatWishes
from collum.plan.sentence import Sentence
from collum.wire.plan.document import PlanDocument
from tests.demo.test_demo_practice import CASES
from tests.making.answers import answered
from tests.making.shipped import walked

DRAWS = 200  # the answers have to be equal, not good
PACED = ("AQ-07",)  # a round takes seconds
SAID_FIRST = ("AQ-50", "AQ-54", "AQ-56")  # what stands before a route, and what of the patient closes it
OPENED = datetime(2026, 5, 1, 8, tzinfo=UTC)
SAID = {"key", "parameters", "text"}
WITHHELD = "withheld"  # a text: unlike a number that is none it stops all arithmetic


@pytest.fixture(scope="module")
def planner() -> Planner:
    return Planner(DRAWS)


@pytest.fixture(scope="module")
def plans(planner: Planner) -> dict[str, PlanDocument]:
    return {reference: planner.plan(case) for reference, case in CASES.items() if walked(reference)}


@pytest.mark.parametrize("reference", [one for one in sorted(CASES) if walked(one) or one in SAID_FIRST])
def test_answers_stay_the_same_whatever_the_sentences_say(planner: Planner, reference: str) -> None:
    case = from_document(answered(to_document(CASES[reference]), opened_at=OPENED.strftime("%Y-%m-%dT%H:%M:%SZ")))
    before = answers(planner, case, paced=reference in PACED)
    with scrambled() as said:
        now = answers(planner, case, paced=reference in PACED)
    assert next(said) > len(before["plan"]["teeth"])  # sentences were made, and none as it should be
    assert now == before


def test_the_cases_give_up_something_of_each_kind(plans: dict[str, PlanDocument]) -> None:
    """Else the test before proves nothing."""
    found = [route.concessions for plan in plans.values() for tooth in plan.teeth for route in tooth.routes]
    given = [one for one in found if one is not None]
    assert len(given) == len(found)
    assert {name for one in given for name, value in one.model_dump().items() if value} == set(type(given[0]).model_fields)


@contextmanager
def scrambled() -> Iterator[Iterator[int]]:
    """Rename the key of every sentence that is made, differently each time, and withhold its parameters."""
    number = count()

    def garbled(_key: str, /, **parameters: Any) -> Sentence:
        return Sentence(f"renamed.{next(number)}", dict.fromkeys(parameters, WITHHELD))

    makers = [module for name, module in sys.modules.items() if name.startswith("collum.") and _makes(module)]
    with pytest.MonkeyPatch.context() as patch:
        for module in makers:
            patch.setattr(module, "say", garbled)
        patch.setattr(speaking, "text", lambda *_: WITHHELD)
        yield number


def _makes(module: Any) -> bool:
    return getattr(module, "say", None) is sentence.say


def answers(planner: Planner, case: Case, *, paced: bool) -> dict[str, Any]:
    """Return everything that is computed for a case, without the words."""
    made = planner.planned(case)
    plan = made.document
    found: dict[str, Any] = {
        "plan": plan.model_dump(),
        "restoration": restorations_of_plan(case, made).model_dump(),
        "bridge": bridges_of_plan(case, made).model_dump(),
        "moved": [judged(planner, case, position, plan) for position in range(len(case.teeth))],
        "opening": [_opening(case, procedure, plan) for procedure in PROCEDURES],
    }
    if paced or not any(
        route.verdict in ("kept", "in doubt")
        for tooth in plan.teeth
        for route in tooth.routes
        if route.name == "soft tissue only"
    ):
        found["heat"] = heat_of_plan(made, HeatWishes()).model_dump()
    silent = without_words(found)
    assert isinstance(silent, dict)
    return silent


def judged(planner: Planner, case: Case, position: int, plan: PlanDocument) -> Any:
    """Return the lines of each route moved a little, judged anew."""
    planned = next((tooth for tooth in plan.teeth if tooth.number == case.teeth[position].number), None)
    return [
        planner.judge(
            case,
            tooth=position,
            route=route.name,
            cut_line_mm=route.cut_line_height_mm,
            finish_line_mm=[height + 0.1 for height in route.finish_line_height_mm],
            bone_reduction_mm=route.bone_reduction_mm,
            extrusion_mm=route.extrusion_mm or 0,
        ).model_dump()
        for route in (planned.routes if planned else ())
        if route.cut_line_height_mm is not None and route.finish_line_height_mm is not None
    ]


def _opening(case: Case, procedure: Any, plan: PlanDocument) -> list[str | None]:
    try:
        opening_for(case, procedure, plan.model_dump_json(), 0, OPENED)
    except NotCleared as closed:
        return [fault["where"] for fault in closed.faults]
    return []


def without_words(plain: Any) -> Any:
    """Return a plain document without the key, parameters and text of its sentences; how many there are stays."""
    if isinstance(plain, dict):
        kept = plain.keys() - SAID if plain.keys() >= SAID else plain.keys()
        return {name: without_words(plain[name]) for name in plain if name in kept}
    return [without_words(one) for one in plain] if isinstance(plain, list) else plain

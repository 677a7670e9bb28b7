"""A practice in a folder of its own, with a fixed clock and fixed ids, and few draws."""

from collections.abc import Iterator
from pathlib import Path
from typing import Any

import pytest

from collum.app.chair import kept_heat as chair
from collum.app.plans import papers
from collum.app.plans.planning import Planner
from collum.app.practice import Practice, open_practice
from collum.case import Case, canonical_json, to_document
from collum.wire.plan.document import PlanDocument
from tests.app.bench import Bench
from tests.making.environment import FixedEnvironment
from tests.measuring.heat import heat_by_hand


@pytest.fixture
def environment(tmp_path: Path) -> FixedEnvironment:
    return FixedEnvironment(data_directory=tmp_path / "practice")


@pytest.fixture
def practice(environment: FixedEnvironment) -> Iterator[Practice]:
    with open_practice(environment, draws=300) as opened:
        yield opened


@pytest.fixture
def paced_by_hand(monkeypatch: pytest.MonkeyPatch) -> None:
    """Let heat be given by hand, without the seconds it takes."""
    for door in (chair, papers):
        monkeypatch.setattr(door, "heat_of_plan", heat_by_hand)


_PLANNED: dict[bytes, PlanDocument] = {}


@pytest.fixture
def planned_once(monkeypatch: pytest.MonkeyPatch) -> None:
    """Plan the same document once for all tests: what is tested is the way to the card, not the plan."""
    make = Planner.plan

    def plan(self: Planner, case: Case, **named: Any) -> PlanDocument:
        key = canonical_json(to_document(case))
        if key not in _PLANNED:
            _PLANNED[key] = make(self, case, **named)
        return _PLANNED[key]

    monkeypatch.setattr(Planner, "plan", plan)


@pytest.fixture
def bench(practice: Practice) -> Bench:
    return Bench(practice)


@pytest.fixture
def cleared(bench: Bench) -> Bench:
    bench.open_visit()
    bench.answer()
    return bench

"""Each demo plan is the cheapest of its own cost, stays the same for the same lines, and falls with the simulation."""

import numpy as np
import pytest

from benchmarks.peer import solvers
from benchmarks.peer.route import Statement
from collum.app.demo import demo_cases
from collum.case import Case
from collum.plan import plan_tooth, prepare, soft_tissue
from collum.plan.bounds import bounds_of, programme_of
from collum.plan.programme import finish_bounds, solve
from tests.making.teeth import generator_of

RANDOM_PLANS = 500
CASES = demo_cases()


@pytest.mark.parametrize("case", CASES, ids=[c.patient.reference for c in CASES])
def test_no_random_feasible_plan_is_better(case: Case) -> None:
    """Half of the 500 lie near the plan, half anywhere between the bounds; the cost is written a second time in the peer."""
    prepared = prepare(case, 0, generator_of(), 2_000)
    plan = plan_tooth(case, 0, prepared)
    bounds = bounds_of(prepared, plan.wishes, returns_whole=plan.findings.returns_whole)
    programme = programme_of(prepared, plan.wishes, bounds, {}, arc_mm=plan.perimeter_mm / 36)
    lines = solve(programme)
    low, high = finish_bounds(programme, lines.reserve_share, lines.lacking_mm, programme.cut_low_mm)
    gap = programme.gap_low_mm + lines.reserve_share * programme.gap_reserve_mm
    stated = Statement(
        cut_low=programme.cut_low_mm,
        finish_low=low,
        finish_high=high,
        gap=gap,
        aim=programme.aim_mm,
        margin=programme.margin_mm,
        arc_mm=programme.arc_mm,
    )
    rng = np.random.default_rng(500)
    best = np.inf
    for number in range(RANDOM_PLANS):
        spread = 0.02 if number % 2 else 2.0
        finish = np.clip(lines.finish_mm + spread * rng.standard_normal(36), low, np.minimum(high, low + 20))
        deepest = np.minimum(programme.cut_low_mm, finish - gap)
        cut = np.clip(lines.cut_mm + spread * rng.standard_normal(36), deepest, np.minimum(finish - gap, 0))
        best = min(best, solvers.cost(stated, cut, finish))
    assert solvers.cost(stated, lines.cut_mm, lines.finish_mm) <= best


@pytest.mark.parametrize("case", CASES, ids=[c.patient.reference for c in CASES])
def test_without_the_simulation_there_is_no_verdict(case: Case, monkeypatch: pytest.MonkeyPatch) -> None:
    """No verdict is decided outside solve, simulate, verdict."""
    prepared = prepare(case, 0, generator_of(), 500)

    def gone(*_: object, **__: object) -> None:
        raise NotImplementedError

    monkeypatch.setattr(soft_tissue, "assess", gone)
    with pytest.raises(NotImplementedError):
        plan_tooth(case, 0, prepared)

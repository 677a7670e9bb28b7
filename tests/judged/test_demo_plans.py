"""Each route of a demo case is the cheapest of its own cost, raises no more than it must, and falls with the simulation."""

from collections.abc import Iterator

import numpy as np
import pytest

from collum.app.demo import demo_cases
from collum.case import Case
from collum.plan import Prepared, ToothPlan, plan_tooth
from collum.plan.lengthening.procedures import bone_surgery, extrusion, lines
from collum.plan.lengthening.procedures.procedure import Treatment, after
from collum.plan.lengthening.procedures.registry import procedure_of
from collum.plan.lengthening.solver.bone_programme import BoneProgramme, cost_of
from collum.plan.lengthening.solver.bounds import bounds_of, programme_of
from collum.vocabulary import ROUTES, RouteName
from tests.making.shipped import walked
from tests.measuring.as_peer import route_plan
from tests.measuring.necks import drawn_neck
from tests.measuring.programmes import Solved, feasible_plans, record

RANDOM_PLANS = 500
DRAWS = 1_000
CASES = [c for c in demo_cases() if walked(c.patient.reference)]
SAME = 1e-6  # relative; the rows are kept to 1e-6 mm


@pytest.fixture(scope="module", params=CASES, ids=[c.patient.reference for c in CASES])
def case(request: pytest.FixtureRequest) -> Case:
    return request.param  # type: ignore[no-any-return]  # pytest types no parameters


@pytest.fixture(scope="module")
def prepared(case: Case) -> Prepared:
    return drawn_neck(case, DRAWS)


@pytest.fixture(scope="module")
def plan(case: Case, prepared: Prepared) -> ToothPlan:
    return plan_tooth(case, 0, prepared)


@pytest.fixture
def solved(monkeypatch: pytest.MonkeyPatch) -> Iterator[list[Solved]]:
    """Every programme solved during the test."""
    yield record(monkeypatch)


@pytest.mark.slow
@pytest.mark.parametrize("name", ROUTES)
def test_no_random_feasible_plan_is_better(prepared: Prepared, plan: ToothPlan, solved: list[Solved], name: RouteName) -> None:
    """Whether or not the route is needed: its last programme against 500 plans that keep every row of it."""
    route_plan(name, prepared, plan.wishes, plan.perimeter_mm)
    problem = solved[-1]
    assert np.max(problem.rows @ problem.answer - problem.bound) <= 1e-6
    least = problem.cost(problem.answer)
    rng = np.random.default_rng(500)
    plans = list(feasible_plans(problem, RANDOM_PLANS, rng))
    assert max(float(np.max(problem.rows @ x - problem.bound)) for x in plans) <= 1e-6
    assert least <= min(problem.cost(x) for x in plans) + SAME * max(1.0, abs(least))


def test_a_plan_that_is_not_the_cheapest_would_be_found_out(prepared: Prepared, plan: ToothPlan, solved: list[Solved]) -> None:
    """A tenth of the way from the answer to another feasible plan: some of the plans near the answer are cheaper."""
    route_plan("soft tissue and bone", prepared, plan.wishes, plan.perimeter_mm)
    problem = solved[-1]
    plans = list(feasible_plans(problem, 40, np.random.default_rng(1)))
    worse = problem.answer + 0.1 * (plans[-1] - problem.answer)
    assert min(problem.cost(x) for x in plans) < problem.cost(worse)


def test_the_cost_of_bone_surgery_is_what_is_written(
    prepared: Prepared, plan: ToothPlan, monkeypatch: pytest.MonkeyPatch
) -> None:
    """Tissue moved, line off its aim, bone squared and by length, dearer beside a neighbour, bending of lines and bone."""
    programmes: list[BoneProgramme] = []
    solve = bone_surgery.solve_bone
    monkeypatch.setattr(bone_surgery, "solve_bone", lambda programme: (programmes.append(programme), solve(programme))[1])
    route_plan("soft tissue and bone", prepared, plan.wishes, plan.perimeter_mm)
    programme = programmes[-1]
    hessian, linear, constant = cost_of(programme)
    rng = np.random.default_rng(3)
    for _ in range(3):
        x = rng.standard_normal(6 * 36)
        assert x @ hessian @ x / 2 + linear @ x + constant == pytest.approx(_bone_cost(programme, x.reshape(6, 36)), rel=1e-9)


def _bone_cost(programme: BoneProgramme, x: np.ndarray) -> float:
    cut, finish, bone, given_up, height, support = x
    aim = programme.aim.row.mean_mm + programme.aim.on_cut * cut - programme.aim.on_bone * bone
    dearer = 1 + programme.beside_neighbour

    def bend(line: np.ndarray) -> float:
        return float(np.sum((np.roll(line, 1) - 2 * line + np.roll(line, -1)) ** 2)) / programme.arc_mm**4

    lines = np.sum(cut**2) + 0.2 * np.sum((finish - aim) ** 2) + 0.02 * bend(cut) + 2 * bend(finish + programme.margin_mm)
    taken = np.sum(dearer * (4 * bone**2 + bone)) + 0.5 * bend(bone)
    lacking = 300 * given_up.sum() + 3000 * height.sum() + 1000 * support.sum()
    trace = 1e-5 * np.sum(x**2)  # makes the answer unique
    return float(lines + taken + lacking + trace)


def test_a_tooth_is_raised_no_more_than_its_ferrule_needs(
    prepared: Prepared, plan: ToothPlan, monkeypatch: pytest.MonkeyPatch
) -> None:
    """With the movement planned every station keeps ferrule and lower rules with the whole reserve; with less, one does not.

    Reserves as they are first asked, before the simulation raises any. Two tenths of a millimetre are what the doubt of the
    movement itself may shift: the reserves of the plan are taken at the greatest movement.
    """
    monkeypatch.setattr(extrusion, "best_try", lambda tried, *_: tried({})[0])
    raised = route_plan("extrusion first", prepared, plan.wishes, plan.perimeter_mm).treatment.extruded_mm
    if raised < 6:
        assert _share_of_reserves(prepared, plan, raised + 0.2) >= 1
    if raised > 0.2:
        assert _share_of_reserves(prepared, plan, raised - 0.2) < 1


def _share_of_reserves(prepared: Prepared, plan: ToothPlan, raised_mm: float) -> float:
    """The least share of the reserves that ferrule and the rules from below can keep at a station."""
    treatment = Treatment(procedure=procedure_of("extrusion first"), extruded_mm=raised_mm, loaded=plan.wishes.loaded)
    moved = after(prepared, treatment)
    programme = programme_of(moved, plan.wishes, bounds_of(moved, plan.wishes, treatment), {}, treatment, arc_mm=1.0)
    ferrule = next(row for row in programme.upper if row.rule == "ferrule")
    rooms = [(ferrule.mean_mm - low.mean_mm) / (low.reserve_mm + ferrule.reserve_mm + 1e-12) for low in programme.lower]
    return float(np.min(rooms))


@pytest.mark.parametrize("name", ["soft tissue only", "restore without lengthening"])
def test_without_the_simulation_there_is_no_verdict(
    case: Case, prepared: Prepared, plan: ToothPlan, monkeypatch: pytest.MonkeyPatch, name: RouteName
) -> None:
    """No verdict is decided outside solve, simulate, verdict."""

    def gone(*_: object, **__: object) -> None:
        raise NotImplementedError

    monkeypatch.setattr(lines, "assess", gone)
    with pytest.raises(NotImplementedError):
        route_plan(name, prepared, plan.wishes, plan.perimeter_mm)

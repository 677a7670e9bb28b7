"""Quadratic programmes as the planner hands them to its solver, and plans that keep every row of one."""

from collections.abc import Iterator
from dataclasses import dataclass

import numpy as np
import pytest
from numpy.random import Generator
from numpy.typing import NDArray
from scipy import sparse
from scipy.optimize import linprog

from collum.plan.lengthening.solver.quadratic import Quadratic

Floats = NDArray[np.float64]


@dataclass(frozen=True, slots=True, kw_only=True)
class Solved:
    """Minimise x'Hx/2 + q'x with rows x <= bound, and what the planner took for the answer."""

    hessian: Floats
    linear: Floats
    rows: Floats
    bound: Floats
    answer: Floats

    def cost(self, x: Floats) -> float:
        return float(x @ self.hessian @ x / 2 + self.linear @ x)


def record(monkeypatch: pytest.MonkeyPatch) -> list[Solved]:
    """Return the list to which every programme solved from now on is added."""
    solved: list[Solved] = []
    minimum = Quadratic.minimum

    def recording(problem: Quadratic, bound: Floats) -> Floats:
        answer = minimum(problem, bound)
        hessian, rows = problem.hessian.toarray(), problem.matrix.toarray()
        solved.append(Solved(hessian=hessian, linear=problem.linear, rows=rows, bound=bound, answer=answer))
        return answer

    monkeypatch.setattr(Quadratic, "minimum", recording)
    return solved


def feasible_plans(problem: Solved, count: int, rng: Generator) -> Iterator[Floats]:
    """Yield plans that keep every row: half anywhere, half near the answer.

    From the middle of what is allowed, one variable after the other goes to a random place of the room it has; the set is
    convex, so what lies between such a plan and the answer keeps the rows too.
    """
    x = _middle(problem)
    room = problem.bound - problem.rows @ x
    columns = [np.flatnonzero(problem.rows[:, k]) for k in range(x.size)]
    for number in range(count):
        for k in rng.choice(x.size, 60):
            at = columns[k]
            slope = problem.rows[at, k]
            reach = room[at] / slope
            up = min(reach[slope > 0].min(initial=10.0), 10.0)
            down = max(reach[slope < 0].max(initial=-10.0), -10.0)
            step = rng.uniform(min(0.0, down), max(0.0, up))  # never -0.0, which is refused as less than nothing
            x[k] += step
            room[at] -= slope * step
        yield x.copy() if number % 2 else problem.answer + 0.02 * (x - problem.answer)


def _middle(problem: Solved) -> Floats:
    """Return a plan with room to every row, as much as 1 where there is that much."""
    length = np.linalg.norm(problem.rows, axis=1)
    with_room = sparse.csr_matrix(np.column_stack([problem.rows, length]))
    aim = np.zeros(problem.linear.size + 1)
    aim[-1] = -1
    limits = [(-30, 30)] * problem.linear.size + [(0, 1)]
    found = linprog(aim, A_ub=with_room, b_ub=problem.bound, bounds=limits, method="highs")
    assert found.success, found.message
    return np.asarray(found.x[:-1])

"""The programme handed to a general modelling language, and to a general optimiser."""

import numpy as np
from scipy.optimize import LinearConstraint, minimize

from benchmarks.peer.levels import Floats, M
from benchmarks.peer.route import Statement

WEIGHT_FINISH, WEIGHT_BENDING = 0.2, 2


def cost(s: Statement, cut: Floats, finish: Floats) -> float:
    """Return the burden of two lines."""
    bend = sum(float(np.sum(_second(line, s.arc_mm) ** 2)) for line in (cut, finish + s.margin))
    return float(cut @ cut + WEIGHT_FINISH * np.sum((finish - s.aim) ** 2) + WEIGHT_BENDING * bend)


def with_cvxpy(s: Statement) -> tuple[Floats, Floats]:
    """Return cut and finish line, as the textbook example of the language has it."""
    import cvxpy

    cut, finish = cvxpy.Variable(M), cvxpy.Variable(M)
    ring = np.roll(np.eye(M), 1, axis=1) - 2 * np.eye(M) + np.roll(np.eye(M), -1, axis=1)
    bend = [cvxpy.sum_squares(ring @ line / s.arc_mm**2) for line in (cut, finish + s.margin)]
    burden = cvxpy.sum_squares(cut) + WEIGHT_FINISH * cvxpy.sum_squares(finish - s.aim) + WEIGHT_BENDING * (bend[0] + bend[1])
    room = 1e-5
    rows = [cut >= s.cut_low - room, cut <= s.cut_high, finish >= s.finish_low - room, finish <= s.finish_high + room]
    cvxpy.Problem(cvxpy.Minimize(burden), [*rows, finish - cut >= s.gap - room]).solve(solver=cvxpy.CLARABEL)
    return np.minimum(cut.value, 0), np.asarray(finish.value)


def with_scipy(s: Statement) -> tuple[Floats, Floats]:
    """Return the same by a general optimiser with exact derivatives."""
    eye = np.eye(M)
    ring = (np.roll(eye, 1, axis=1) - 2 * eye + np.roll(eye, -1, axis=1)) / s.arc_mm**2
    bend = WEIGHT_BENDING * ring.T @ ring
    zero = np.zeros((M, M))
    hessian = 2 * np.block([[eye + bend, zero], [zero, WEIGHT_FINISH * eye + bend]])
    linear = np.concatenate([np.zeros(s.margin.size), 2 * bend @ s.margin - 2 * WEIGHT_FINISH * s.aim])
    found = minimize(
        lambda x: x @ hessian @ x / 2 + linear @ x,
        np.concatenate([s.cut_low, np.clip(s.aim, s.finish_low, s.finish_high)]),
        jac=lambda x: hessian @ x + linear,
        bounds=list(zip(np.concatenate([s.cut_low, s.finish_low]), np.concatenate([s.cut_high, s.finish_high]), strict=True)),
        constraints=[LinearConstraint(np.hstack([-eye, eye]), s.gap, np.inf)],
        method="SLSQP",
        options={"maxiter": 500, "ftol": 1e-10},
    )
    return np.asarray(found.x[:M]), np.asarray(found.x[M:])


def _second(line: Floats, arc_mm: float) -> Floats:
    return np.asarray((np.roll(line, 1) - 2 * line + np.roll(line, -1)) / arc_mm**2)

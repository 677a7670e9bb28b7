"""The same programme is solved once; whatever differs in it is solved anew, and nobody changes an answer that is kept."""

from collections.abc import Callable

import numpy as np
import pytest

from collum.core.ring import Floats
from collum.plan.lengthening.solver.quadratic import AnswersKept, Quadratic, SolverError

# Least of x² + y² - 4x - 4y with x, y <= 1: both at their bound. By hand.
HESSIAN, LINEAR, MATRIX, BOUND = 2 * np.eye(2), np.array([-4.0, -4.0]), np.eye(2), np.array([1.0, 1.0])
SOLVED: Callable[[Quadratic, Floats], Floats] = Quadratic._solved


@pytest.fixture
def solves(monkeypatch: pytest.MonkeyPatch) -> list[Floats]:
    found: list[Floats] = []

    def counted(problem: Quadratic, bound: Floats) -> Floats:
        found.append(bound)
        return SOLVED(problem, bound)

    monkeypatch.setattr(Quadratic, "_solved", counted)
    monkeypatch.setattr("collum.plan.lengthening.solver.quadratic._ANSWERS", AnswersKept())
    return found


def test_the_same_programme_is_solved_once_and_its_answer_is_nobodys_to_change(solves: list[Floats]) -> None:
    first = Quadratic(HESSIAN, LINEAR, MATRIX, 1e-6).minimum(BOUND)
    assert first == pytest.approx([1, 1], abs=1e-6)
    first += 5
    second = Quadratic(HESSIAN, LINEAR, MATRIX, 1e-6).minimum(BOUND)
    second += 5
    assert Quadratic(HESSIAN, LINEAR, MATRIX, 1e-6).minimum(BOUND) == pytest.approx([1, 1], abs=1e-6)
    assert len(solves) == 1


@pytest.mark.parametrize(
    "other, answer",
    [
        ((np.diag([4.0, 8.0]), LINEAR, MATRIX, 1e-6, BOUND), [1, 0.5]),
        ((HESSIAN, np.array([-4.0, 0.0]), MATRIX, 1e-6, BOUND), [1, 0]),
        ((HESSIAN, LINEAR, np.diag([1.0, 2.0]), 1e-6, BOUND), [1, 0.5]),
        ((HESSIAN, LINEAR, np.eye(2)[::-1], 1e-6, np.array([1.0, 0.5])), [0.5, 1]),
        ((HESSIAN, LINEAR, MATRIX, 1e-6, np.array([1.0, 0.5])), [1, 0.5]),
        ((HESSIAN, LINEAR, MATRIX, 1e-5, BOUND), [1, 1]),
    ],
    ids=["hessian", "linear", "matrix", "place in the matrix", "bound", "tolerance"],
)
def test_whatever_differs_is_solved_anew(
    solves: list[Floats], other: tuple[Floats, Floats, Floats, float, Floats], answer: list[float]
) -> None:
    Quadratic(HESSIAN, LINEAR, MATRIX, 1e-6).minimum(BOUND)
    assert Quadratic(*other[:4]).minimum(other[4]) == pytest.approx(
        answer, abs=1e-3
    )  # the solver ends at its tolerance of the cost
    assert len(solves) == 2


def test_what_has_no_answer_is_not_kept(solves: list[Floats]) -> None:
    impossible = Quadratic(HESSIAN, LINEAR, np.array([[1.0, 0.0], [-1.0, 0.0]]), 1e-6)
    for _ in range(2):
        with pytest.raises(SolverError):
            impossible.minimum(np.array([0.0, -1.0]))
    assert len(solves) == 2


def test_the_answer_not_asked_for_longest_is_solved_again() -> None:
    kept, solved = AnswersKept(most=2), list[bytes]()

    def of(asked: bytes) -> None:
        kept.of(asked, lambda: (solved.append(asked), np.zeros(1))[1])

    for asked in (b"a", b"b", b"a", b"c", b"a", b"b"):
        of(asked)
    assert solved == [b"a", b"b", b"c", b"b"]

"""A convex quadratic programme, solved and checked; the matrix of bending that the programmes share.

Routes, concessions and plans made anew after a change of the patient ask the same programmes again: answers that were checked
are kept by all that was asked.
"""

from collections import OrderedDict
from collections.abc import Callable
from hashlib import blake2b

import clarabel
import numpy as np
from scipy import sparse

from collum.core.ring import STATIONS, Floats

_MOST_KEPT = 512  # answers of about 2 kB each


class SolverError(RuntimeError):
    """The solver gave no answer that keeps the rows to the stated tolerance."""


def bending(arc_mm: float) -> Floats:
    """Return (36, 36) the matrix that gives the squared second differences of a line round the neck. [1/mm4]"""
    eye = np.eye(STATIONS)
    second = (np.roll(eye, 1, axis=1) - 2 * eye + np.roll(eye, -1, axis=1)) / arc_mm**2
    return np.asarray(second.T @ second)


class AnswersKept:
    """Keep answers by the digest of the whole question; the one not asked for longest goes first.

    Safe to use from several threads: each step on the table is one of its own, and what another thread has just taken out is
    solved again.
    """

    def __init__(self, most: int = _MOST_KEPT) -> None:
        self._most, self._kept = most, OrderedDict[bytes, Floats]()

    def of(self, asked: bytes, solved: Callable[[], Floats]) -> Floats:
        """Return the answer, solved where it is not kept, as a copy that the caller may change. What raises is not kept."""
        kept = self._kept.pop(asked, None)
        answer = solved() if kept is None else kept
        self._kept[asked] = answer
        while len(self._kept) > self._most:
            self._kept.popitem(last=False)
        return answer.copy()


_ANSWERS = AnswersKept()


class Quadratic:
    """A programme x'Hx/2 + q'x with matrix x <= bound, set up once for many bounds."""

    def __init__(self, hessian: Floats, linear: Floats, matrix: Floats, tolerance_mm: float) -> None:
        self.hessian, self.matrix, self.linear = sparse.csc_matrix(hessian), sparse.csc_matrix(matrix), linear
        self._tolerance_mm = tolerance_mm
        self._solver: clarabel.DefaultSolver | None = None
        of_both = (part for one in (self.hessian, self.matrix) for part in (one.data, one.indices, one.indptr))
        self._asked = blake2b(b"".join(part.tobytes() for part in (*of_both, linear, np.array(tolerance_mm))))

    def minimum(self, bound: Floats) -> Floats:
        """Return the minimiser; feasibility and stationarity are checked, not believed, before an answer is kept."""
        asked = self._asked.copy()
        asked.update(bound.tobytes())
        return _ANSWERS.of(asked.digest(), lambda: self._solved(bound))

    def _solved(self, bound: Floats) -> Floats:
        solver = self._at(bound)
        answer = solver.solve()
        x, dual = np.array(answer.x), np.array(answer.z)
        if not np.all(np.isfinite(x)):
            raise SolverError(f"the programme gave no numbers ({answer.status})")
        violation = float(np.max(self.matrix @ x - bound))
        gradient = self.hessian @ x + self.linear + self.matrix.T @ dual
        tolerance, scale = self._tolerance_mm, 1 + float(np.abs(self.linear).max())
        if violation > tolerance or float(np.abs(gradient).max()) > tolerance * scale or float(dual.min()) < -tolerance:
            raise SolverError(f"the programme did not converge ({answer.status}, violation {violation:.1e})")
        return x

    def _at(self, bound: Floats) -> clarabel.DefaultSolver:
        """Return the solver with a bound, whose matrices are taken in once."""
        if self._solver is not None:
            self._solver.update(b=bound)
            return self._solver
        settings = clarabel.DefaultSettings()
        settings.verbose = False
        settings.presolve_enable = False  # a bound that may change later is never left out
        cone = [clarabel.NonnegativeConeT(bound.size)]
        upper = sparse.triu(self.hessian, format="csc")
        self._solver = clarabel.DefaultSolver(upper, self.linear, self.matrix, bound, cone, settings)
        return self._solver

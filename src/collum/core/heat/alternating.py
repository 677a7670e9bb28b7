"""The work-horse: heat flow in time by alternating directions, second order in space and time.

A step lets heat flow along one axis after the other, each implicitly, and then in the opposite order, each for half the step
(Strang's symmetric splitting); half of what enters does so before it and half after it. Temperatures are scaled by the root
of the heat capacity, so each axis is a symmetric tridiagonal matrix and each part of a step a contraction: no length of step
and no geometry can make it grow, which splittings that add the axes up do not promise. Short parts follow Crank and Nicolson;
long ones a damped rule of the same order, which leaves no ringing behind.

The matrices are factored once per length of step. A sweep runs over whole planes at once, and the field is turned between
sweeps so that each plane lies in one piece of memory.
"""

import numpy as np
from numpy.typing import NDArray

from collum.core.heat.body import Body, HeatEntering
from collum.core.heat.grid import AXES
from collum.core.ring import Floats
from collum.evidence import value

Precision = type[np.float32] | type[np.float64]
Field = NDArray[np.floating]

_ROUNDING = np.finfo(np.float32).eps
_LENGTHS_KEPT = 12
_ROOT_2 = float(np.sqrt(2))
_DAMPED_SHARE = 1 - 1 / _ROOT_2


class AlternatingRun:
    """The rise of a body in time, from 0 everywhere. Holds its state: one run each for what is compared."""

    def __init__(self, body: Body, precision: Precision = np.float32) -> None:
        self._shape = body.grid.shape
        self._root = np.sqrt(body.heat_capacity_mJ_K())
        self._damped_from_s = value("heat.time.damped_from_s")
        # The axis with most planes is swept once where the others are swept twice.
        last = int(np.argmax(self._shape))
        self._first, self._second, self._last = (
            _Direction(body, self._root, (last + turn) % AXES, precision) for turn in range(1, AXES + 1)
        )

    def step(self, step_s: float, entering: HeatEntering | None = None) -> None:
        """Go on by `step_s`; the energy `entering` comes in half at its start and half at its end.

        What a step does to the field does not depend on what enters, so strokes add up to the last digit.
        """
        first, second, last = self._first, self._second, self._last
        flow = _Direction.flow_damped if step_s > self._damped_from_s else _Direction.flow
        if entering is not None:
            first.add_half(entering, self._root)
        flow(first, step_s / 2)
        first.turn_into(second)
        flow(second, step_s / 2)
        second.turn_into(last)
        flow(last, step_s)
        last.turn_back_into(second)
        flow(second, step_s / 2)
        second.turn_back_into(first)
        flow(first, step_s / 2)
        if entering is not None:
            first.add_half(entering, self._root)

    def rise_degC(self) -> Field:
        """Return the rise now, (nx, ny, nz) in the precision of the run."""
        return np.asarray(self._first.straight(self._shape) / self._root, dtype=self._first.planes.dtype)

    def clear(self) -> None:
        """Go back to a rise of 0 everywhere."""
        self._first.planes[:] = 0


def resting_steps_s(rest_s: float, *, since_s: float = 0, longest_s: float | None = None) -> list[float]:
    """Return the steps over a rest that begins `since_s` after the stroke's end: a short first one, then growing ones.

    Lengths are the shortest one doubled again and again, so that few are factored: the longest that is no more than a set
    share of the time since the stroke nor than `longest_s`; what is left of the rest at the end is one step of its own.
    """
    shortest, share = value("heat.time.shortest_step_s"), value("heat.time.growth_share")
    steps: list[float] = []
    done = 0.0
    while (left := rest_s - done) > shortest * _ROUNDING:
        allowed = min(share * (since_s + done), left, longest_s or left)
        doublings = max(int(np.log2(max(allowed / shortest, 1)) + _ROUNDING), 0)
        steps.append(min(shortest * 2**doublings, left))
        done += steps[-1]
    return steps


class _Direction:
    """Flow along one axis: the scaled field as planes (n, cells of a plane), the other axes after this one in turn."""

    def __init__(self, body: Body, root: Floats, axis: int, precision: Precision) -> None:
        turned_root = _turned(root, axis)
        between = _turned(body.between_mW_K(axis), axis)
        self._axis = axis
        self._precision = precision
        self._off = between / (turned_root[1:] * turned_root[:-1])
        self._own = _turned(body.loss_mW_K(axis) + body.perfusion_mW_K() / AXES, axis)
        self._own[1:] += between
        self._own[:-1] += between
        self._own /= turned_root**2
        self.planes: Field = np.zeros(turned_root.shape, precision)
        self._other: Field = np.zeros_like(self.planes)
        self._row: Field = np.zeros_like(self.planes[0])
        self._rows = {id(part): list(part) for part in (self.planes, self._other)}
        self._factors: dict[float, tuple[list[Field], Field]] = {}

    def flow(self, time_s: float) -> None:
        """Let heat flow for a short time by the rule of Crank and Nicolson: twice the implicit half step, less the start."""
        np.multiply(self.planes, 2, out=self._other)
        self._solve(self._other, time_s / 2)
        np.subtract(self._other, self.planes, out=self.planes)

    def flow_damped(self, time_s: float) -> None:
        """Let heat flow for any time by two implicit parts whose fast changes die out: (1 + r) s s - r s, r the root of 2."""
        self._solve(self.planes, time_s * _DAMPED_SHARE)
        np.multiply(self.planes, -_ROOT_2, out=self._other)
        self._solve(self.planes, time_s * _DAMPED_SHARE)
        np.multiply(self.planes, 1 + _ROOT_2, out=self.planes)
        np.add(self.planes, self._other, out=self.planes)

    def add_half(self, entering: HeatEntering, root: Floats) -> None:
        """Add half of an energy to the field."""
        cells = np.unravel_index(entering.cell, root.shape)
        order = [(self._axis + k) % AXES for k in range(AXES)]
        turned = np.ravel_multi_index([cells[axis] for axis in order], [root.shape[axis] for axis in order])
        self.planes.reshape(-1)[turned] += entering.energy_mJ / (2 * root.reshape(-1)[entering.cell])

    def turn_into(self, other: "_Direction") -> None:
        """Give the field to the direction whose axis is the next one."""
        np.copyto(other.planes.reshape(-1, self.planes.shape[0]), self.planes.T)

    def turn_back_into(self, other: "_Direction") -> None:
        """Give the field to the direction whose axis is the one before."""
        np.copyto(other.planes, self.planes.reshape(-1, other.planes.shape[0]).T)

    def straight(self, shape: tuple[int, int, int]) -> Field:
        """Return the scaled field as (nx, ny, nz)."""
        turned = self.planes.reshape([shape[(self._axis + k) % AXES] for k in range(AXES)])
        return np.transpose(turned, [(k - self._axis) % AXES for k in range(AXES)])

    def _solve(self, field: Field, time_s: float) -> None:
        """Solve (1 + t M) new = field in place, M what flows along this axis."""
        link, gain = self._factored(time_s)
        rows, work, multiply, add = self._rows[id(field)], self._row, np.multiply, np.add
        before = rows[0]
        for row, factor in zip(rows[1:], link, strict=True):
            multiply(before, factor, work)
            add(row, work, row)
            before = row
        multiply(field, gain, field)
        for row, factor in zip(reversed(rows[:-1]), reversed(link), strict=True):
            multiply(before, factor, work)
            add(row, work, row)
            before = row

    def _factored(self, time_s: float) -> tuple[list[Field], Field]:
        """Return the factors for this length: L D L' of 1 + t M, as minus L below the diagonal and 1/D."""
        if time_s not in self._factors:
            if len(self._factors) == _LENGTHS_KEPT:
                del self._factors[next(iter(self._factors))]
            diagonal = 1 + time_s * self._own
            link = np.zeros_like(self._off)
            for i, off in enumerate(time_s * self._off):
                link[i] = off / diagonal[i]
                diagonal[i + 1] -= off * link[i]
            self._factors[time_s] = (list(link.astype(self._precision)), (1 / diagonal).astype(self._precision))
        return self._factors[time_s]


def _turned(part: Floats, axis: int) -> Floats:
    """Return an array with `axis` first and the following ones after it in turn, as planes (n, cells of a plane)."""
    turned = np.transpose(part, [(axis + k) % AXES for k in range(AXES)])
    return np.array(turned).reshape(turned.shape[0], -1)

"""The work-horse: heat flow in time by alternating directions (Douglas and Gunn), second order in space and time.

A step solves (1 - tX)(1 - tY)(1 - tZ) d = dt (A v + source), t = dt/2, and adds d. Temperatures are scaled by the root of the
heat capacity, so that each direction is a symmetric tridiagonal matrix; it is factored once per length of step. A sweep runs
over whole planes at once, and the field is turned between sweeps so that each plane lies in one piece of memory.

A step may be longer than an explicit one by far, but one that is long beside the time since the last stroke rings: see
`resting_steps_s`.
"""

from dataclasses import dataclass

import numpy as np
from numpy.typing import NDArray

from collum.core.heat.body import Body, HeatEntering
from collum.core.heat.grid import AXES
from collum.core.ring import Floats
from collum.evidence import value

Precision = type[np.float32] | type[np.float64]
Field = NDArray[np.floating]

_ROUNDING = np.finfo(np.float32).eps
_LENGTHS_KEPT = 8


class AlternatingRun:
    """The rise of a body in time, from 0 everywhere. Holds its state: one run each for what is compared."""

    def __init__(self, body: Body, precision: Precision = np.float32) -> None:
        self._shape = body.grid.shape
        self._precision = precision
        root = np.sqrt(body.heat_capacity_mJ_K())
        self._per_root: Field = (1 / root).reshape(-1).astype(precision)
        self._scaled: Field = np.zeros(root.size, precision)
        self._rate = _Rate.of(body, root, precision)
        self._directions = tuple(_Direction(body, root, axis, precision) for axis in range(AXES))

    def step(self, step_s: float, entering: HeatEntering | None = None) -> None:
        """Go on by `step_s`, while the energy `entering` comes in evenly in time."""
        change = self._rate.of_state(self._scaled)
        change *= self._precision(step_s)
        if entering is not None:
            change[entering.cell] += entering.energy_mJ * self._per_root[entering.cell]
        first, second, third = self._directions
        np.copyto(first.planes, change.reshape(first.planes.shape))
        first.solve(step_s)
        first.turn_into(second)
        second.solve(step_s)
        second.turn_into(third)
        third.solve(step_s)
        self._scaled += third.planes.T.reshape(-1)

    def rise_degC(self) -> Field:
        """Return the rise now, (nx, ny, nz) in the precision of the run."""
        return (self._scaled * self._per_root).reshape(self._shape)

    def clear(self) -> None:
        """Go back to a rise of 0 everywhere."""
        self._scaled[:] = 0


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


@dataclass(frozen=True, slots=True)
class _Rate:
    """The change per second of the scaled state: neighbours along each axis, and what each cell gives away.

    All flat, (cells,): a neighbour along an axis lies `strides` further on. Where a row of cells ends its link is 0.
    """

    strides: tuple[int, ...]
    links: tuple[Field, ...]
    own: Field
    result: Field
    work: Field

    @staticmethod
    def of(body: Body, root: Floats, precision: Precision) -> "_Rate":
        own = body.perfusion_mW_K()
        links: list[Field] = []
        strides = tuple(int(np.prod(root.shape[axis + 1 :])) for axis in range(AXES))
        for axis, stride in enumerate(strides):
            lower, upper = (slice(None),) * axis + (slice(None, -1),), (slice(None),) * axis + (slice(1, None),)
            between = body.between_mW_K(axis)
            own = own + body.loss_mW_K(axis)
            own[upper] += between
            own[lower] += between
            link = np.zeros(root.shape)
            link[lower] = between / (root[upper] * root[lower])
            links.append(link.reshape(-1)[:-stride].astype(precision))
        own = (-own / root**2).reshape(-1).astype(precision)
        return _Rate(strides, tuple(links), own, np.zeros_like(own), np.zeros_like(own))

    def of_state(self, state: Field) -> Field:
        """Return the change per second (cells,) of a state (cells,); the array is used again by the next call."""
        result = np.multiply(self.own, state, out=self.result)
        for stride, link in zip(self.strides, self.links, strict=True):
            work = self.work[stride:]
            result[:-stride] += np.multiply(link, state[stride:], out=work)
            result[stride:] += np.multiply(link, state[:-stride], out=work)
        return result


class _Direction:
    """One direction of a step: its planes in order, the axis itself first and the others after it in turn."""

    def __init__(self, body: Body, root: Floats, axis: int, precision: Precision) -> None:
        self._precision = precision
        count = body.grid.shape[axis]
        turned_root = _turned(root, axis)
        self._off = _turned(body.between_mW_K(axis), axis) / (turned_root[1:] * turned_root[:-1])
        loss = body.loss_mW_K(axis) + body.perfusion_mW_K() / AXES
        self._own = _turned(loss, axis) / turned_root**2
        self._own[1:] += _turned(body.between_mW_K(axis), axis) / turned_root[1:] ** 2
        self._own[:-1] += _turned(body.between_mW_K(axis), axis) / turned_root[:-1] ** 2
        self.planes: Field = np.zeros(turned_root.shape, precision)
        self._rows = [self.planes[i] for i in range(count)]
        self._work: Field = np.zeros(turned_root.shape[1], precision)
        self._factors: dict[float, tuple[list[Field], Field]] = {}

    def solve(self, step_s: float) -> None:
        """Solve (1 + t M) new = planes in place, t half a step and M what flows along this axis."""
        link, gain = self._factored(step_s)
        rows, work, multiply, add = self._rows, self._work, np.multiply, np.add
        before = rows[0]
        for row, factor in zip(rows[1:], link, strict=True):
            multiply(before, factor, work)
            add(row, work, row)
            before = row
        multiply(self.planes, gain, self.planes)
        for row, factor in zip(reversed(rows[:-1]), reversed(link), strict=True):
            multiply(before, factor, work)
            add(row, work, row)
            before = row

    def turn_into(self, other: "_Direction") -> None:
        """Give the planes to the direction whose axis is the next one."""
        count = self.planes.shape[0]
        np.copyto(other.planes.reshape(-1, count), self.planes.T)

    def _factored(self, step_s: float) -> tuple[list[Field], Field]:
        """Return the factors of this length of step: L D L' of 1 + t M, as minus L below the diagonal and 1/D."""
        if step_s not in self._factors:
            if len(self._factors) == _LENGTHS_KEPT:
                del self._factors[next(iter(self._factors))]
            half = step_s / 2
            diagonal = 1 + half * self._own
            link = np.zeros_like(self._off)
            for i, off in enumerate(half * self._off):
                link[i] = off / diagonal[i]
                diagonal[i + 1] -= off * link[i]
            self._factors[step_s] = (list(link.astype(self._precision)), (1 / diagonal).astype(self._precision))
        return self._factors[step_s]


def _turned(part: Floats, axis: int) -> Floats:
    """Return an array with `axis` first and the following ones after it in turn, as planes (n, cells of a plane)."""
    turned = np.transpose(part, [(axis + k) % AXES for k in range(AXES)])
    return np.array(turned).reshape(turned.shape[0], -1)

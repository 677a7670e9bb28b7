"""The solver for every day: heat flow in time by alternating directions, second order in space and time.

A step lets heat flow along one axis after the other, each implicitly, and then in the opposite order, each for half the step
(Strang's symmetric splitting); half of what enters does so before it and half after it. Temperatures are scaled by the root
of the heat capacity, so each axis is a symmetric tridiagonal matrix and each part of a step a contraction: no length of step
and no geometry can make it grow, which splittings that add the axes up do not promise. Short parts follow Crank and Nicolson;
long ones a damped rule of the same order, which leaves no ringing behind.

The matrices are factored once per length of step. A sweep runs over whole planes and from both ends at once: the cells of
each axis are kept in the order first, last, second, last but one, so that two planes lie side by side. Between sweeps the
field is turned, so that each pair of planes is in one piece of memory.
"""

from collections.abc import Callable
from dataclasses import dataclass

import numpy as np
from numpy.typing import NDArray
from scipy import sparse

from collum.core.heat.body import Body, HeatEntering
from collum.core.heat.grid import AXES, Shares
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
        root = np.sqrt(body.heat_capacity_mJ_K())
        self._per_root: Field = (1 / root).reshape(-1).astype(precision)
        self._damped_from_s = value("heat.time.damped_from_s")
        # The axis with most planes is swept once where the others are swept twice.
        last = int(np.argmax(self._shape))
        self._first, self._second, self._last = (
            _Direction(body, root, (last + turn) % AXES, precision) for turn in range(1, AXES + 1)
        )
        self._state = self._first.planes.reshape(-1)
        self._place = _places(self._shape, (last + 1) % AXES)

    def step(self, step_s: float, entering: HeatEntering | None = None) -> None:
        """Advance by `step_s`; the energy `entering` comes in half at its start and half at its end.

        What a step does to the field does not depend on what enters, so strokes add up to the last digit.
        """
        first, second, last = self._first, self._second, self._last
        flow = _Direction.flow_damped if step_s > self._damped_from_s else _Direction.flow
        self._add_half(entering)
        flow(first, step_s / 2)
        first.turn_into(second)
        flow(second, step_s / 2)
        second.turn_into(last)
        flow(last, step_s)
        last.turn_back_into(second)
        flow(second, step_s / 2)
        second.turn_back_into(first)
        flow(first, step_s / 2)
        self._add_half(entering)

    def rise_degC(self) -> Field:
        """Return the rise now, (nx, ny, nz) in the precision of the run."""
        return (self._state[self._place] * self._per_root).reshape(self._shape)

    def sample(self, shares: Shares) -> Floats:
        """Return the (P,) rises now at points of the grid."""
        rise = self._state[self._place[shares.cell]] * self._per_root[shares.cell]
        return np.asarray((rise * shares.weight).sum(axis=1), dtype=np.float64)

    def reader(self, shares: Shares) -> Callable[[], Field]:
        """Return what reads the (P,) rises at points of the grid from then on: one product with a sparse matrix."""
        count, each = shares.cell.shape
        place = self._place[shares.cell.reshape(-1)]
        weight = shares.weight.reshape(-1) * self._per_root[shares.cell.reshape(-1)]
        rows = np.arange(0, count * each + 1, each)
        matrix = sparse.csr_array((weight.astype(self._state.dtype), place, rows), shape=(count, self._state.size))
        return lambda: np.asarray(matrix @ self._state)

    def begin_with(self, rise_degC: Field) -> None:
        """Set the rise (nx, ny, nz) from which to go on."""
        self._state[self._place] = rise_degC.reshape(-1) / self._per_root

    def clear(self) -> None:
        """Go back to a rise of 0 everywhere."""
        self._state[:] = 0

    def _add_half(self, entering: HeatEntering | None) -> None:
        if entering is not None:
            self._state[self._place[entering.cell]] += entering.energy_mJ / 2 * self._per_root[entering.cell]


def resting_steps_s(
    rest_s: float, *, since_s: float = 0, longest_s: float | None = None, share: float | None = None
) -> list[float]:
    """Return the steps over a rest that begins `since_s` after the stroke's end: a short first one, then growing ones.

    Lengths are the shortest one doubled again and again, so that few are factored: the longest that is no more than a
    share of the time since the stroke nor than `longest_s`; what is left of the rest at the end is one step of its own.

    Parameters
    ----------
    rest_s : float
        Length of the rest [s].
    since_s : float
        Time since the stroke at the start of the rest [s].
    longest_s : float or None
        Longest step [s]; no bound when None.
    share : float or None
        Longest step as a share of the time since the stroke [1]; that of the registry when None.

    Returns
    -------
    list of float
        Lengths of the steps [s], which sum to the rest.

    Source
    ------
    Derived; shortest step and share are decisions [collum_decision].

    Examples
    --------
    >>> steps = resting_steps_s(10, since_s=2)
    >>> len(steps), round(sum(steps), 6), round(steps[0], 1), round(max(steps), 1)
    (40, 10.0, 0.1, 0.4)
    """
    shortest, grown = value("heat.time.shortest_step_s"), share or value("heat.time.growth_share")
    steps: list[float] = []
    done = 0.0
    while (left := rest_s - done) > shortest * _ROUNDING:
        allowed = min(grown * (since_s + done), left, longest_s or left)
        doublings = max(int(np.log2(max(allowed / shortest, 1)) + _ROUNDING), 0)
        steps.append(min(shortest * 2**doublings, left))
        done += steps[-1]
    return steps


class _Direction:
    """Flow along one axis: the scaled field as planes (n, cells of a plane), the other axes after this one in turn."""

    def __init__(self, body: Body, root: Floats, axis: int, precision: Precision) -> None:
        self._precision = precision
        count = _even(root.shape[axis])
        turned_root = _planes(root, axis, count, fill=1)
        between = _planes(body.between_mW_K(axis), axis, count - 1, fill=0)
        own = _planes(body.loss_mW_K(axis) + body.perfusion_mW_K() / AXES, axis, count, fill=0)
        own[1:] += between
        own[:-1] += between
        off = between / (turned_root[1:] * turned_root[:-1])
        half = count // 2
        self._own = _from_both_ends(own / turned_root**2, half)
        self._off = _from_both_ends(off, half - 1)
        self._middle = np.tile(off[half - 1], 2)
        self.planes: Field = np.zeros(turned_root.shape, precision)
        self._other: Field = np.zeros_like(self.planes)
        self._pairs = {id(part): list(part.reshape(half, -1)) for part in (self.planes, self._other)}
        self._work: Field = np.zeros_like(self._pairs[id(self.planes)][0])
        self._factors: dict[float, _Factors] = {}

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

    def turn_into(self, other: "_Direction") -> None:
        """Give the field to the direction whose axis is the next one."""
        np.copyto(other.planes.reshape(-1, self.planes.shape[0]), self.planes.T)

    def turn_back_into(self, other: "_Direction") -> None:
        """Give the field to the direction whose axis is the one before."""
        np.copyto(other.planes, self.planes.reshape(-1, other.planes.shape[0]).T)

    def _solve(self, field: Field, time_s: float) -> None:
        """Solve (1 + t M) new = field in place, M what flows along this axis."""
        factors = self._factored(time_s)
        pairs, work, multiply, add = self._pairs[id(field)], self._work, np.multiply, np.add
        before = pairs[0]
        for pair, link in zip(pairs[1:], factors.links, strict=True):
            multiply(before, link, work)
            add(pair, work, pair)
            before = pair
        np.multiply(before.reshape(2, -1)[::-1], factors.across, out=work.reshape(2, -1))
        multiply(field, factors.gain, field)
        add(before, work, before)
        for pair, link in zip(reversed(pairs[:-1]), reversed(factors.links), strict=True):
            multiply(before, link, work)
            add(pair, work, pair)
            before = pair

    def _factored(self, time_s: float) -> "_Factors":
        if time_s not in self._factors:
            if len(self._factors) == _LENGTHS_KEPT:
                del self._factors[next(iter(self._factors))]
            self._factors[time_s] = _Factors.of(time_s, self._own, self._off, self._middle, self._precision)
        return self._factors[time_s]


@dataclass(frozen=True, slots=True)
class _Factors:
    """What solves 1 + t M from both ends to the middle and back.

    links: minus the factor below the diagonal, for each pair of planes after the first; gain (n, cells): the diagonal's
    inverse, in the middle pair that of its 2 x 2 matrix; across: how much of its other plane a plane of that pair takes.
    """

    links: list[Field]
    gain: Field
    across: Field

    @staticmethod
    def of(time_s: float, own: Floats, off: Floats, middle: Floats, precision: Precision) -> "_Factors":
        diagonal = 1 + time_s * own
        links = np.zeros_like(off)
        for i, between in enumerate(time_s * off):
            links[i] = between / diagonal[i]
            diagonal[i + 1] -= between * links[i]
        low, high = diagonal[-1].reshape(2, -1)
        across = time_s * middle
        determinant = np.tile(low * high, 2) - across**2
        gain = 1 / diagonal
        gain[-1] = np.concatenate([high, low]) / determinant
        count = 2 * len(gain)
        return _Factors(
            list(links.astype(precision)),
            gain.reshape(count, -1).astype(precision),
            (across / determinant).reshape(2, -1).astype(precision),
        )


def _order(count: int) -> NDArray[np.int64]:
    """Return the order first, last, second, last but one of an even number of cells."""
    return np.stack([np.arange(count // 2), count - 1 - np.arange(count // 2)], axis=1).reshape(-1)


def _even(count: int) -> int:
    return count + count % 2


def _planes(part: Floats, axis: int, count: int, *, fill: float) -> Floats:
    """Return an array as planes across `axis`, (count, cells of a plane), the following axes after it in turn.

    What is missing is filled. The axis itself keeps its order here, the others have the order of the field.
    """
    room = [(0, (count if other == axis else _even(size)) - size) for other, size in enumerate(part.shape)]
    filled = np.pad(part, room, constant_values=fill)
    for other in range(AXES):
        if other != axis:
            filled = np.take(filled, _order(filled.shape[other]), axis=other)
    turned = np.transpose(filled, [(axis + k) % AXES for k in range(AXES)])
    return np.array(turned).reshape(count, -1)


def _from_both_ends(part: Floats, count: int) -> Floats:
    """Return (count, 2 cells): the first plane beside the last one, the second beside the last but one, and on."""
    return np.concatenate([part[:count], part[::-1][:count]], axis=1)


def _places(shape: tuple[int, int, int], axis: int) -> NDArray[np.int64]:
    """Return where each cell, flat in the order of the grid, is in the field turned so that `axis` is first."""
    number = np.arange(np.prod([_even(size) for size in shape]))
    order = [(axis + k) % AXES for k in range(AXES)]
    turned = np.transpose(number.reshape([_even(shape[a]) for a in order]), np.argsort(order))
    for a, size in enumerate(shape):
        turned = np.take(turned, np.argsort(_order(_even(size)))[:size], axis=a)
    return turned.reshape(-1)

"""An independent check of `alternating`: plain explicit steps with conductances formed anew, in double precision.

Slow, and stable only below `explicit_limit_s`; shares nothing with the alternating directions but the description of the body.
"""

from typing import Any

import numpy as np
from numpy.typing import NDArray

from collum.core.heat.body import Body, HeatEntering
from collum.core.heat.grid import AXES
from collum.core.ring import Floats


class ExplicitRun:
    """The rise of a body in time by forward steps, from 0 everywhere."""

    def __init__(self, body: Body) -> None:
        self._capacity = body.heat_capacity_mJ_K()
        self._through = tuple(_through_faces(body, axis) for axis in range(AXES))
        self._blood = np.where(body.solid, body.perfusion * body.grid.volume_mm3(), 0)
        self._rise = np.zeros(body.grid.shape)

    def step(self, step_s: float, entering: HeatEntering | None = None) -> None:
        """Advance by one step, while the energy `entering` comes in."""
        gained = -step_s * self._blood * self._rise
        for axis, (inner, to_low, to_high) in enumerate(self._through):
            flow = -inner * np.diff(self._rise, axis=axis)
            none = np.zeros_like(np.take(flow, [0], axis=axis))
            gained -= step_s * np.diff(np.concatenate([none, flow, none], axis=axis), axis=axis)
            gained -= step_s * (to_low + to_high) * self._rise
        if entering is not None:
            gained.reshape(-1)[entering.cell] += entering.energy_mJ
        self._rise = self._rise + gained / self._capacity

    def rise_degC(self) -> Floats:
        """Return the rise now, (nx, ny, nz)."""
        return self._rise

    def limit_s(self) -> float:
        """Return the longest stable step: no cell may lose more than it holds. [s]"""
        given = self._blood.copy()
        for axis, (inner, to_low, to_high) in enumerate(self._through):
            none = np.zeros_like(np.take(inner, [0], axis=axis))
            given += np.concatenate([inner, none], axis=axis) + np.concatenate([none, inner], axis=axis) + to_low + to_high
        return float((self._capacity[given > 0] / given[given > 0]).min())


def _through_faces(body: Body, axis: int) -> tuple[Floats, Floats, Floats]:
    """Return what flows per kelvin between neighbours, and from each cell outwards through its low and its high face.

    The mean of two conductivities is harmonic, weighted by the widths of the cells.
    """
    area = np.broadcast_to(body.grid.area_mm2(axis), body.grid.shape)
    shape = [1] * AXES
    shape[axis] = -1
    width = np.broadcast_to(body.grid.widths_mm(axis).reshape(shape), body.grid.shape)
    count = body.grid.shape[axis]
    low, high = np.arange(count - 1), np.arange(1, count)

    def at(part: NDArray[Any], cells: NDArray[np.int64]) -> NDArray[Any]:
        return np.take(part, cells, axis=axis)

    k, solid = body.conductivity, body.solid.astype(np.float64)
    series = at(width, low) * at(k, high) + at(width, high) * at(k, low)
    inner = 2 * at(area, low) * at(k, low) * at(k, high) / series * at(solid, low) * at(solid, high)
    outward = []
    for side, beyond in ((0, np.arange(-1, count - 1)), (-1, np.arange(1, count + 1))):
        edge = np.zeros(count, dtype=bool)
        edge[side] = True
        open_film = np.where(at(body.solid, np.clip(beyond, 0, count - 1)), 0, body.film)
        film = np.where(edge.reshape(shape), body.walls[axis][side], open_film)
        with np.errstate(divide="ignore"):
            outward.append(solid * area / (width / (2 * k) + 1 / film))
    return np.asarray(inner), outward[0], outward[1]

"""Rectangular grids in space: equal steps where the cut is, growing ones towards the far field."""

from dataclasses import dataclass

import numpy as np
from numpy.typing import NDArray

from collum.core.ring import Floats

AXES = 3


@dataclass(frozen=True, slots=True, kw_only=True)
class Grid:
    """A box of cells, cut by planes: x_mm (nx + 1,), y_mm (ny + 1,), z_mm (nz + 1,), each rising."""

    x_mm: Floats
    y_mm: Floats
    z_mm: Floats

    def __post_init__(self) -> None:
        if any(edges.ndim != 1 or edges[1:-1].size == 0 or np.diff(edges).min() <= 0 for edges in self.edges_mm):
            raise ValueError("a grid needs at least two cells along each axis, its planes rising")

    @property
    def edges_mm(self) -> tuple[Floats, Floats, Floats]:
        """The planes along x, y, z."""
        return self.x_mm, self.y_mm, self.z_mm

    @property
    def shape(self) -> tuple[int, int, int]:
        """Number of cells along x, y, z."""
        return self.x_mm.size - 1, self.y_mm.size - 1, self.z_mm.size - 1

    def widths_mm(self, axis: int) -> Floats:
        """Return the (n,) widths of the cells along an axis."""
        return np.asarray(np.diff(self.edges_mm[axis]))

    def centres_mm(self, axis: int) -> Floats:
        """Return the (n,) centres of the cells along an axis."""
        edges = self.edges_mm[axis]
        return np.asarray((edges[1:] + edges[:-1]) / 2)

    def mesh_mm(self) -> tuple[Floats, Floats, Floats]:
        """Return the x, y, z of the centres, each shaped so that it spreads over (nx, ny, nz)."""
        x, y, z = (self.centres_mm(axis) for axis in range(AXES))
        return x[:, None, None], y[None, :, None], z[None, None, :]

    def volume_mm3(self) -> Floats:
        """Return the (nx, ny, nz) volumes of the cells."""
        x, y, z = (self.widths_mm(axis) for axis in range(AXES))
        return np.asarray(x[:, None, None] * y[None, :, None] * z[None, None, :])

    def area_mm2(self, axis: int) -> Floats:
        """Return the areas of the faces across an axis, shaped so that they spread over (nx, ny, nz)."""
        widths = [self.widths_mm(other) for other in range(AXES)]
        widths[axis] = np.ones(1)
        return np.asarray(widths[0][:, None, None] * widths[1][None, :, None] * widths[2][None, None, :])

    def step_mm(self) -> float:
        """Return the least width of a cell."""
        return min(float(self.widths_mm(axis).min()) for axis in range(AXES))

    def shares(self, points_mm: Floats) -> "Shares":
        """Return how each of the (P, 3) points is shared by the eight cell centres round it (trilinear, sums to 1).

        Points outside of the outermost centres are taken at the nearest centre.
        """
        low, high = zip(*(_between(self.centres_mm(axis), points_mm[:, axis]) for axis in range(AXES)), strict=True)
        cell = np.zeros((len(points_mm), 1), dtype=np.int64)
        weight = np.ones((len(points_mm), 1))
        for axis, (index, part) in enumerate(zip(low, high, strict=True)):
            two = np.stack([index, index + 1], axis=1)
            cell = (cell[:, :, None] * self.shape[axis] + two[:, None, :]).reshape(len(points_mm), -1)
            weight = (weight[:, :, None] * np.stack([1 - part, part], axis=1)[:, None, :]).reshape(len(points_mm), -1)
        return Shares(cell=cell, weight=weight)


@dataclass(frozen=True, slots=True, kw_only=True)
class Shares:
    """Flat cell numbers and weights, each (P, 8), of points on a grid."""

    cell: NDArray[np.int64]
    weight: Floats

    def within(self, solid: NDArray[np.bool_]) -> "Shares":
        """Return the shares among the solid cells (nx, ny, nz) only, still summing to 1.

        Raises ValueError where a point has none of them round it.
        """
        found = self.among(solid)
        if not found.weight.any(axis=1).all():
            raise ValueError(f"points {np.flatnonzero(~found.weight.any(axis=1)).tolist()} lie in air")
        return found

    def among(self, solid: NDArray[np.bool_]) -> "Shares":
        """Return the same, with no share at all where a point has no solid cell round it."""
        weight = self.weight * solid.reshape(-1)[self.cell]
        total = weight.sum(axis=1, keepdims=True)
        return Shares(cell=self.cell, weight=np.divide(weight, total, out=np.zeros_like(weight), where=total > 0))

    def sample(self, field: NDArray[np.floating]) -> Floats:
        """Return the (P,) values of a field (nx, ny, nz) at the points."""
        return np.asarray((field.reshape(-1)[self.cell] * self.weight).sum(axis=1), dtype=np.float64)


def even_edges(low_mm: float, high_mm: float, step_mm: float) -> Floats:
    """Return planes from low to high in equal steps, as near to `step_mm` as they fit.

    Parameters
    ----------
    low_mm, high_mm : float
        First and last plane [mm].
    step_mm : float
        Wanted step [mm].

    Returns
    -------
    ndarray (n + 1,)
        Planes of n cells, at least 2 [mm].

    Source
    ------
    Derived.

    Examples
    --------
    >>> even_edges(0, 1, 0.3).round(2).tolist()
    [0.0, 0.33, 0.67, 1.0]
    """
    return np.linspace(low_mm, high_mm, max(round((high_mm - low_mm) / step_mm), 2) + 1)


def graded_edges(outer_mm: tuple[float, float], inner_mm: tuple[float, float], step_mm: float, growth: float) -> Floats:
    """Return planes over `outer_mm`: equal steps within `inner_mm`, each further one `growth` times as wide as the one before.

    Parameters
    ----------
    outer_mm : tuple of 2 float
        First and last plane [mm].
    inner_mm : tuple of 2 float
        The stretch with equal steps [mm].
    step_mm : float
        Step within that stretch [mm].
    growth : float
        Growth of the steps away from it [1], at least 1.

    Returns
    -------
    ndarray (n + 1,)
        Planes of n cells [mm], rising.

    Raises
    ------
    ValueError
        Where the inner stretch is not within the outer one or the growth is below 1.

    Source
    ------
    Derived.

    Examples
    --------
    >>> graded_edges((-4, 1), (0, 1), 0.5, 2).round(2).tolist()
    [-4.0, -1.71, -0.57, 0.0, 0.5, 1.0]
    """
    if not (outer_mm[0] <= inner_mm[0] < inner_mm[1] <= outer_mm[1] and growth >= 1):
        raise ValueError("the fine stretch lies within the whole, and steps grow outwards")
    inner = even_edges(*inner_mm, step_mm)
    before = inner[0] - _growing(inner_mm[0] - outer_mm[0], step_mm, growth)[::-1]
    after = inner[-1] + _growing(outer_mm[1] - inner_mm[1], step_mm, growth)
    return np.concatenate([before, inner, after])


def _growing(length_mm: float, step_mm: float, growth: float) -> Floats:
    """Return distances at which growing steps end, the last one at `length_mm`."""
    steps: list[float] = []
    while sum(steps) < length_mm - step_mm / 2:
        steps.append((steps[-1] if steps else step_mm) * growth)
    ends = np.cumsum(steps)
    return np.asarray(ends * (length_mm / ends[-1]) if steps else ends)


def _between(centres: Floats, at: Floats) -> tuple[NDArray[np.int64], Floats]:
    """Return the centre below each place and how far the place is towards the next one, 0 to 1."""
    low = np.clip(np.searchsorted(centres, at) - 1, 0, centres.size - 2)
    part = np.clip((at - centres[low]) / (centres[low + 1] - centres[low]), 0, 1)
    return low, part

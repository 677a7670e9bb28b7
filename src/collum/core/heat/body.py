"""A body on a grid: what each cell conducts, holds and gives to the blood, and what happens at its surface and walls.

Everything is a rise over the temperature at rest; air and far field have a rise of 0. Heat flows through the faces of the
cells, so what leaves one enters the next: the scheme conserves energy by construction.
"""

from dataclasses import dataclass, field
from typing import Any

import numpy as np
from numpy.typing import NDArray

from collum.core.heat.grid import AXES, Grid
from collum.core.heat.tissues import Tissue
from collum.core.ring import Floats

FAR = float("inf")
INSULATED = 0.0

Walls = tuple[tuple[float, float], tuple[float, float], tuple[float, float]]
FAR_WALLS: Walls = ((FAR, FAR), (FAR, FAR), (FAR, FAR))


@dataclass(frozen=True, slots=True, kw_only=True)
class Body:
    """Cells (nx, ny, nz) of tissue or air.

    conductivity [mW/(mm K)], capacity [mJ/(mm3 K)], perfusion [mW/(mm3 K)] and solid (False in air) have the shape of the
    grid. film [mW/(mm2 K)] is the coefficient between tissue and air; walls holds one coefficient for each end of each axis,
    0 insulated, infinite held at rest.
    """

    grid: Grid
    conductivity: Floats
    capacity: Floats
    perfusion: Floats
    solid: NDArray[np.bool_]
    film: float
    walls: Walls = field(default=FAR_WALLS)

    def __post_init__(self) -> None:
        for part in (self.conductivity, self.capacity, self.perfusion, self.solid):
            if part.shape != self.grid.shape:
                raise ValueError(f"an array of shape {part.shape} on a grid of {self.grid.shape}")
        if self.conductivity.min() <= 0 or self.capacity.min() <= 0 or self.perfusion.min() < 0 or self.film < 0:
            raise ValueError("conductivity and capacity are above 0, perfusion and film not below")

    @staticmethod
    def of(grid: Grid, tissues: tuple[Tissue, ...], number: NDArray[np.int64], *, film: float, walls: Walls) -> "Body":
        """Return the body whose cell holds the tissue of `number` (nx, ny, nz), below 0 air."""
        held = np.maximum(number, 0)
        return Body(
            grid=grid,
            conductivity=np.array([t.conductivity for t in tissues])[held],
            capacity=np.array([t.capacity for t in tissues])[held],
            perfusion=np.array([t.perfusion for t in tissues])[held],
            solid=number >= 0,
            film=film,
            walls=walls,
        )

    def heat_capacity_mJ_K(self) -> Floats:
        """Return the heat each cell takes per kelvin, (nx, ny, nz)."""
        return np.asarray(self.capacity * self.grid.volume_mm3())

    def energy_mJ(self, rise_degC: NDArray[np.floating]) -> float:
        """Return the heat a rise (nx, ny, nz) holds over the state at rest."""
        return float((self.heat_capacity_mJ_K() * rise_degC).sum())

    def between_mW_K(self, axis: int) -> Floats:
        """Return what flows per kelvin between neighbours along an axis, (.., n - 1, ..): two half cells in series."""
        half = _first(self._half_resistance(axis), axis)
        solid = _first(self.solid, axis)
        flow = np.where(solid[1:] & solid[:-1], _first(self.grid.area_mm2(axis), axis) / (half[1:] + half[:-1]), 0)
        return np.asarray(np.moveaxis(flow, 0, axis))

    def loss_mW_K(self, axis: int) -> Floats:
        """Return what leaves each cell per kelvin through its faces across an axis, to air and walls, (nx, ny, nz)."""
        half = _first(self._half_resistance(axis), axis)
        solid = _first(self.solid, axis)
        area = _first(self.grid.area_mm2(axis), axis)
        loss = np.zeros(solid.shape)
        open_face = solid[1:] != solid[:-1]
        loss[1:] += np.where(open_face, _through_film(area, half[1:], self.film), 0)
        loss[:-1] += np.where(open_face, _through_film(area, half[:-1], self.film), 0)
        low, high = self.walls[axis]
        loss[:1] += _through_film(area, half[:1], low)
        loss[-1:] += _through_film(area, half[-1:], high)
        return np.asarray(np.moveaxis(np.where(solid, loss, 0), 0, axis))

    def perfusion_mW_K(self) -> Floats:
        """Return what the blood takes from each cell per kelvin, (nx, ny, nz)."""
        return np.asarray(np.where(self.solid, self.perfusion * self.grid.volume_mm3(), 0))

    def _half_resistance(self, axis: int) -> Floats:
        """Return the resistance of half a cell along an axis, per area. [mm2 K/mW]"""
        shape = [1] * AXES
        shape[axis] = -1
        return np.asarray(self.grid.widths_mm(axis).reshape(shape) / (2 * self.conductivity))


@dataclass(frozen=True, slots=True, kw_only=True)
class HeatEntering:
    """Energy that enters a body during one step: flat cell numbers (N,), each once, and energy_mJ (N,)."""

    cell: NDArray[np.int64]
    energy_mJ: Floats


def _through_film(area: Floats, half: Floats, film: float) -> Floats:
    return np.zeros(half.shape) if film == 0 else np.asarray(area / (half + 1 / film))


def _first(part: NDArray[Any], axis: int) -> NDArray[Any]:
    return np.moveaxis(part, axis, 0)

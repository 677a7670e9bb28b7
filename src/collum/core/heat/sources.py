"""The heat a moving wire leaves: sheets swept through the tissue, their energy exact on the grid.

A stroke boils a kerf away, and that heat leaves as vapour. What stays is a sheet of heat on the cut face. How much is not
known; it is stated through the width of the denatured zone it would make, and as a band about it.
"""

from dataclasses import dataclass
from itertools import pairwise
from math import e, pi

import numpy as np
from scipy import sparse

from collum.core.heat.body import Body, HeatEntering
from collum.core.heat.tissues import tissue
from collum.core.ring import Floats
from collum.evidence import value

_ROUNDING = np.finfo(np.float32).eps
_SPREAD = np.polynomial.hermite_e.hermegauss(4)


@dataclass(frozen=True, slots=True, kw_only=True)
class Sheet:
    """A face swept by one straight piece of wire: its ends at M instants of the stroke.

    first_mm and second_mm (M, 3), M at least 2, are where the two ends pass; part (M,) rises from 0 to 1, the share of the
    stroke's duration that has passed.
    """

    first_mm: Floats
    second_mm: Floats
    part: Floats

    def __post_init__(self) -> None:
        if self.first_mm.shape != self.second_mm.shape or self.first_mm.shape != (self.part.size, 3):
            raise ValueError("a sheet needs two ends (M, 3) and M shares of the stroke")
        if self.part[0] != 0 or self.part[-1] != 1 or np.diff(self.part).min() <= 0:
            raise ValueError("the shares of the stroke rise from 0 to 1")

    def area_mm2(self) -> float:
        """Return the area of the face, each strip as two triangles."""
        a, b = self.first_mm[:-1], self.second_mm[:-1]
        c, d = self.first_mm[1:], self.second_mm[1:]
        halves = np.linalg.norm(np.cross(b - a, c - a), axis=1) + np.linalg.norm(np.cross(b - d, c - d), axis=1)
        return float(halves.sum() / 2)


@dataclass(frozen=True, slots=True, kw_only=True)
class WireStroke:
    """One pass of the wire: the sheets it sweeps at the same time, its duration, and the heat it leaves per area of face."""

    sheets: tuple[Sheet, ...]
    duration_s: float
    heat_mJ_mm2: float

    def energy_mJ(self) -> float:
        """Return all the heat it leaves."""
        return self.heat_mJ_mm2 * sum(sheet.area_mm2() for sheet in self.sheets)


def needle(entry_mm: Floats, tip_mm: Floats) -> tuple[Sheet, ...]:
    """Return the one sheet of a straight wire.

    Parameters
    ----------
    entry_mm, tip_mm : ndarray (M, 3)
        Points its entry and its tip pass through [mm].

    Returns
    -------
    tuple of 1 Sheet
        The swept face [mm].

    Source
    ------
    Derived.

    Examples
    --------
    >>> along = np.linspace(0, 5, 6)
    >>> entry = np.stack([along, 0 * along, 0 * along], axis=1)
    >>> [sheet.area_mm2() for sheet in needle(entry, entry + [0, 0, 2])]
    [10.0]
    """
    part = _part(entry_mm, tip_mm)
    return (Sheet(first_mm=entry_mm, second_mm=tip_mm, part=part),)


def loop(entry_mm: Floats, tip_mm: Floats, width_mm: float) -> tuple[Sheet, ...]:
    """Return both sides and the bottom of a loop, its middle passing as a needle would.

    A narrow loop is the trough. More wire in the tissue leaves more heat in the same ratio: a reason for longer pauses.

    Parameters
    ----------
    entry_mm, tip_mm : ndarray (M, 3)
        Points the middle of the loop passes through, at the surface and at its tip [mm].
    width_mm : float
        Width of the loop [mm].

    Returns
    -------
    tuple of 3 Sheet
        The swept faces [mm].

    Source
    ------
    Derived.

    Examples
    --------
    >>> along = np.linspace(0, 5, 6)
    >>> entry = np.stack([along, 0 * along, 0 * along], axis=1)
    >>> [sheet.area_mm2() for sheet in loop(entry, entry + [0, 0, 2], 2)]
    [10.0, 10.0, 10.0]
    """
    part = _part(entry_mm, tip_mm)
    along = np.gradient((entry_mm + tip_mm) / 2, axis=0)
    side = _unit(np.cross(along, tip_mm - entry_mm)) * (width_mm / 2)
    faces = (
        (entry_mm - side, tip_mm - side),
        (tip_mm - side, tip_mm + side),
        (entry_mm + side, tip_mm + side),
    )
    return tuple(Sheet(first_mm=first, second_mm=second, part=part) for first, second in faces)


def unit_heat_mJ_mm2() -> float:
    """Return the heat per area that marks the middle band at the reference speed.

    Returns
    -------
    float
        Heat per area of the swept face, both walls together [mJ/mm2].

    Source
    ------
    Derived by `sheet_heat_mJ_mm2` from the width of the denatured zone and the temperature at its rim [collum_decision].

    Examples
    --------
    >>> round(unit_heat_mJ_mm2(), 1)
    65.6
    """
    return sheet_heat_mJ_mm2(value("heat.source.denatured_mm"), value("heat.source.denaturing_degc") - value("heat.rest_degc"))


def sheet_heat_mJ_mm2(half_width_mm: float, rise_degC: float) -> float:
    """Return the heat per area whose sheet reaches a rise at most at a distance: sqrt(2 pi e) rho c rise distance.

    Parameters
    ----------
    half_width_mm : float
        Distance from the sheet [mm].
    rise_degC : float
        Greatest rise at that distance [K].

    Returns
    -------
    float
        Heat per area [mJ/mm2].

    Source
    ------
    Derived: the peak of the plane source of Carslaw and Jaeger, without perfusion. Capacity of gingiva [tissue_table_2019].

    Examples
    --------
    >>> round(sheet_heat_mJ_mm2(0.1, 20), 1)
    31.2
    """
    capacity = tissue("gingiva", perfusion_share=0).capacity
    return float(np.sqrt(2 * pi * e) * capacity * rise_degC * half_width_mm)


@dataclass(frozen=True, slots=True, kw_only=True)
class Deposit:
    """The energy of a stroke on a grid, one entry for each of its equal steps of time."""

    parts: tuple[HeatEntering, ...]
    step_s: float


def deposit(body: Body, stroke: WireStroke, *, spread_mm: float | None = None) -> Deposit:
    """Return the energy a stroke leaves in the cells of a body, in as many steps as its duration asks for.

    The face is sampled finer than the grid, spread across by a Gaussian, each sample shared by the cells round it. What would
    enter air is given to the tissue in the same ratio, that of a whole sheet in air (the upper side of a loop, where the gum
    above the cut is gone) to the sheets that are not, so the sum is the stroke's energy.

    Parameters
    ----------
    body : Body
        Tissue on a grid.
    stroke : WireStroke
        The stroke, with its heat [mJ/mm2] and duration [s].
    spread_mm : float or None
        Standard deviation of the Gaussian [mm]; when None that of the registry, but never less than a step of the grid.

    Returns
    -------
    Deposit
        Energy [mJ] by cell for each step, and the length of a step [s].

    Raises
    ------
    ValueError
        Where the whole stroke passes in air.

    Source
    ------
    Derived.

    Examples
    --------
    >>> from collum.core.heat.body import FAR_WALLS
    >>> from collum.core.heat.grid import Grid, even_edges
    >>> planes = even_edges(-2, 2, 0.5)
    >>> grid = Grid(x_mm=planes, y_mm=planes, z_mm=planes)
    >>> gum = tissue("gingiva", perfusion_share=0)
    >>> body = Body.of(grid, (gum,), np.zeros(grid.shape, dtype=np.int64), film=0, walls=FAR_WALLS)
    >>> entry = np.array([[-1.0, 0, 0], [1, 0, 0]])
    >>> stroke = WireStroke(sheets=needle(entry, entry + [0, 0, 1]), duration_s=0.3, heat_mJ_mm2=60)
    >>> left = deposit(body, stroke)
    >>> len(left.parts), round(float(sum(part.energy_mJ.sum() for part in left.parts)), 3)  # 2 mm2 times 60 mJ/mm2
    (3, 120.0)
    """
    spread = max(value("heat.source.width_mm"), body.grid.step_mm()) if spread_mm is None else spread_mm
    count = steps_of(stroke)
    total, in_tissue_mJ = sparse.csr_array((count, body.solid.size)), 0.0
    for sheet in stroke.sheets:
        shares, energy_mJ = _sheet_shares(body, sheet, count, spread), sheet.area_mm2() * stroke.heat_mJ_mm2
        if shares is not None:
            total, in_tissue_mJ = total + shares * energy_mJ, in_tissue_mJ + energy_mJ
    if in_tissue_mJ <= 0:
        raise ValueError("the wire passes in air only")
    total = total * (stroke.energy_mJ() / in_tissue_mJ)
    total.sum_duplicates()
    parts = tuple(
        HeatEntering(cell=total.indices[low:high].astype(np.int64), energy_mJ=total.data[low:high])
        for low, high in pairwise(total.indptr)
    )
    return Deposit(parts=parts, step_s=stroke.duration_s / count)


def steps_of(stroke: WireStroke) -> int:
    """Return in how many equal steps a stroke is run.

    Parameters
    ----------
    stroke : WireStroke
        The stroke, with its duration [s].

    Returns
    -------
    int
        Number of steps, at least 1.

    Source
    ------
    Derived; the longest step within a stroke is a decision [collum_decision].

    Examples
    --------
    >>> steps_of(WireStroke(sheets=(), duration_s=0.72, heat_mJ_mm2=60))
    8
    """
    return max(int(np.ceil(stroke.duration_s / value("heat.time.shortest_step_s") - _ROUNDING)), 1)


def _sheet_shares(body: Body, sheet: Sheet, count: int, spread_mm: float) -> sparse.csr_array | None:
    """Return (count, cells) the share of a sheet's heat that enters each cell in each step, all together 1; None in air."""
    points, part, weight = _samples(sheet, body.grid.step_mm(), spread_mm)
    shares = body.grid.shares(points)
    step = np.minimum((part * count).astype(np.int64), count - 1)
    energy = shares.weight * weight[:, None] * body.solid.reshape(-1)[shares.cell]
    if energy.sum() <= 0:
        return None
    rows = np.broadcast_to(step[:, None], energy.shape)
    spread = sparse.coo_array(
        (energy.ravel() / energy.sum(), (rows.ravel(), shares.cell.ravel())), shape=(count, body.solid.size)
    )
    return sparse.csr_array(spread)


def _samples(sheet: Sheet, step_mm: float, spread_mm: float) -> tuple[Floats, Floats, Floats]:
    """Return (N, 3) points of a sheet and across it, (N,) when in the stroke, and (N,) weights by area."""
    path = np.linalg.norm(np.diff((sheet.first_mm + sheet.second_mm) / 2, axis=0), axis=1).sum()
    wire = np.linalg.norm(sheet.second_mm - sheet.first_mm, axis=1).max()
    part = _middles(path, step_mm)
    across = _middles(wire, step_mm)
    first = np.stack([np.interp(part, sheet.part, sheet.first_mm[:, i]) for i in range(3)], axis=1)
    second = np.stack([np.interp(part, sheet.part, sheet.second_mm[:, i]) for i in range(3)], axis=1)
    along = np.gradient((first + second) / 2, axis=0)
    offsets, offset_weight = _SPREAD
    spread = offsets * spread_mm
    face = first[:, None, :] + across[None, :, None] * (second - first)[:, None, :]
    normal = _unit(np.cross(along, second - first))
    points = face[:, :, None, :] + spread[None, None, :, None] * normal[:, None, None, :]
    local = np.linalg.norm(second - first, axis=1) * np.linalg.norm(along, axis=1)
    weight = local[:, None, None] * offset_weight[None, None, :] * np.ones((1, across.size, 1))
    return points.reshape(-1, 3), np.repeat(part, across.size * offsets.size), weight.reshape(-1)


def _middles(length_mm: float, step_mm: float) -> Floats:
    """Return places from 0 to 1, in the middle of equal pieces of a third of the step or less."""
    count = max(int(np.ceil(3 * length_mm / step_mm)), 2)
    return (np.arange(count) + 1 / 2) / count


def _part(entry_mm: Floats, tip_mm: Floats) -> Floats:
    """Return the share of a path passed at each of its points, at even speed of the middle of the wire."""
    passed = np.cumsum(np.linalg.norm(np.diff((entry_mm + tip_mm) / 2, axis=0), axis=1))
    return np.concatenate([[0], passed / passed[-1]])


def _unit(vectors: Floats) -> Floats:
    return np.asarray(vectors / np.linalg.norm(vectors, axis=1, keepdims=True))

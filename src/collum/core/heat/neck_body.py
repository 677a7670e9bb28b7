"""The neck of a tooth as a body of heat: root, bone, gum and air from a few curves round the neck.

The axis of the tooth is z, apical positive, x facial and y mesial; angles are degrees round the neck, 0 facial. Tissue stays
as it is while the wire passes, or is already carved away above the cut, which leaves the heat one side less to go to.
"""

from dataclasses import dataclass, replace

import numpy as np
from numpy.typing import NDArray

from collum.core.heat.body import FAR, Body
from collum.core.heat.grid import Grid, graded_edges
from collum.core.heat.sources import Sheet, WireStroke, loop, needle, unit_heat_mJ_mm2
from collum.core.heat.superposition import Organ
from collum.core.heat.tissues import TissueName, tissue
from collum.core.ring import Floats
from collum.evidence import value

_TISSUES: tuple[TissueName, ...] = ("gingiva", "bone", "dentine", "enamel")
_AIR = -1
_TURN_DEG = 360


@dataclass(frozen=True, slots=True, kw_only=True)
class NeckShape:
    """Curves round the neck at A rising angles, each (A,).

    z of margin, crest, inner end of the cut and cemento-enamel junction; radius of the root; thickness of the gum; thickness
    of the bone outside of the root; angle of the cut to the root. pulp_radius_mm and enamel_mm (0 where it is gone) hold
    for the whole tooth. Raises ValueError where the curves differ in length or the order margin, cut, crest is broken.
    """

    angle_deg: Floats
    root_radius_mm: Floats
    margin_mm: Floats
    crest_mm: Floats
    cut_mm: Floats
    junction_mm: Floats
    gum_mm: Floats
    plate_mm: Floats
    bevel_deg: Floats
    pulp_radius_mm: float
    enamel_mm: float

    def __post_init__(self) -> None:
        curves = (self.root_radius_mm, self.margin_mm, self.crest_mm, self.cut_mm, self.junction_mm)
        if any(c.shape != self.angle_deg.shape for c in (*curves, self.gum_mm, self.plate_mm, self.bevel_deg)):
            raise ValueError("the curves of a neck have one value for each angle")
        if (self.cut_mm <= self.margin_mm).any() or (self.crest_mm <= self.cut_mm).any():
            raise ValueError("the cut lies apical of the margin and coronal of the crest all round")

    def at(self, curve: Floats, angle_deg: Floats) -> Floats:
        """Return a curve at any angles, linear between its own."""
        return np.asarray(np.interp(angle_deg, self.angle_deg, curve, period=_TURN_DEG))

    def wire_ends_mm(self, angle_deg: Floats) -> tuple[Floats, Floats]:
        """Return where the wire enters the gum and where its tip meets the root, each (N, 3), at these angles."""
        radius, cut = self.at(self.root_radius_mm, angle_deg), self.at(self.cut_mm, angle_deg)
        gum = self.at(self.gum_mm, angle_deg)
        lower = gum / np.tan(np.deg2rad(self.at(self.bevel_deg, angle_deg)))
        return _placed(angle_deg, radius + gum, cut + lower), _placed(angle_deg, radius, cut)


@dataclass(frozen=True, slots=True, kw_only=True)
class Sector:
    """A stretch of the neck cut in one stroke: from one angle to another, its wire a needle, or a loop of this width."""

    from_deg: float
    to_deg: float
    speed_mm_s: float
    loop_mm: float | None = None


def sector_stroke(shape: NeckShape, sector: Sector) -> WireStroke:
    """Return the stroke over a sector at unit strength.

    Parameters
    ----------
    shape : NeckShape
        Curves round the neck [mm, deg].
    sector : Sector
        The stretch cut in one stroke [deg] and its speed [mm/s].

    Returns
    -------
    WireStroke
        Swept sheets [mm], duration [s] and heat per area [mJ/mm2].

    Raises
    ------
    ValueError
        Where the sector has no length.

    Source
    ------
    Derived from the geometry of the neck; heat as in `unit_heat_mJ_mm2`.

    Examples
    --------
    A sixth of a root of 6 mm diameter.

    >>> even = np.ones(2)
    >>> shape = NeckShape(
    ...     angle_deg=np.array([0.0, 180]), root_radius_mm=3 * even, margin_mm=-2 * even, crest_mm=3 * even, cut_mm=0 * even,
    ...     junction_mm=-even, gum_mm=even, plate_mm=even, bevel_deg=45 * even, pulp_radius_mm=1, enamel_mm=0,
    ... )
    >>> stroke = sector_stroke(shape, Sector(from_deg=0, to_deg=60, speed_mm_s=7))
    >>> round(stroke.duration_s, 2), round(stroke.energy_mJ())
    (0.52, 340)
    """
    if sector.to_deg <= sector.from_deg:
        raise ValueError("a sector runs from a smaller to a greater angle")
    angles = np.linspace(sector.from_deg, sector.to_deg, max(int(sector.to_deg - sector.from_deg), 2))
    entry, tip = shape.wire_ends_mm(angles)
    sheets: tuple[Sheet, ...] = needle(entry, tip) if sector.loop_mm is None else loop(entry, tip, sector.loop_mm)
    length = np.linalg.norm(np.diff((entry + tip) / 2, axis=0), axis=1).sum()
    return WireStroke(sheets=sheets, duration_s=float(length) / sector.speed_mm_s, heat_mJ_mm2=unit_heat_mJ_mm2())


def neck_body(shape: NeckShape, sector: Sector, *, step_mm: float, perfusion_share: float, carved: bool) -> Body:
    """Return the body round a neck, on a grid that is fine about one sector.

    Parameters
    ----------
    shape : NeckShape
        Curves round the neck [mm, deg].
    sector : Sector
        The stretch the grid is fine about [deg].
    step_mm : float
        Step of the grid there [mm].
    perfusion_share : float
        Share of the healthy perfusion of gingiva [1].
    carved : bool
        Whether the gum above the cut is gone all round.

    Returns
    -------
    Body
        Cells (nx, ny, nz) of tissue or air.

    Raises
    ------
    ValueError
        For a negative share of perfusion.

    Source
    ------
    Derived; tissues as in `tissue`, film to air [mouth_film_2014].

    Examples
    --------
    >>> even = np.ones(2)
    >>> shape = NeckShape(
    ...     angle_deg=np.array([0.0, 180]), root_radius_mm=3 * even, margin_mm=-2 * even, crest_mm=3 * even, cut_mm=0 * even,
    ...     junction_mm=-even, gum_mm=even, plate_mm=even, bevel_deg=45 * even, pulp_radius_mm=1, enamel_mm=0,
    ... )
    >>> sector = Sector(from_deg=0, to_deg=60, speed_mm_s=7)
    >>> neck_body(shape, sector, step_mm=1, perfusion_share=0, carved=False).grid.shape
    (17, 18, 11)
    """
    grid = _grid_about(shape, sector, step_mm)
    air = value("heat.surface.film")
    body = Body.of(
        grid,
        tuple(tissue(name, perfusion_share=perfusion_share) for name in _TISSUES),
        _tissue_numbers(shape, grid),
        film=air,
        walls=((FAR, FAR), (FAR, FAR), (air, FAR)),
    )
    return carved_body(body, shape, 0, _TURN_DEG) if carved else body


def carved_body(body: Body, shape: NeckShape, from_deg: float, to_deg: float) -> Body:
    """Return the body with the gum above the cut taken away from one angle to another.

    Parameters
    ----------
    body : Body
        Tissue on a grid.
    shape : NeckShape
        Curves round the neck [mm, deg].
    from_deg, to_deg : float
        The stretch round the neck [deg].

    Returns
    -------
    Body
        The same body with more cells of air.

    Source
    ------
    Derived.

    Examples
    --------
    Volume of gum removed all round a neck, margin 2 mm above the cut, on a coarse grid [mm3].

    >>> even = np.ones(2)
    >>> shape = NeckShape(
    ...     angle_deg=np.array([0.0, 180]), root_radius_mm=3 * even, margin_mm=-2 * even, crest_mm=3 * even, cut_mm=0 * even,
    ...     junction_mm=-even, gum_mm=even, plate_mm=even, bevel_deg=45 * even, pulp_radius_mm=1, enamel_mm=0,
    ... )
    >>> whole = neck_body(shape, Sector(from_deg=0, to_deg=60, speed_mm_s=7), step_mm=0.5, perfusion_share=0, carved=False)
    >>> gone = whole.solid & ~carved_body(whole, shape, 0, 360).solid
    >>> round(float(whole.grid.volume_mm3()[gone].sum()))
    57
    """
    x, y, z = body.grid.mesh_mm()
    angle, past_root = _polar(shape, x, y)
    face = shape.at(shape.cut_mm, angle) + past_root / np.tan(np.deg2rad(shape.at(shape.bevel_deg, angle)))
    within = (angle - from_deg) % _TURN_DEG < to_deg - from_deg
    return replace(body, solid=body.solid & ~(within & (past_root >= 0) & (z < face)))


def watched_points(shape: NeckShape, every_deg: int) -> tuple[Floats, tuple[Organ, ...]]:
    """Return the watched points: at each angle two of bone, one of ligament, one of pulp and one of remaining gum.

    Bone at the top of the crest, by the root and in the middle of its plate; ligament at the root below the crest; pulp at its
    wall at the height of the cut; gum a set distance from the face of the cut in the middle of its thickness.

    Parameters
    ----------
    shape : NeckShape
        Curves round the neck [mm, deg].
    every_deg : int
        Angle between points [deg].

    Returns
    -------
    tuple of ndarray (P, 3) and tuple of P Organ
        Points [mm] and the organ each belongs to.

    Source
    ------
    Derived; depth and distance of the points are decisions [collum_decision].

    Examples
    --------
    >>> even = np.ones(2)
    >>> shape = NeckShape(
    ...     angle_deg=np.array([0.0, 180]), root_radius_mm=3 * even, margin_mm=-2 * even, crest_mm=3 * even, cut_mm=0 * even,
    ...     junction_mm=-even, gum_mm=even, plate_mm=even, bevel_deg=45 * even, pulp_radius_mm=1, enamel_mm=0,
    ... )
    >>> points, organs = watched_points(shape, 90)
    >>> points.shape, organs[0], points[0].tolist()
    ((20, 3), 'bone', [3.25, 0.0, 3.25])
    """
    angles = np.arange(0, _TURN_DEG, every_deg, dtype=np.float64)
    radius, cut, crest, gum = (shape.at(c, angles) for c in (shape.root_radius_mm, shape.cut_mm, shape.crest_mm, shape.gum_mm))
    inside, below = value("heat.watch.inside_mm"), value("heat.watch.gum_mm")
    bevel = np.deg2rad(shape.at(shape.bevel_deg, angles))
    places: tuple[tuple[Organ, Floats, Floats], ...] = (
        ("bone", radius + inside, crest + inside),
        ("bone", radius + shape.at(shape.plate_mm, angles) / 2, crest + inside),
        ("ligament", radius, crest + inside),
        ("pulp", np.full(angles.size, shape.pulp_radius_mm), cut),
        ("soft_tissue", radius + gum / 2, cut + (gum / 2 * np.cos(bevel) + below) / np.sin(bevel)),
    )
    points = np.concatenate([_placed(angles, r, z) for _, r, z in places])
    return points, tuple(organ for organ, _, _ in places for _ in angles)


def _placed(angle_deg: Floats, radius_mm: Floats, z_mm: Floats) -> Floats:
    angle = np.deg2rad(angle_deg)
    return np.stack([radius_mm * np.cos(angle), radius_mm * np.sin(angle), z_mm], axis=1)


def _grid_about(shape: NeckShape, sector: Sector, step_mm: float) -> Grid:
    """Return planes that are even about the sector's face and grow to the far field."""
    ends = np.concatenate(shape.wire_ends_mm(np.linspace(sector.from_deg, sector.to_deg, _TURN_DEG)))
    margin, far, growth = value("heat.grid.margin_mm"), value("heat.grid.far_mm"), value("heat.grid.growth")
    inner = [(float(e.min()) - margin, float(e.max()) + margin) for e in ends.T]
    top = float(shape.margin_mm.min()) - value("heat.grid.crown_mm")
    across = float((shape.root_radius_mm + shape.gum_mm + shape.plate_mm).max())
    outer = [(min(low, -across) - far, max(high, across) + far) for low, high in inner[:2]]
    outer.append((min(top, inner[2][0]), float(shape.crest_mm.max()) + far))
    x, y, z = (graded_edges(o, i, step_mm, growth) for o, i in zip(outer, inner, strict=True))
    return Grid(x_mm=x, y_mm=y, z_mm=z)


def _tissue_numbers(shape: NeckShape, grid: Grid) -> NDArray[np.int64]:
    """Return the (nx, ny, nz) numbers of the tissues, -1 for air."""
    x, y, z = grid.mesh_mm()
    angle, past_root = _polar(shape, x, y)
    gum, plate, crest, margin, junction = (
        shape.at(curve, angle) for curve in (shape.gum_mm, shape.plate_mm, shape.crest_mm, shape.margin_mm, shape.junction_mm)
    )
    covered = gum + np.clip(z - crest + plate, 0, plate)
    number = np.full(grid.shape, _AIR)
    number[(past_root < covered) & (z > margin)] = _TISSUES.index("gingiva")
    number[(past_root < plate) & (z > crest)] = _TISSUES.index("bone")
    number[np.broadcast_to(past_root < 0, grid.shape)] = _TISSUES.index("dentine")
    number[(past_root < 0) & (past_root > -shape.enamel_mm) & (z < junction)] = _TISSUES.index("enamel")
    return number


def _polar(shape: NeckShape, x: Floats, y: Floats) -> tuple[Floats, Floats]:
    """Return the angle round the neck [deg] and the distance outside of the root of columns at x, y."""
    angle = np.rad2deg(np.arctan2(y, x))
    return angle, np.asarray(np.hypot(x, y) - shape.at(shape.root_radius_mm, angle))

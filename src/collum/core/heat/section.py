"""The rise on sections through the axis of a tooth, over a whole round, by superposition of what each stroke leaves there.

Nodes lie on half planes at even angles round the neck, so that two of them make a section. A stroke is run once and looked at
in all nodes at a few instants; a round is a sum of those fields, and what is kept of it is a few shapes and their amounts.
"""

from collections.abc import Callable, Sequence
from dataclasses import dataclass

import numpy as np

from collum.core.heat.alternating import AlternatingRun, Field, Precision
from collum.core.heat.body import Body
from collum.core.heat.compressed import shapes_and_amounts
from collum.core.heat.grid import Shares
from collum.core.heat.neck_body import NeckShape, Sector, neck_body, sector_stroke, watched_points
from collum.core.heat.response import watched_response
from collum.core.heat.sources import WireStroke
from collum.core.heat.stroke_run import StrokeCourse, StrokeRun, instants_s
from collum.core.heat.superposition import Organ, StrokeResponse
from collum.core.ring import Floats
from collum.evidence import value

_TURN_DEG = 360
_CARRIED = 2


@dataclass(frozen=True, slots=True, kw_only=True)
class SectionGrid:
    """Nodes on half planes: angles (A,), distances from the axis (R,), places along it (Z,), apical positive. [deg, mm]"""

    angle_deg: Floats
    radius_mm: Floats
    z_mm: Floats

    @property
    def shape(self) -> tuple[int, int, int]:
        """Number of half planes, of places along the axis, of distances from it: the order of the nodes."""
        return self.angle_deg.size, self.z_mm.size, self.radius_mm.size

    def points_mm(self) -> Floats:
        """Return the nodes (A Z R, 3)."""
        angle, z, radius = np.meshgrid(np.deg2rad(self.angle_deg), self.z_mm, self.radius_mm, indexing="ij")
        return np.stack([radius * np.cos(angle), radius * np.sin(angle), z], axis=-1).reshape(-1, 3)


def section_grid(shape: NeckShape) -> SectionGrid:
    """Return nodes from the axis to beside the bone plate and from above the margin to below the crest.

    Parameters
    ----------
    shape : NeckShape
        Curves round the neck [mm, deg].

    Returns
    -------
    SectionGrid
        Angles (A,) [deg], distances from the axis (R,) and places along it (Z,) [mm].

    Source
    ------
    Derived; steps and reach are decisions [collum_decision].

    Examples
    --------
    >>> even = np.ones(2)
    >>> shape = NeckShape(
    ...     angle_deg=np.array([0.0, 180]), root_radius_mm=3 * even, margin_mm=-2 * even, crest_mm=3 * even, cut_mm=0 * even,
    ...     junction_mm=-even, gum_mm=even, plate_mm=even, bevel_deg=45 * even, pulp_radius_mm=1, enamel_mm=0,
    ... )
    >>> section_grid(shape).shape
    (12, 37, 21)
    """
    step, beyond = value("heat.section.step_mm"), value("heat.section.beyond_mm")
    across = float((shape.root_radius_mm + shape.gum_mm + shape.plate_mm).max())
    top = float(shape.margin_mm.min()) - value("heat.section.above_mm")
    return SectionGrid(
        angle_deg=np.arange(0, _TURN_DEG, value("heat.section.every_deg")),
        radius_mm=np.arange(0, across + step, step),
        z_mm=np.arange(top, float(shape.crest_mm.max()) + beyond + step, step),
    )


@dataclass(frozen=True, slots=True, kw_only=True)
class SectionResponse:
    """The rise (K, N) one unit stroke causes in N nodes at K instants of its run; `end_s`: the end of the stroke."""

    times_s: Floats
    rise_degC: Field
    end_s: float

    def round_degC(self, starts_s: Sequence[float], at_s: Floats) -> Field:
        """Return the rise (T, N) at instants (T,) when the stroke is made at each of these starts."""
        parts = StrokeCourse.of(self.times_s, np.eye(self.times_s.size), self.end_s, straight_within=True)
        share = np.zeros((self.times_s.size, at_s.size))
        for start in starts_s:
            since = at_s - start
            share[:, since > 0] += parts.at(since[since > 0])
        return np.asarray(share.T.astype(self.rise_degC.dtype) @ self.rise_degC)


@dataclass(frozen=True, slots=True, kw_only=True)
class NeckStroke:
    """One run of one stroke, looked at twice: at the watched points, and in the nodes of the sections."""

    watched: StrokeResponse
    section: SectionResponse


def neck_strokes(
    shape: NeckShape, sectors: Sequence[Sector], *, perfusion_share: float, carved: bool, step_mm: float | None = None
) -> tuple[NeckStroke, ...]:
    """Return what a unit stroke over each sector causes, all at the same watched points and in the nodes of the sections.

    Parameters
    ----------
    shape : NeckShape
        Curves round the neck [mm, deg].
    sectors : sequence of Sector
        The stretches cut in one stroke each [deg].
    perfusion_share : float
        Share of the healthy perfusion of gingiva [1].
    carved : bool
        Whether the gum above the cut is gone all round.
    step_mm : float or None
        Step of the grid about the cut [mm]; that of the registry when None.

    Returns
    -------
    tuple of NeckStroke
        Rise [K] at the watched points and in the nodes, one for each sector.

    Raises
    ------
    ValueError
        Where a sector has no length, or a watched point or a whole stroke is in air.

    Source
    ------
    Derived from `neck_body`, `sector_stroke` and `neck_stroke`.

    Examples
    --------
    A coarse grid, for speed: too coarse to judge by.

    >>> even = np.ones(2)
    >>> shape = NeckShape(
    ...     angle_deg=np.array([0.0, 180]), root_radius_mm=3 * even, margin_mm=-2 * even, crest_mm=3 * even, cut_mm=0 * even,
    ...     junction_mm=-even, gum_mm=even, plate_mm=even, bevel_deg=45 * even, pulp_radius_mm=1, enamel_mm=0,
    ... )
    >>> sector = Sector(from_deg=0, to_deg=20, speed_mm_s=7)
    >>> (found,) = neck_strokes(shape, (sector,), perfusion_share=0, carved=False, step_mm=1)
    >>> round(float(found.watched.rise_degC.max()), 1), found.section.rise_degC.shape
    (2.4, (56, 9324))
    """
    points, organs = watched_points(shape, int(value("heat.watch.every_deg")))
    grid = section_grid(shape)
    step = value("heat.grid.step_mm") if step_mm is None else step_mm
    answers = []
    for sector in sectors:
        body = neck_body(shape, sector, step_mm=step, perfusion_share=perfusion_share, carved=carved)
        answers.append(neck_stroke(body, sector_stroke(shape, sector), points, organs, grid))
    return tuple(answers)


def neck_stroke(
    body: Body,
    stroke: WireStroke,
    points_mm: Floats,
    organs: tuple[Organ, ...],
    grid: SectionGrid,
    *,
    precision: Precision = np.float32,
) -> NeckStroke:
    """Return one stroke at watched points and in the nodes of sections; a node in air, away from tissue, stays cold.

    Parameters
    ----------
    body : Body
        Tissue on a grid.
    stroke : WireStroke
        The stroke, with its heat [mJ/mm2] and duration [s].
    points_mm : ndarray (P, 3)
        Watched points [mm].
    organs : tuple of P Organ
        The organ each point belongs to.
    grid : SectionGrid
        Nodes of the sections.
    precision : type
        Floating-point type of the run.

    Returns
    -------
    NeckStroke
        Rise [K] at the watched points (P, T) and in the N nodes (K, N).

    Raises
    ------
    ValueError
        Where a watched point or the whole stroke is in air.

    Source
    ------
    Pennes' equation, stepped by `AlternatingRun`; derived.

    Examples
    --------
    >>> from collum.core.heat.body import FAR_WALLS
    >>> from collum.core.heat.grid import Grid, even_edges
    >>> from collum.core.heat.sources import needle
    >>> from collum.core.heat.tissues import tissue
    >>> planes = even_edges(-2, 2, 0.5)
    >>> grid = Grid(x_mm=planes, y_mm=planes, z_mm=planes)
    >>> gum = tissue("gingiva", perfusion_share=0)
    >>> body = Body.of(grid, (gum,), np.zeros(grid.shape, dtype=np.int64), film=0, walls=FAR_WALLS)
    >>> entry = np.array([[-1.0, 0, 0], [1, 0, 0]])
    >>> stroke = WireStroke(sheets=needle(entry, entry + [0, 0, 1]), duration_s=0.3, heat_mJ_mm2=60)
    >>> nodes = SectionGrid(angle_deg=np.array([0.0, 180]), radius_mm=np.array([0.0, 1]), z_mm=np.array([0.0, 1]))
    >>> found = neck_stroke(body, stroke, np.array([[0, 0, 1.25]]), ("bone",), nodes)
    >>> round(float(found.watched.rise_degC.max()), 1), round(float(found.section.rise_degC.max()), 1)
    (2.1, 5.1)
    """
    watched = body.grid.shares(points_mm).within(body.solid)
    nodes = _carried_out(body.grid.shares(grid.points_mm()).among(body.solid), grid)
    times = instants_s(stroke)
    kept = _kept_instants(times, stroke.duration_s)

    def looking(run: AlternatingRun) -> Callable[[int], tuple[Field, Field | None]]:
        watch, look = run.reader(watched), run.reader(nodes)
        return lambda number: (watch(), look() if number in kept else None)

    run = StrokeRun.of(body, stroke, looking, precision)
    return NeckStroke(
        watched=watched_response(run.times_s, [seen for seen, _ in run.seen], organs, stroke.duration_s),
        section=SectionResponse(
            times_s=times[kept],
            rise_degC=np.array([field for _, field in run.seen if field is not None]),
            end_s=stroke.duration_s,
        ),
    )


@dataclass(frozen=True, slots=True, kw_only=True)
class RoundField:
    """The rise of a round in N nodes at T instants: shapes (S, N) times amounts (T, S)."""

    shapes: Field
    amounts: Floats

    def rise_degC(self) -> Field:
        """Return the rise (T, N)."""
        return np.asarray(self.amounts.astype(self.shapes.dtype) @ self.shapes)


def round_field(
    responses: Sequence[SectionResponse], starts_s: Sequence[Sequence[float]], at_s: Floats, strength: float
) -> RoundField:
    """Return the rise of a round in the nodes, stroke i being made at each of `starts_s[i]`.

    Parameters
    ----------
    responses : sequence of SectionResponse
        Rise in N nodes of each unit stroke [K].
    starts_s : sequence of sequences of float
        Starts of each stroke [s].
    at_s : ndarray (T,)
        Instants [s].
    strength : float
        Strength beside the unit stroke [1].

    Returns
    -------
    RoundField
        Shapes (S, N) and amounts (T, S), the product of which is the rise [K].

    Raises
    ------
    ValueError
        Where there is not one list of starts for each response.

    Source
    ------
    Derived: superposition; the share left out is a decision [collum_decision].

    Examples
    --------
    Two strokes of double strength, 2 s apart, in one node.

    >>> one = SectionResponse(times_s=np.array([0.0, 1, 2, 4]), rise_degC=np.array([[0.0], [4], [3], [1]]), end_s=1)
    >>> round_field((one,), ((0, 2),), np.array([1.0, 3]), 2).rise_degC().round(1).tolist()
    [[8.0], [12.0]]
    """
    rise = sum(response.round_degC(starts, at_s) for response, starts in zip(responses, starts_s, strict=True) if starts)
    shapes, amounts = shapes_and_amounts(np.asarray(rise), value("heat.section.dropped_share"))
    return RoundField(shapes=shapes, amounts=strength * amounts.T)


def _carried_out(nodes: Shares, grid: SectionGrid) -> Shares:
    """Return the same where nodes in air next to tissue read what is below or further in, so lines reach its surface."""
    cell, weight = nodes.cell.reshape(*grid.shape, -1).copy(), nodes.weight.reshape(*grid.shape, -1).copy()
    for _ in range(_CARRIED):
        for axis, way in ((1, -1), (2, 1)):
            empty = ~weight.any(axis=-1)
            beside = np.roll(~empty, way, axis=axis)
            np.moveaxis(beside, axis, 0)[min(way, 0)] = False  # nothing is below the lowest or within the axis
            taken = empty & beside
            cell[taken], weight[taken] = np.roll(cell, way, axis=axis)[taken], np.roll(weight, way, axis=axis)[taken]
    return Shares(cell=cell.reshape(nodes.cell.shape), weight=weight.reshape(nodes.weight.shape))


def _kept_instants(times_s: Floats, end_s: float) -> list[int]:
    """Return which instants are kept: all within the stroke, then each so much later than the one before, and the last."""
    growth = 1 + value("heat.section.growth_share")
    end = int(np.abs(times_s - end_s).argmin())
    kept = list(range(end + 1))
    for i in range(end + 1, times_s.size):
        if times_s[i] >= times_s[kept[-1]] * growth or i == times_s.size - 1:
            kept.append(i)
    return kept

"""The response to one stroke: run once and kept at watched points.

Between the steps of the run the rise follows cubics that stop at the end of the stroke, where the course has a corner.
"""

from collections.abc import Callable, Sequence

import numpy as np

from collum.core.heat.alternating import AlternatingRun, Field
from collum.core.heat.body import Body
from collum.core.heat.neck_body import NeckShape, Sector, neck_body, sector_stroke, watched_points
from collum.core.heat.sources import WireStroke
from collum.core.heat.stroke_run import StrokeCourse, StrokeRun
from collum.core.heat.superposition import Organ, StrokeResponse
from collum.core.ring import Floats
from collum.evidence import value


def neck_responses(
    shape: NeckShape, sectors: Sequence[Sector], *, perfusion_share: float, carved: bool
) -> tuple[StrokeResponse, ...]:
    """Return the response to a unit stroke over each sector, all at the same points round the neck.

    Each sector is a run on the grid of the registry; `neck_strokes` takes the step of the grid and looks at sections too.

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

    Returns
    -------
    tuple of StrokeResponse
        Rise (P, T) [K] at equal steps of time [s], one for each sector.

    Raises
    ------
    ValueError
        Where a sector has no length, or a watched point or a whole stroke is in air.

    Source
    ------
    Derived from `neck_body`, `sector_stroke` and `stroke_response`.

    Examples
    --------
    A thin neck and a short stroke, which the grid of the registry solves fast; the organ it warms most.

    >>> even = np.ones(2)
    >>> shape = NeckShape(
    ...     angle_deg=np.array([0.0, 180]), root_radius_mm=2 * even, margin_mm=-even, crest_mm=2 * even, cut_mm=0 * even,
    ...     junction_mm=-even, gum_mm=even / 2, plate_mm=even / 2, bevel_deg=45 * even, pulp_radius_mm=1, enamel_mm=0,
    ... )
    >>> sector = Sector(from_deg=0, to_deg=20, speed_mm_s=7)
    >>> (found,) = neck_responses(shape, (sector,), perfusion_share=0, carved=False)
    >>> found.organs[found.rise_degC.max(axis=1).argmax()], round(float(found.rise_degC.max()), 1)
    ('pulp', 0.6)
    """
    points, organs = watched_points(shape, int(value("heat.watch.every_deg")))
    answers = []
    for sector in sectors:
        body = neck_body(shape, sector, step_mm=value("heat.grid.step_mm"), perfusion_share=perfusion_share, carved=carved)
        answers.append(stroke_response(body, sector_stroke(shape, sector), points, organs))
    return tuple(answers)


def stroke_response(body: Body, stroke: WireStroke, points_mm: Floats, organs: tuple[Organ, ...]) -> StrokeResponse:
    """Return the course of one stroke at watched points.

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

    Returns
    -------
    StrokeResponse
        Rise (P, T) [K] at equal steps of time [s].

    Raises
    ------
    ValueError
        Where a point or the whole stroke is in air.

    Source
    ------
    Pennes' equation, stepped by `AlternatingRun`; derived.

    Examples
    --------
    Peak 0.25 mm below a face of 2 mm2, and when it is reached [s].

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
    >>> found = stroke_response(body, stroke, np.array([[0, 0, 1.25]]), ("bone",))
    >>> round(float(found.rise_degC.max()), 1), float(found.times_s[found.rise_degC.argmax()])
    (2.1, 1.0)
    """
    shares = body.grid.shares(points_mm).within(body.solid)

    def looking(run: AlternatingRun) -> Callable[[int], Field]:
        read = run.reader(shares)
        return lambda _: read()

    run = StrokeRun.of(body, stroke, looking)
    return watched_response(run.times_s, run.seen, organs, stroke.duration_s)


def watched_response(times_s: Floats, seen: Sequence[Field], organs: tuple[Organ, ...], end_s: float) -> StrokeResponse:
    """Return what was seen at watched points at each instant of a run as a response in equal steps.

    Parameters
    ----------
    times_s : ndarray (K,)
        Instants of the run [s], the first one 0.
    seen : sequence of K ndarray (P,)
        Rise at the points at each instant [K].
    organs : tuple of P Organ
        The organ each point belongs to.
    end_s : float
        End of the stroke [s], one of the instants.

    Returns
    -------
    StrokeResponse
        Rise (P, T) [K], never negative, at equal steps of time [s].

    Source
    ------
    Derived: cubic splines with a corner at the end of the stroke.

    Examples
    --------
    >>> times = np.linspace(0, 180, 361)
    >>> found = watched_response(times, list((times * np.exp(-times))[:, None]), ("bone",), 0.5)
    >>> found.step_s, round(float(found.rise_degC.max()), 3)
    (0.25, 0.368)
    """
    courses = np.array(seen, dtype=np.float64).T
    length, step = value("heat.response.length_s"), value("heat.response.step_s")
    times = np.linspace(0, length, round(length / step) + 1)
    return StrokeResponse(
        times_s=times,
        rise_degC=np.maximum(StrokeCourse.of(times_s, courses, end_s).at(times), 0),
        organs=organs,
        stroke_s=end_s,
    )

"""A round run at once, stroke after stroke: for whatever is not a sum of strokes, such as tissue that is cut away.

Slower than superposition by far. It measures what holding the tissue fixed costs, and answers where a model is not linear.
"""

from collections.abc import Sequence
from dataclasses import dataclass

import numpy as np

from collum.core.heat.alternating import AlternatingRun, resting_steps_s
from collum.core.heat.body import Body
from collum.core.heat.sources import WireStroke, deposit
from collum.core.heat.superposition import HeatCourse, Organ
from collum.core.ring import Floats
from collum.evidence import value


@dataclass(frozen=True, slots=True, kw_only=True)
class RoundStroke:
    """A stroke of a round: when it starts, what it leaves, and the body from its end on (None: as before)."""

    start_s: float
    stroke: WireStroke
    body_after: Body | None = None


def direct_course(
    body: Body, strokes: Sequence[RoundStroke], points_mm: Floats, organs: tuple[Organ, ...], until_s: float
) -> HeatCourse:
    """Return the rise at points over a whole round whose strokes follow each other in time.

    Bodies share one grid; tissue that is cut away takes its heat with it.

    Parameters
    ----------
    body : Body
        Tissue on a grid before the first stroke.
    strokes : sequence of RoundStroke
        Strokes with their starts [s] and the bodies after them.
    points_mm : ndarray (P, 3)
        Watched points [mm].
    organs : tuple of P Organ
        The organ each point belongs to.
    until_s : float
        End of the course [s].

    Returns
    -------
    HeatCourse
        Rise (P, T) [K] at instants from 0 [s].

    Raises
    ------
    ValueError
        Where strokes overlap, a body has another grid, or a point is in air from the start.

    Source
    ------
    Pennes' equation, stepped by `AlternatingRun`; derived.

    Examples
    --------
    Two strokes over the same face, 2 s apart.

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
    >>> round_strokes = [RoundStroke(start_s=start, stroke=stroke) for start in (0, 2)]
    >>> course = direct_course(body, round_strokes, np.array([[0, 0, 1.25]]), ("bone",), until_s=10)
    >>> round(course.peak_degC("bone"), 1)
    3.5
    """
    shares = body.grid.shares(points_mm).within(body.solid)
    run, now = AlternatingRun(body), 0.0
    times, seen = [0.0], [np.zeros(len(organs))]

    def go_on(lengths: Sequence[float], begin: float) -> None:
        for length, instant in zip(lengths, begin + np.cumsum(lengths), strict=True):
            run.step(length)
            times.append(float(instant))
            seen.append(run.sample(shares))

    for each in strokes:
        if each.start_s < now:
            raise ValueError(f"a stroke starts at {each.start_s:g} s, before the one before has ended")
        go_on(_rests_s(each.start_s - now), now)
        heat = deposit(body, each.stroke)
        for number, part in enumerate(heat.parts, start=1):
            run.step(heat.step_s, part)
            times.append(each.start_s + number * heat.step_s)
            seen.append(run.sample(shares))
        now = each.start_s + each.stroke.duration_s
        if each.body_after is not None:
            run, body = _carried_over(run, body, each.body_after), each.body_after
            shares = body.grid.shares(points_mm).within(body.solid)
    go_on(_rests_s(until_s - now), now)
    at = np.linspace(0, until_s, round(until_s / value("heat.response.step_s")) + 1)
    return HeatCourse(times_s=at, rise_degC=np.array([np.interp(at, times, row) for row in np.array(seen).T]), organs=organs)


def _rests_s(rest_s: float) -> list[float]:
    return resting_steps_s(rest_s, longest_s=value("heat.time.longest_between_s"))


def _carried_over(run: AlternatingRun, body: Body, after: Body) -> AlternatingRun:
    if any(not np.array_equal(a, b) for a, b in zip(body.grid.edges_mm, after.grid.edges_mm, strict=True)):
        raise ValueError("the body after a stroke lies on another grid")
    fresh = AlternatingRun(after)
    fresh.begin_with(run.rise_degC() * after.solid)
    return fresh

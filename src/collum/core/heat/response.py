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
    """Return the response to a unit stroke over each sector, all at the same points round the neck."""
    points, organs = watched_points(shape, int(value("heat.watch.every_deg")))
    answers = []
    for sector in sectors:
        body = neck_body(shape, sector, step_mm=value("heat.grid.step_mm"), perfusion_share=perfusion_share, carved=carved)
        answers.append(stroke_response(body, sector_stroke(shape, sector), points, organs))
    return tuple(answers)


def stroke_response(body: Body, stroke: WireStroke, points_mm: Floats, organs: tuple[Organ, ...]) -> StrokeResponse:
    """Return the course of one stroke at (P, 3) points. Raises ValueError where a point or the whole stroke is in air."""
    shares = body.grid.shares(points_mm).within(body.solid)

    def looking(run: AlternatingRun) -> Callable[[int], Field]:
        read = run.reader(shares)
        return lambda _: read()

    run = StrokeRun.of(body, stroke, looking)
    return watched_response(run.times_s, run.seen, organs, stroke.duration_s)


def watched_response(times_s: Floats, seen: Sequence[Field], organs: tuple[Organ, ...], end_s: float) -> StrokeResponse:
    """Return what was seen at watched points (P,) at each instant of a run as a response in equal steps."""
    courses = np.array(seen, dtype=np.float64).T
    length, step = value("heat.response.length_s"), value("heat.response.step_s")
    times = np.linspace(0, length, round(length / step) + 1)
    return StrokeResponse(
        times_s=times,
        rise_degC=np.maximum(StrokeCourse.of(times_s, courses, end_s).at(times), 0),
        organs=organs,
        stroke_s=end_s,
    )

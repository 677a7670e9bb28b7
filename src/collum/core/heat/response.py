"""The response to one stroke: run once, kept at watched points, or compressed as whole fields.

Both hold the rise between the steps of the run by cubics that stop at the end of the stroke, where the course has a corner.
"""

from collections.abc import Callable, Sequence
from dataclasses import dataclass

import numpy as np
from numpy.typing import NDArray
from scipy.interpolate import CubicSpline

from collum.core.heat.alternating import AlternatingRun, Field, resting_steps_s
from collum.core.heat.body import Body
from collum.core.heat.neck_body import NeckShape, Sector, neck_body, sector_stroke, watched_points
from collum.core.heat.sources import WireStroke, deposit
from collum.core.heat.superposition import Organ, StrokeResponse
from collum.core.ring import Floats
from collum.evidence import value

Fields = NDArray[np.float32]


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
    run = _Run.of(body, stroke, lambda state: state.sample(shares))
    courses = np.array(run.seen, dtype=np.float64).T
    length, step = value("heat.response.length_s"), value("heat.response.step_s")
    times = np.linspace(0, length, round(length / step) + 1)
    return StrokeResponse(
        times_s=times,
        rise_degC=np.maximum(_Course.of(run.times_s, courses, stroke.duration_s).at(times), 0),
        organs=organs,
        stroke_s=stroke.duration_s,
    )


@dataclass(frozen=True, slots=True, kw_only=True)
class CompressedResponse:
    """The fields of one stroke as few shapes in space times courses in time.

    shapes (R, cells) float32, courses (R, T) at times_s (T,); grid_shape is that of a field; end_s the end of the stroke.
    """

    shapes: Fields
    courses: Floats
    times_s: Floats
    grid_shape: tuple[int, int, int]
    end_s: float

    def fields_degC(self, starts_s: Sequence[float], at_s: Floats) -> Fields:
        """Return the rise (N, nx, ny, nz) at (N,) instants of equal strokes that begin at these starts."""
        course = _Course.of(self.times_s, self.courses, self.end_s)
        amounts = np.zeros((self.shapes.shape[0], at_s.size))
        for start in starts_s:
            since = at_s - start
            amounts[:, since > 0] += course.at(since[since > 0])
        rise: Fields = amounts.T.astype(np.float32) @ self.shapes
        return rise.reshape(at_s.size, *self.grid_shape)


def compressed_response(body: Body, stroke: WireStroke) -> CompressedResponse:
    """Return the whole fields of one stroke, compressed until what is left out is below the share set in the registry."""
    run = _Run.of(body, stroke, lambda state: state.rise_degC().reshape(-1))
    fields = np.array(run.seen, dtype=np.float64)
    greatest = np.maximum(np.abs(fields).max(axis=1, keepdims=True), np.finfo(np.float32).tiny)
    scaled = fields / greatest
    power, mixing = np.linalg.eigh(scaled @ scaled.T)
    kept = power > power[-1] * value("heat.response.dropped_share") ** 2
    shapes = (mixing[:, kept].T @ scaled) / np.sqrt(power[kept])[:, None]
    return CompressedResponse(
        shapes=shapes.astype(np.float32),
        courses=shapes @ fields.T,
        times_s=run.times_s,
        grid_shape=body.grid.shape,
        end_s=stroke.duration_s,
    )


@dataclass(frozen=True, slots=True)
class _Run:
    """One stroke and the rest after it: the instants (T,), the first one 0, and what was seen at each."""

    times_s: Floats
    seen: tuple[Field, ...]

    @staticmethod
    def of(body: Body, stroke: WireStroke, look: Callable[[AlternatingRun], Field]) -> "_Run":
        entering = deposit(body, stroke)
        rests = resting_steps_s(
            value("heat.response.length_s") - stroke.duration_s,
            since_s=stroke.duration_s / 2,
            longest_s=value("heat.time.longest_step_s"),
        )
        run = AlternatingRun(body)
        seen = [look(run)]
        for part in entering.parts:
            run.step(entering.step_s, part)
            seen.append(look(run))
        for length in rests:
            run.step(length)
            seen.append(look(run))
        return _Run(np.cumsum([0, *[entering.step_s] * len(entering.parts), *rests]), tuple(seen))


@dataclass(frozen=True, slots=True)
class _Course:
    """Courses (R, ..) between the instants of a run: one cubic spline up to the end of the stroke and one after it."""

    end_s: float
    last_s: float
    within: CubicSpline
    after: CubicSpline

    @staticmethod
    def of(times_s: Floats, courses: Floats, end_s: float) -> "_Course":
        end = int(np.abs(times_s - end_s).argmin())
        return _Course(
            end_s,
            float(times_s[-1]),
            CubicSpline(times_s[: end + 1], courses[:, : end + 1], axis=1),
            CubicSpline(times_s[end:], courses[:, end:], axis=1),
        )

    def at(self, since_s: Floats) -> Floats:
        """Return (R, N) values at instants not before 0; after the last one what it held is kept."""
        since = np.minimum(since_s, self.last_s)
        return np.asarray(np.where(since < self.end_s, self.within(since), self.after(since)))

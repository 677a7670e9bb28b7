"""The fields of one stroke as few shapes in space times courses in time, so that a new round costs one product of matrices."""

from collections.abc import Sequence
from dataclasses import dataclass

import numpy as np

from collum.core.heat.alternating import Field
from collum.core.heat.body import Body
from collum.core.heat.sources import WireStroke
from collum.core.heat.stroke_run import StrokeCourse, StrokeRun
from collum.core.ring import Floats
from collum.evidence import value


@dataclass(frozen=True, slots=True, kw_only=True)
class CompressedResponse:
    """The fields of one stroke as few shapes in space times courses in time.

    shapes (R, cells), courses (R, T) at times_s (T,); grid_shape is that of a field; end_s the end of the stroke.
    """

    shapes: Field
    courses: Floats
    times_s: Floats
    grid_shape: tuple[int, int, int]
    end_s: float

    def fields_degC(self, starts_s: Sequence[float], at_s: Floats) -> Field:
        """Return the rise (N, nx, ny, nz) at (N,) instants of equal strokes that begin at these starts."""
        rise: Field = self.amounts(starts_s, at_s).T.astype(self.shapes.dtype) @ self.shapes
        return rise.reshape(at_s.size, *self.grid_shape)

    def amounts(self, starts_s: Sequence[float], at_s: Floats) -> Floats:
        """Return how much of each shape (R, N) there is at (N,) instants of equal strokes that begin at these starts."""
        course = StrokeCourse.of(self.times_s, self.courses, self.end_s)
        amounts = np.zeros((self.shapes.shape[0], at_s.size))
        for start in starts_s:
            since = at_s - start
            amounts[:, since > 0] += course.at(since[since > 0])
        return amounts


def compressed_response(body: Body, stroke: WireStroke) -> CompressedResponse:
    """Return the whole fields of one stroke, compressed until what is left out is below the share set in the registry.

    Parameters
    ----------
    body : Body
        Tissue on a grid (nx, ny, nz).
    stroke : WireStroke
        The stroke, with its heat [mJ/mm2] and duration [s].

    Returns
    -------
    CompressedResponse
        Shapes (R, cells) [K] and their courses (R, T) at instants (T,) [s].

    Raises
    ------
    ValueError
        Where the whole stroke passes in air.

    Source
    ------
    Derived, by `shapes_and_amounts`; the share left out is a decision [collum_decision].

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
    >>> found = compressed_response(body, stroke)
    >>> [round(float(field.max()), 1) for field in found.fields_degC((0,), np.array([1.0, 5]))]
    [5.2, 1.0]
    """
    run = StrokeRun.of(body, stroke, lambda run: lambda _: run.rise_degC().reshape(-1))
    shapes, courses = shapes_and_amounts(np.array(run.seen), value("heat.response.dropped_share"))
    return CompressedResponse(
        shapes=shapes, courses=courses, times_s=run.times_s, grid_shape=body.grid.shape, end_s=stroke.duration_s
    )


def shapes_and_amounts(fields: Field, dropped_share: float) -> tuple[Field, Floats]:
    """Return fields as few shapes in space, in their precision, and courses in time.

    Each field counts alike, however warm it is; shapes whose amplitude is below `dropped_share` of the greatest are left out.

    Parameters
    ----------
    fields : ndarray (T, cells)
        Fields at T instants [K].
    dropped_share : float
        Amplitude beside the greatest below which a shape is left out [1].

    Returns
    -------
    tuple of ndarray (R, cells) and ndarray (R, T)
        Shapes and courses, the product of which is the fields [K].

    Source
    ------
    Derived: eigenvectors of the correlation of the fields, each scaled to its greatest value.

    Examples
    --------
    Three fields that are multiples of one field take one shape.

    >>> fields = np.outer([1.0, 2, 4], [3.0, 2, 1])
    >>> shapes, courses = shapes_and_amounts(fields, 1e-3)
    >>> shapes.shape, np.allclose(courses.T @ shapes, fields)
    ((1, 3), True)
    """
    rise = fields.astype(np.float64)
    greatest = np.maximum(np.abs(rise).max(axis=1, keepdims=True), np.finfo(np.float32).tiny)
    rise /= greatest
    power, mixing = np.linalg.eigh(rise @ rise.T)
    kept = power >= power[-1] * dropped_share**2
    return (mixing[:, kept].T @ rise).astype(fields.dtype), np.asarray((greatest * mixing[:, kept]).T)

"""One stroke run once through a body and the rest after it: what is looked at on the way, and courses between the instants."""

from collections.abc import Callable
from dataclasses import dataclass
from typing import Generic, TypeVar

import numpy as np
from scipy.interpolate import CubicSpline, make_interp_spline

from collum.core.heat.alternating import AlternatingRun, Precision, resting_steps_s
from collum.core.heat.body import Body
from collum.core.heat.sources import WireStroke, deposit, steps_of
from collum.core.ring import Floats
from collum.evidence import value

Seen = TypeVar("Seen")


@dataclass(frozen=True, slots=True)
class StrokeRun(Generic[Seen]):
    """One stroke and the rest after it: the instants (T,), the first one 0, and what was seen at each."""

    times_s: Floats
    seen: tuple[Seen, ...]

    @staticmethod
    def of(
        body: Body,
        stroke: WireStroke,
        looking: Callable[[AlternatingRun], Callable[[int], Seen]],
        precision: Precision = np.float32,
    ) -> "StrokeRun[Seen]":
        """Return the run. `looking` gives for it what is called at each instant, with the instant's number.

        Raises ValueError where the whole stroke passes in air.
        """
        parts = deposit(body, stroke).parts
        times = instants_s(stroke)
        run = AlternatingRun(body, precision)
        look = looking(run)
        seen = [look(0)]
        for number, length in enumerate(np.diff(times).tolist(), start=1):
            run.step(length, parts[number - 1] if number <= len(parts) else None)
            seen.append(look(number))
        return StrokeRun(times, tuple(seen))


def instants_s(stroke: WireStroke) -> Floats:
    """Return the instants of a run: equal steps within the stroke, growing ones in the rest after it.

    Parameters
    ----------
    stroke : WireStroke
        The stroke, with its duration [s].

    Returns
    -------
    ndarray (T,)
        Instants [s], the first one 0.

    Source
    ------
    Derived; length of the run and steps are decisions [collum_decision].

    Examples
    --------
    >>> times = instants_s(WireStroke(sheets=(), duration_s=0.7, heat_mJ_mm2=60))
    >>> times.size, round(float(times[-1]), 6)
    (124, 180.0)
    """
    rests = resting_steps_s(
        value("heat.response.length_s") - stroke.duration_s,
        since_s=stroke.duration_s / 2,
        longest_s=value("heat.time.longest_step_s"),
    )
    count = steps_of(stroke)
    return np.cumsum([0, *[stroke.duration_s / count] * count, *rests])


@dataclass(frozen=True, slots=True)
class StrokeCourse:
    """Courses (R, ..) between the instants of a run: one spline up to the end of the stroke, one after it.

    The course has a corner where the stroke ends. Both are cubic, or the first one straight, which never passes below 0 where
    warmth arrives at once.
    """

    end_s: float
    last_s: float
    within: Callable[[Floats], Floats]
    after: Callable[[Floats], Floats]

    @staticmethod
    def of(times_s: Floats, courses: Floats, end_s: float, *, straight_within: bool = False) -> "StrokeCourse":
        """Return the courses (R, T) at instants (T,) of which `end_s` is one."""
        end = int(np.abs(times_s - end_s).argmin())
        until = times_s[: end + 1], courses[:, : end + 1]
        within = make_interp_spline(*until, k=1, axis=1) if straight_within else CubicSpline(*until, axis=1)
        return StrokeCourse(end_s, float(times_s[-1]), within, CubicSpline(times_s[end:], courses[:, end:], axis=1))

    def at(self, since_s: Floats) -> Floats:
        """Return (R, N) values at instants not before 0; after the last one what it held is kept."""
        since = np.minimum(since_s, self.last_s)
        return np.asarray(np.where(since < self.end_s, self.within(since), self.after(since)))

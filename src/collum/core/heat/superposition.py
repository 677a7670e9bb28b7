"""Courses of temperature rise by superposition: each stroke worked out once, any pacing a sum of shifted copies.

Heat flow with properties that do not change is linear, so the rise of a round is the sum of the rises of its strokes. It holds
while the tissue stays as it was: what the cut removes, steam and a perfusion that stops are outside of it. In two passes
round a tooth whose gum went sector by sector, standing tissue gave bone a seventh too little and the gum that stays a quarter;
tissue carved from the start gave both too much (`tests/core/heat/test_direct.py`).
"""

from collections.abc import Sequence
from dataclasses import dataclass
from typing import Literal

import numpy as np

from collum.core.ring import Floats

Organ = Literal["bone", "ligament", "pulp", "soft_tissue"]


@dataclass(frozen=True, slots=True, kw_only=True)
class StrokeResponse:
    """The rise that one unit stroke over one sector causes at P watched points.

    times_s (T,) in equal steps from 0, the instant the wire touches; rise_degC (P, T) for the unit strength; organs (P,) the
    organ each point belongs to; stroke_s how long the wire is in the tissue. Every response of a plan watches the same points.
    Raises ValueError where the shapes disagree or the times are not in equal steps from 0.
    """

    times_s: Floats
    rise_degC: Floats
    organs: tuple[Organ, ...]
    stroke_s: float

    def __post_init__(self) -> None:
        steps = np.diff(self.times_s)
        if self.times_s.ndim != 1 or steps.size == 0 or self.times_s[0] != 0 or not np.allclose(steps, steps[0]):
            raise ValueError("the times of a response run in equal steps from 0")
        if self.rise_degC.shape != (len(self.organs), self.times_s.size):
            raise ValueError(f"rise {self.rise_degC.shape} for {len(self.organs)} points and {self.times_s.size} instants")

    @property
    def step_s(self) -> float:
        """Time between two instants. [s]"""
        return float(self.times_s[1])


@dataclass(frozen=True, slots=True, kw_only=True)
class HeatCourse:
    """Rise over a whole round: times_s (T,), rise_degC (P, T), organs (P,)."""

    times_s: Floats
    rise_degC: Floats
    organs: tuple[Organ, ...]

    def peak_degC(self, organ: Organ) -> float:
        """Return the greatest rise at any watched point of an organ, 0 where the course has no point of it."""
        rows = [row for row, name in enumerate(self.organs) if name == organ]
        return float(self.rise_degC[rows].max(initial=0))

    def scaled(self, factor: float) -> "HeatCourse":
        """Return the course of strokes `factor` times as strong."""
        return HeatCourse(times_s=self.times_s, rise_degC=self.rise_degC * factor, organs=self.organs)


def superpose(
    responses: Sequence[StrokeResponse], sector_starts_s: Sequence[Sequence[float]], until_s: float | None = None
) -> HeatCourse:
    """Return the rise of a round in which sector i is stroked at each instant of `sector_starts_s[i]`.

    The course has the step of the responses; a start between two instants is interpolated linearly. After the last instant of a
    response its last rise is held, which is never too low once every watched point cools.

    Parameters
    ----------
    responses : sequence of StrokeResponse
        What one stroke over each sector causes at the same P points (P, T) [K].
    sector_starts_s : sequence of sequences of float
        Starts of the strokes over each sector [s].
    until_s : float or None
        End of the course [s]; when None, the end of the response to the last stroke.

    Returns
    -------
    HeatCourse
        Rise (P, T') [K] at instants from 0 [s].

    Raises
    ------
    ValueError
        Where responses watch different points or have different steps, their number is not that of the lists of starts, or a
        start is before 0.

    Source
    ------
    Derived: heat flow with constant properties is linear (Pennes' equation).

    Examples
    --------
    >>> times = np.arange(0, 10, 0.5)
    >>> one = StrokeResponse(times_s=times, rise_degC=np.exp(-times)[None, :], organs=("bone",), stroke_s=0.5)
    >>> round(superpose((one,), ((0, 1),)).peak_degC("bone"), 3)  # 1 and what is left of the stroke before, 1 / e
    1.368
    """
    first = responses[0]
    if len(sector_starts_s) != len(responses):
        raise ValueError(f"{len(sector_starts_s)} lists of starts for {len(responses)} sectors")
    if any(r.organs != first.organs or r.step_s != first.step_s for r in responses):
        raise ValueError("the responses do not watch the same points in the same steps")
    if until_s is None:
        until_s = max((max(s, default=0) for s in sector_starts_s), default=0) + float(first.times_s[-1])
    count = int(np.ceil(until_s / first.step_s)) + 1
    rise = np.zeros((len(first.organs), count))
    for response, starts_s in zip(responses, sector_starts_s, strict=True):
        for start_s in starts_s:
            _add_shifted(rise, response.rise_degC, start_s / first.step_s)
    return HeatCourse(times_s=np.linspace(0, (count - 1) * first.step_s, count), rise_degC=rise, organs=first.organs)


def _add_shifted(total: Floats, one: Floats, shift: float) -> None:
    """Add `one` (P, T) to `total` (P, T'), delayed by `shift` steps of time."""
    if shift < 0:
        raise ValueError("a stroke starts before the round")
    whole = int(shift)
    part = shift - whole
    _add_delayed(total, one, whole, 1 - part)
    if part:
        _add_delayed(total, one, whole + 1, part)


def _add_delayed(total: Floats, one: Floats, delay: int, weight: float) -> None:
    room = total.shape[1] - delay
    if room <= 0:
        return
    kept = min(one.shape[1], room)
    total[:, delay : delay + kept] += weight * one[:, :kept]
    total[:, delay + kept :] += weight * one[:, -1:]

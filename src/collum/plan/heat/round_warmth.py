"""What a round leaves on the sections of a tooth, in each band: small enough to be kept beside the answer it belongs to."""

from collections.abc import Mapping, Sequence
from dataclasses import dataclass
from typing import Literal

import numpy as np

from collum.core.heat import (
    HeatCourse,
    NeckShape,
    NeckStroke,
    Organ,
    RoundField,
    SectionGrid,
    middle_band,
    round_field,
    section_grid,
)
from collum.core.heat.pacing_task import PacingTask, Stroke
from collum.core.ring import Floats
from collum.evidence import value
from collum.plan.heat.warmth import BandCourses, gentlest_factor

BandName = Literal["low", "middle", "high"]
BANDS: tuple[BandName, ...] = ("low", "middle", "high")


@dataclass(frozen=True, slots=True, kw_only=True)
class Hottest:
    """When each of P watched points is warmest over a round, and how much warmer than at rest it is then."""

    rise_degC: Floats
    instant_s: Floats

    @staticmethod
    def of(course: HeatCourse) -> "Hottest":
        """Return it from the course of a round."""
        return Hottest(rise_degC=course.rise_degC.max(axis=1), instant_s=course.times_s[course.rise_degC.argmax(axis=1)])


@dataclass(frozen=True, slots=True, kw_only=True)
class RoundWarmth:
    """A round on the sections of a tooth: the neck, nodes, instants (T,), and for each band the field and the watched points.

    `organs` (P,) are those of the watched points.
    """

    shape: NeckShape
    grid: SectionGrid
    at_s: Floats
    fields: Mapping[BandName, RoundField]
    hottest: Mapping[BandName, Hottest]
    organs: tuple[Organ, ...]


def round_warmth(
    shape: NeckShape,
    task: PacingTask,
    strokes: Sequence[Stroke],
    courses: BandCourses,
    *,
    first: Sequence[NeckStroke],
    later: Sequence[NeckStroke],
    perfused: Sequence[NeckStroke],
) -> RoundWarmth:
    """Return a round of the task, which stands in the worst band, on the sections, from what each stroke leaves there."""
    at_s = _instants_s(strokes, courses)
    starts = [[s.start_s for s in strokes if s.place == place and s.number == 1] for place in range(len(task.places))]
    again = [[s.start_s for s in strokes if s.place == place and s.number > 1] for place in range(len(task.places))]
    both = [one + more for one, more in zip(starts, again, strict=True)]
    high = round_field([one.section for one in (*first, *later)], [*starts, *again], at_s, task.strength)
    speed = task.places[0].speed_mm_s
    low = round_field([one.section for one in perfused], both, at_s, gentlest_factor(speed))
    middle = RoundField(shapes=high.shapes, amounts=high.amounts * (middle_band().factor(speed) / task.strength))
    by_band = {"low": courses.low, "middle": courses.middle, "high": courses.high}
    return RoundWarmth(
        shape=shape,
        grid=section_grid(shape),
        at_s=at_s,
        fields={"low": low, "middle": middle, "high": high},
        hottest={band: Hottest.of(by_band[band]) for band in BANDS},
        organs=courses.high.organs,
    )


def _instants_s(strokes: Sequence[Stroke], courses: BandCourses) -> Floats:
    """Return the instants in equal steps: to the end of the round or the last organ's peak, and on a while."""
    last = [stroke.end_s for stroke in strokes]
    for course in (courses.low, courses.high):
        for organ in set(course.organs):
            rows = [row for row, name in enumerate(course.organs) if name == organ]
            last.append(float(course.times_s[course.rise_degC[rows].max(axis=0).argmax()]))
    step = value("heat.section.every_s")
    count = int(np.ceil((max(last) + value("heat.section.after_s")) / step))
    return step * np.arange(count + 1, dtype=np.float64)

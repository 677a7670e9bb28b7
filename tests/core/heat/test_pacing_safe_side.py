"""The sum a round is judged by lies above the round run at once while the gum goes sector by sector, and not far above."""

from functools import cache

import pytest

from collum.core.heat import ORGANS, HeatCourse, NeckShape, Sector, StrokeResponse, stroke_response
from collum.core.heat.body import Body
from collum.core.heat.direct import RoundStroke, direct_course
from collum.core.heat.neck_body import carved_body, neck_body, sector_stroke, watched_points
from collum.core.heat.pacing_task import PacingTask, Place, Stroke, hand_rules
from tests.making.necks import neck_curves

SHAPE = NeckShape(**neck_curves())
SECTORS = tuple(Sector(from_deg=60 * i, to_deg=60 * i + 60, speed_mm_s=7) for i in range(6))
POINTS, WATCHED = watched_points(SHAPE, 30)
ORDER = (0, 2, 4, 1, 3, 5)


@cache
def standing() -> Body:
    return neck_body(SHAPE, Sector(from_deg=0, to_deg=360, speed_mm_s=7), step_mm=0.3, perfusion_share=0, carved=False)


@cache
def responses(*, carved: bool) -> tuple[StrokeResponse, ...]:
    body = carved_body(standing(), SHAPE, 0, 360) if carved else standing()
    return tuple(stroke_response(body, sector_stroke(SHAPE, sector), POINTS, WATCHED) for sector in SECTORS)


def strokes_of(passes: int, every_s: float) -> tuple[Stroke, ...]:
    places = [(number, place) for number in range(1, passes + 1) for place in ORDER]
    return tuple(
        Stroke(place=place, number=number, start_s=every_s * i, end_s=every_s * i + 1, waited_s=0)
        for i, (number, place) in enumerate(places)
    )


def summed(strokes: tuple[Stroke, ...]) -> HeatCourse:
    task = PacingTask(
        places=(Place(length_mm=5, speed_mm_s=7, passes=1, pause_s=8),) * 6,
        rules=hand_rules(),
        responses=responses(carved=False),
        later_responses=responses(carved=True),
    )
    return task.course(strokes)


def at_once(strokes: tuple[Stroke, ...]) -> HeatCourse:
    body, run = standing(), []
    for stroke in strokes:
        sector = SECTORS[stroke.place]
        if stroke.number == 1:
            body = carved_body(body, SHAPE, sector.from_deg, sector.to_deg)
        run.append(RoundStroke(start_s=stroke.start_s, stroke=sector_stroke(SHAPE, sector), body_after=body))
    return direct_course(standing(), run, POINTS, WATCHED, strokes[-1].start_s + 60)


@pytest.mark.slow
@pytest.mark.parametrize(("passes", "every_s"), [(1, 2.0), (1, 12.0), (2, 2.0), (2, 12.0), (3, 2.0)])
def test_the_sum_lies_above_the_round_run_at_once_by_less_than_half(passes: int, every_s: float) -> None:
    """Seen: 1.15 to 1.5 times for one pass, whose gum takes its heat along; 1.05 to 1.18 for two and three."""
    strokes = strokes_of(passes, every_s)
    judged, run = summed(strokes), at_once(strokes)
    for organ in ORGANS:
        assert 1 <= judged.peak_degC(organ) / run.peak_degC(organ) <= (1.6 if passes == 1 else 1.25), organ

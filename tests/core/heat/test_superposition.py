"""Sums of shifted courses: what a round is made of."""

import numpy as np
import pytest

from collum.core.heat import HeatCourse, StrokeResponse, superpose


def a_response(scale: float = 1.0, step: float = 0.5) -> StrokeResponse:
    times = np.linspace(0, 20, round(20 / step) + 1)
    rise = scale * times * np.exp(-times / 3)
    return StrokeResponse(times_s=times, rise_degC=np.array([rise, rise / 2]), organs=("bone", "pulp"), stroke_s=1)


def test_one_stroke_at_the_start_is_its_response() -> None:
    response = a_response()
    course = superpose([response], [[0.0]])
    assert course.times_s == pytest.approx(response.times_s)
    assert np.array_equal(course.rise_degC, response.rise_degC) and course.organs == ("bone", "pulp")


def test_strokes_add_up_where_and_when_they_are_made() -> None:
    first, second = a_response(), a_response(3.0)
    course = superpose([first, second], [[0.0, 4.0], [2.5]], until_s=10)
    bone = course.rise_degC[0]
    assert course.times_s[-1] == 10
    assert bone[8] == first.rise_degC[0, 8] + second.rise_degC[0, 3]
    assert bone[9] == first.rise_degC[0, 9] + first.rise_degC[0, 1] + second.rise_degC[0, 4]


def test_a_start_between_two_instants_is_taken_in_between() -> None:
    whole, half = superpose([a_response()], [[1.0]], until_s=15), superpose([a_response()], [[1.25]], until_s=15)
    later = superpose([a_response()], [[1.5]], until_s=15)
    assert half.rise_degC == pytest.approx((whole.rise_degC + later.rise_degC) / 2)


def test_after_its_last_instant_a_response_is_held() -> None:
    course = superpose([a_response()], [[0.0]], until_s=40)
    assert np.all(course.rise_degC[:, -10:] == a_response().rise_degC[:, -1:])


def test_a_round_without_strokes_is_cold_and_one_after_its_end_is_not_seen() -> None:
    assert not superpose([a_response()], [[]], until_s=5).rise_degC.any()
    assert not superpose([a_response()], [[30.0]], until_s=5).rise_degC.any()


def test_a_course_is_scaled_as_a_whole() -> None:
    course = superpose([a_response()], [[0.0, 3.0]])
    assert course.scaled(2.7).rise_degC == pytest.approx(2.7 * course.rise_degC)
    assert isinstance(course.scaled(2.7), HeatCourse)


def test_what_cannot_be_summed_is_refused() -> None:
    with pytest.raises(ValueError, match="2 lists of starts for 1"):
        superpose([a_response()], [[0.0], [1.0]])
    with pytest.raises(ValueError, match="same points"):
        superpose([a_response(), a_response(step=0.25)], [[0.0], [1.0]])
    with pytest.raises(ValueError, match="before the round"):
        superpose([a_response()], [[-1.0]])


@pytest.mark.parametrize(
    ("times", "rows", "match"),
    [
        (np.array([0, 1, 3.0]), 1, "equal steps"),
        (np.array([1, 2, 3.0]), 1, "equal steps"),
        (np.array([0.0]), 1, "equal steps"),
        (np.array([0, 1, 2.0]), 2, "for 1 points"),
    ],
)
def test_a_response_that_cannot_be_is_refused(times: np.ndarray, rows: int, match: str) -> None:
    with pytest.raises(ValueError, match=match):
        StrokeResponse(times_s=times, rise_degC=np.zeros((rows, times.size)), organs=("bone",), stroke_s=1)

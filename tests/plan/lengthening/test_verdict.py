"""Verdicts at, just above and just below each limit."""

import numpy as np
import pytest

from collum.plan.lengthening.requirements.verdict import Graded, Reserve, decide, grade, worst_verdict
from collum.plan.lengthening.wishes import Rule
from tests.measuring.necks import EVIDENCE

EVERYWHERE = np.ones(36, dtype=bool)


def reserve_of(amount: np.ndarray, stations: np.ndarray = EVERYWHERE, *, smooth: bool = True) -> Reserve:
    return Reserve(rule=rule(), amount=amount, stations=stations, smooth=smooth, step_mm=0.5)


def graded(amount: np.ndarray, stations: np.ndarray = EVERYWHERE, *, best: float | None = None) -> Graded:
    """The grade; the best estimate is the median of the draws unless it is given."""
    reserve = reserve_of(amount, stations)
    least = reserve.least(EVIDENCE.limits)
    return grade(reserve, least, float(np.median(least)) if best is None else best, EVIDENCE.limits)


def rule(confidence: float = 0.90, limit: float = 2.0) -> Rule:
    return Rule(limit=limit, confidence=confidence, evidence=())


@pytest.mark.parametrize(
    ("probability", "median", "verdict"),
    [
        (0.90, 0.5, "kept"),
        (0.8999, 0.5, "in doubt"),
        (0.5, 0.0, "in doubt"),
        (0.4999, -1e-9, "short"),
        (0.0, -2.0, "short"),
    ],
)
def test_decide(probability: float, median: float, verdict: str) -> None:
    assert decide(probability, median, 0.90) == verdict


@pytest.mark.parametrize(("missed", "verdict"), [(99, "kept"), (100, "kept"), (101, "in doubt"), (501, "short")])
def test_a_share_of_draws_at_the_limit(missed: int, verdict: str) -> None:
    """1,000 draws, the first `missed` of them 1 mm short everywhere, the others at the limit to the last digit."""
    reserve = np.zeros((36, 1000))
    reserve[:, :missed] = -1.0
    found = graded(reserve, EVERYWHERE)
    assert found.verdict == verdict
    assert found.probability == pytest.approx(1 - missed / 1000)
    assert (found.short_by is None) == (verdict == "kept")
    if verdict == "short":
        assert found.short_by == pytest.approx(1.0)


def test_short_is_at_least_a_reading_step() -> None:
    reserve = np.full((36, 100), -0.3)
    found = graded(reserve, EVERYWHERE)
    assert found.verdict == "short"
    assert found.short_by == 0.5


def test_one_bad_station_is_softened_by_its_neighbours_but_not_for_bone() -> None:
    """Running mean over 15 degrees: weights 0.1875, 0.625, 0.1875."""
    reserve = np.ones((36, 10))
    reserve[7] = -0.5
    assert reserve_of(reserve).least(EVIDENCE.limits) == pytest.approx(np.full(10, 0.625 * -0.5 + 0.375))
    assert reserve_of(reserve, smooth=False).least(EVIDENCE.limits) == pytest.approx(np.full(10, -0.5))


def test_stations_that_take_no_part_do_not_count() -> None:
    reserve = np.ones((36, 10))
    reserve[20] = -5
    stations = EVERYWHERE.copy()
    stations[19:22] = False
    found = graded(reserve, stations)
    assert found.verdict == "kept"
    assert stations[found.worst_station]


@pytest.mark.parametrize(
    ("lack_mm", "verdict"), [(0.2, "in doubt"), (0.249, "in doubt"), (0.251, "short"), (0.6, "short"), (-1.0, "in doubt")]
)
def test_short_is_what_the_best_estimate_lacks_by_more_than_a_reading_shows(lack_mm: float, verdict: str) -> None:
    """Half a usual reading step, 0.25 mm. The draws miss the rule six times in ten."""
    reserve = np.tile(np.where(np.arange(100) < 60, -0.4, 0.4), (36, 1))
    found = graded(reserve, best=-lack_mm)
    assert found.verdict == verdict
    assert found.short_by == (0.5 if verdict == "short" else pytest.approx(0.4))


def test_the_worst_station_is_the_one_that_fails_most() -> None:
    reserve = np.ones((36, 100))
    reserve[4, :10] = -1
    reserve[9, :20] = -1
    found = graded(reserve, EVERYWHERE)
    assert found.worst_station == 9
    assert found.worst_probability == pytest.approx(0.8)
    reserve[:] = 1.0
    reserve[12] = 0.5
    assert graded(reserve, EVERYWHERE).worst_station == 12


@pytest.mark.parametrize(
    ("verdicts", "worst"),
    [
        (["kept", "in doubt"], "in doubt"),
        (["kept", "not assessed"], "not assessed"),
        (["in doubt", "not assessed"], "not assessed"),
        (["in doubt", "short", "not assessed"], "short"),
        (["kept"], "kept"),
        ([], "kept"),
    ],
)
def test_worst(verdicts: list[str], worst: str) -> None:
    assert worst_verdict(verdicts) == worst  # type: ignore[arg-type]  # words of the type

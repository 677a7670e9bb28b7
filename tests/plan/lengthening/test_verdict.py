"""Verdicts at, just above and just below each limit."""

import numpy as np
import pytest

from collum.plan.lengthening.requirements.verdict import Graded, Reserve, decide, grade, likelihood_of, worst_verdict
from collum.plan.lengthening.wishes import Rule
from tests.measuring.necks import EVIDENCE

EVERYWHERE = np.ones(36, dtype=bool)


def reserve_of(amount: np.ndarray, stations: np.ndarray = EVERYWHERE, *, smooth: bool = True) -> Reserve:
    return Reserve(rule=rule(), amount=amount, stations=stations, smooth=smooth, step_mm=0.5)


def graded(amount: np.ndarray, stations: np.ndarray = EVERYWHERE) -> Graded:
    reserve = reserve_of(amount, stations)
    return grade(reserve, reserve.least(EVIDENCE.limits), EVIDENCE.limits)


def rule(confidence: float = 0.90, limit: float = 2.0) -> Rule:
    return Rule(limit=limit, confidence=confidence, evidence=())


@pytest.mark.parametrize(
    ("probability", "confidence", "verdict"),
    [
        (0.90, 0.90, "kept"),
        (0.8999, 0.90, "in doubt"),
        (0.1001, 0.90, "in doubt"),
        (0.1, 0.90, "short"),
        (0.0, 0.90, "short"),
        (0.01, 0.99, "short"),
        (0.0101, 0.99, "in doubt"),
        (0.05, 0.95, "short"),
        (0.0, 0.999, "short"),
    ],
)
def test_short_is_as_sure_a_miss_as_kept_is_sure(probability: float, confidence: float, verdict: str) -> None:
    assert decide(probability, confidence) == verdict


@pytest.mark.parametrize(
    ("chance", "word"),
    [(0.89, "probably"), (2 / 3, "probably"), (0.6666, "open"), (1 / 3, "open"), (0.3333, "unlikely"), (0.11, "unlikely")],
)
def test_the_word_for_a_chance(chance: float, word: str) -> None:
    assert likelihood_of(chance, EVIDENCE.limits) == word


def test_only_what_is_in_doubt_has_a_word_for_its_chance() -> None:
    words = []
    for missed in (50, 200, 500, 800, 950):
        reserve = np.zeros((36, 1000))
        reserve[:, :missed] = -1.0
        words.append(graded(reserve).likelihood)
    assert words == [None, "probably", "open", "unlikely", None]


@pytest.mark.parametrize(
    ("missed", "verdict"), [(99, "kept"), (100, "kept"), (101, "in doubt"), (899, "in doubt"), (900, "short")]
)
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

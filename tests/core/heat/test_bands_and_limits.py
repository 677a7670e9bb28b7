"""Bands of what is not known, and the verdict on an organ over a course."""

import numpy as np
import pytest

from collum.core.heat import ORGANS, Band, HeatCourse, OrganLimit, all_bands, judge_course, middle_band, worst_band
from collum.core.heat.superposition import Organ


def a_course(*rows: tuple[Organ, float], seconds: float = 60) -> HeatCourse:
    """Points that stand at a rise from the tenth second on."""
    times = np.arange(0, seconds + 10.5, 0.5)
    rise = np.array([np.where(times < 10, 0.0, degC) for _, degC in rows])
    return HeatCourse(times_s=times, rise_degC=rise, organs=tuple(organ for organ, _ in rows))


def test_every_corner_of_the_unknown_is_a_band_and_the_middle_is_the_unit_without_perfusion() -> None:
    bands = all_bands()
    assert len(set(bands)) == 12
    assert {b.strength for b in bands} == {0.5, 1, 2.7} and {b.perfusion for b in bands} == {0, 1}
    assert middle_band() in bands and middle_band().perfusion == 0 and middle_band().factor(7) == 1


@pytest.mark.parametrize("speed", [7.0, 8.5, 10.0])
def test_the_worst_band_leaves_most_heat_and_has_no_perfusion(speed: float) -> None:
    worst = worst_band(speed)
    assert worst.perfusion == 0
    assert worst.factor(speed) == max(band.factor(speed) for band in all_bands())


def test_a_quicker_stroke_leaves_less_and_the_exponent_says_how_much() -> None:
    half, whole = (Band(strength=1, perfusion=0, speed_exponent=n) for n in (0.5, 1))
    assert half.factor(7) == whole.factor(7) == 1
    assert half.factor(14) == pytest.approx(0.5**0.5) and whole.factor(14) == pytest.approx(0.5)


def test_a_stroke_below_the_least_speed_is_refused() -> None:
    with pytest.raises(ValueError, match="slower than 7 mm/s"):
        middle_band().factor(6.9)


def test_limits_of_the_organs() -> None:
    limits = {organ: OrganLimit.of(organ) for organ in ORGANS}
    assert {o: limit.rise_degC for o, limit in limits.items()} == {"bone": 10, "ligament": 10, "pulp": 5.5, "soft_tissue": 13}
    assert {o: limit.dose_min for o, limit in limits.items()} == {"bone": 16, "ligament": None, "pulp": None, "soft_tissue": 9}


def test_a_minute_at_the_threshold_is_the_whole_of_bone_s_limits() -> None:
    (verdict,) = judge_course(a_course(("bone", 10)))
    # The rise meets its limit; the dose of a minute at 47 degC is 16, and half a step more of the trapezium.
    assert verdict.share == pytest.approx(1, rel=0.01) and verdict.instant_s == 10
    (longer,) = judge_course(a_course(("bone", 9.99), seconds=120))
    assert longer.kind == "dose" and longer.share == pytest.approx(2, rel=0.02) and not longer.holds


def test_the_verdict_names_the_worst_point_of_each_organ_in_the_order_of_organs() -> None:
    verdicts = judge_course(a_course(("pulp", 2), ("bone", 3), ("bone", 6), ("pulp", 5), ("soft_tissue", 1), seconds=5))
    assert [v.organ for v in verdicts] == ["bone", "pulp", "soft_tissue"]
    assert [v.point for v in verdicts] == [2, 3, 4]
    assert verdicts[1].share == pytest.approx(5 / 5.5) and all(v.holds for v in verdicts)


def test_a_dose_is_not_trusted_far_above_its_range_and_the_rise_speaks_instead() -> None:
    trusted, beyond = judge_course(a_course(("bone", 14.9)))[0], judge_course(a_course(("bone", 15.1)))[0]
    assert trusted.dose_trusted and trusted.kind == "dose"
    assert not beyond.dose_trusted and beyond.kind == "rise" and beyond.share == pytest.approx(1.51)
    assert not beyond.holds


def test_a_stronger_source_never_uses_less_of_a_limit() -> None:
    course = a_course(("bone", 4), ("pulp", 2), ("soft_tissue", 4), seconds=20)
    shares = [[v.share for v in judge_course(course.scaled(factor))] for factor in (0.5, 1, 2, 2.7)]
    assert np.all(np.diff(np.array(shares), axis=0) > 0)


def test_an_organ_nobody_watches_has_no_peak() -> None:
    assert a_course(("bone", 4)).peak_degC("bone") == 4
    assert a_course(("bone", 4)).peak_degC("pulp") == 0

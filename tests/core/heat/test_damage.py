"""Damage over courses that are not steady; published figures are in tests/published/test_heat_damage.py."""

import numpy as np
import pytest

from collum.core.heat.damage import Arrhenius, dose_min


def test_many_courses_are_judged_at_once_and_each_alone() -> None:
    times = np.linspace(0, 60, 601)
    courses = np.array([[np.full(601, 43.0), np.full(601, 44.0)], [np.full(601, 42.0), np.full(601, 20.0)]])
    assert dose_min(times, courses) == pytest.approx(np.array([[1, 2], [0.25, 0]]))
    assert Arrhenius.of("soft").damage(times, courses).shape == (2, 2)


def test_what_lies_below_the_counted_range_adds_nothing() -> None:
    times = np.linspace(0, 60, 61)
    warm = np.full(61, 38.9)
    assert dose_min(times, warm) == 0
    assert dose_min(times, warm, counted_from_degC=0) == pytest.approx(0.25 ** (43 - 38.9))
    assert dose_min(times, np.full(61, 39.0)) == pytest.approx(0.25**4)


def test_damage_grows_with_time_and_temperature() -> None:
    times = np.linspace(0, 10, 101)
    for name in ("skin", "soft", "artery", "collagen"):
        rates = Arrhenius.of(name).rate_per_s(np.array([37.0, 45, 60, 80, 100]))
        assert np.all(np.diff(rates) > 0)
        assert Arrhenius.of(name).damage(2 * times, np.full(101, 60.0)) == pytest.approx(
            2 * Arrhenius.of(name).damage(times, np.full(101, 60.0))
        )

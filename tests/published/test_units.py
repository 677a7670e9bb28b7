"""Dimensional sanity without a units library: scale every length (or time) that goes in, and lengths that come out follow."""

import numpy as np
import pytest
from hypothesis import given
from hypothesis import strategies as st

from collum.core import tooth
from collum.core.healing import fraction_reached, mean_regrowth_mm, probability_above, shrunk_own_height_mm, total_spread_mm
from tests.measuring.necks import LAW

SCALE = st.floats(0.1, 10)
LENGTH = st.floats(0.5, 6)
SHARE = st.floats(0.3, 1)


@given(SCALE, LENGTH, LENGTH, SHARE)
def test_regrowth_is_a_length(scale: float, own: float, cut: float, share: float) -> None:
    """Where the fixed largest recession does not hold it: the margin is left at or below the own height."""
    distance = min(cut, own)
    once = mean_regrowth_mm(distance, LAW, return_share=share, own_height_mm=own)
    scaled = mean_regrowth_mm(scale * distance, LAW, return_share=share, own_height_mm=scale * own)
    np.testing.assert_allclose(scaled, scale * once, rtol=1e-12, atol=1e-12)


@given(SCALE, LENGTH, LENGTH, LENGTH, SHARE)
def test_spread_is_a_length(scale: float, spread: float, cut: float, height: float, share: float) -> None:
    once = total_spread_mm(spread=spread, return_share=share, cut_sd_mm=cut, own_height_sd_mm=height)
    scaled = total_spread_mm(spread=scale * spread, return_share=share, cut_sd_mm=scale * cut, own_height_sd_mm=scale * height)
    assert scaled == pytest.approx(scale * once, rel=1e-12)


@given(SCALE, LENGTH, LENGTH, LENGTH, LENGTH)
def test_a_shrunk_height_is_a_length(scale: float, read: float, error: float, mean: float, sd: float) -> None:
    once = shrunk_own_height_mm(read, error_mm=error, prior_mean_mm=mean, prior_sd_mm=sd)
    scaled = shrunk_own_height_mm(scale * read, error_mm=scale * error, prior_mean_mm=scale * mean, prior_sd_mm=scale * sd)
    assert scaled == pytest.approx(scale * once, rel=1e-12)
    assert min(read, mean) - 1e-9 <= once <= max(read, mean) + 1e-9


@given(SCALE, st.floats(0, 60), st.floats(0.5, 12))
def test_a_share_of_the_way_has_no_unit(scale: float, weeks: float, time_constant: float) -> None:
    once = fraction_reached(weeks, time_constant_weeks=time_constant)
    scaled = fraction_reached(scale * weeks, time_constant_weeks=scale * time_constant)
    assert float(scaled) == pytest.approx(float(once), rel=1e-12, abs=1e-15)
    assert 0 <= once <= 1


@given(SCALE, LENGTH, st.floats(-2, 4), LENGTH)
def test_a_probability_has_no_unit(scale: float, limit: float, mean: float, spread: float) -> None:
    once = probability_above(limit, mean_mm=mean, spread=spread)
    scaled = probability_above(scale * limit, mean_mm=scale * mean, spread=scale * spread)
    assert scaled == pytest.approx(once, rel=1e-9, abs=1e-15)


def test_radius_and_arc_of_a_neck_have_the_unit_of_its_diameters() -> None:
    """Lower first molar and upper lateral both have round necks, of 9 and 5 mm: everything goes as 9 to 5."""
    stations = np.arange(0, 360, 30.0)
    ratio = tooth.dimensions(36).bl_cervix_mm / tooth.dimensions(12).bl_cervix_mm
    assert ratio == pytest.approx(1.8)
    for length in (tooth.cervical_radius_mm, tooth.arc_mm):
        np.testing.assert_allclose(length(36, stations), ratio * length(12, stations), rtol=1e-12, atol=1e-12)
    assert tooth.perimeter_mm(36) == pytest.approx(ratio * tooth.perimeter_mm(12), rel=1e-12)

"""Laws of the closed forms: what must rise or fall, what a change of size leaves alone, and what is refused."""

import numpy as np
import pytest
from hypothesis import given
from hypothesis import strategies as st

from collum.core.crown.form import (
    apex_height_mm,
    blind_height_mm,
    frustum_top_mm2,
    frustum_wall_mm2,
    height_for_half_wall_mm,
    limiting_convergence_deg,
    limiting_taper_deg,
    resistive_share,
)

heights = st.floats(0.1, 12)
bases = st.floats(1, 15)
angles = st.floats(0, 85)
ROUNDING = 1e-12  # doubles, a few operations on numbers near 1


@given(heights, bases, angles, st.floats(0.01, 5))
def test_more_convergence_never_helps_and_more_height_never_harms(
    height: float, base: float, angle: float, more: float
) -> None:
    share = resistive_share(height, base, angle)
    assert resistive_share(height, base, angle + more) <= share + ROUNDING
    assert resistive_share(height + more, base, angle) >= share - ROUNDING
    assert resistive_share(height, base + more, angle) <= share + ROUNDING


@given(heights, bases, angles, st.floats(0.1, 10))
def test_a_change_of_size_leaves_shares_alone_and_squares_areas(height: float, base: float, angle: float, size: float) -> None:
    share = resistive_share(height, base, angle)
    assert float(resistive_share(size * height, size * base, angle)) == pytest.approx(float(share), abs=1e-9)
    if height * np.tan(np.deg2rad(angle / 2)) < base / 2 * 0.99:
        for area in (frustum_wall_mm2, frustum_top_mm2):
            grown = area(size * base, size * height, angle)
            assert float(grown) == pytest.approx(size**2 * float(area(base, height, angle)), rel=1e-9)


@given(st.floats(0.05, 3))
def test_at_a_limit_the_share_is_that_of_the_limit(ratio: float) -> None:
    tip, half = limiting_taper_deg(ratio), limiting_convergence_deg(ratio)
    if np.isfinite(tip):
        assert float(resistive_share(ratio, 1, 2 * tip)) == pytest.approx(0, abs=1e-7)  # asin is steep at 1
    if half <= 60:  # above it the walls meet first
        assert float(resistive_share(ratio, 1, half)) == pytest.approx(0.5, abs=1e-7)
        assert float(height_for_half_wall_mm(1, half)) == pytest.approx(ratio, abs=1e-7)


def test_a_wall_ends_where_the_opposite_one_meets_it() -> None:
    assert float(apex_height_mm(10, 90)) == pytest.approx(5)
    assert float(apex_height_mm(10, 0)) > 1e9
    assert resistive_share(8, 3, 45) == resistive_share(4, 3, 45) == pytest.approx(np.cos(np.deg2rad(45)))
    assert float(resistive_share(3, 10, 0)) == 1


def test_the_moving_point_agrees_with_the_closed_form() -> None:
    # The definition itself: a point (x, y) of the wall turns about the far finish line with velocity (-y, x).
    base, height, convergence = 8.0, 5.0, 24.0
    taper = np.deg2rad(convergence / 2)
    y = (np.arange(1_000_000) + 0.5) / 1_000_000 * height
    x = base - y * np.tan(taper)
    resists = -y * np.cos(taper) + x * np.sin(taper) < 0
    assert resists.mean() == pytest.approx(float(resistive_share(height, base, convergence)), abs=2e-6)  # one strip


def test_areas_agree_with_rings_added_up() -> None:
    taper, height = np.deg2rad(10), 4.0
    y = (np.arange(100_000) + 0.5) / 100_000 * height
    rings = 2 * np.pi * (5 - y * np.tan(taper)) * (height / 100_000) / np.cos(taper)
    assert rings.sum() == pytest.approx(float(frustum_wall_mm2(10, height, 20)), rel=1e-12)


def test_arrays_broadcast_and_an_unknown_stays_unknown() -> None:
    share = resistive_share(np.array([[3.0], [np.nan], [0.0], [-1.0]]), 10, np.array([10.0, np.nan]))
    assert share.shape == (4, 2)
    assert share[0, 0] == pytest.approx(0.711, abs=0.001)
    assert np.isnan(share[1]).all() and np.isnan(share[:, 1]).all()
    assert share[2, 0] == share[3, 0] == 0
    assert np.isnan(limiting_taper_deg(np.nan)) and np.isnan(limiting_convergence_deg(np.nan))
    assert np.isnan(resistive_share(3, np.nan, 10)) and np.isnan(frustum_wall_mm2(10, np.nan, 10))


def test_what_is_no_preparation_is_refused_by_name() -> None:
    with pytest.raises(ValueError, match="undercut"):
        blind_height_mm(10, -1)
    with pytest.raises(ValueError, match="above 90"):
        blind_height_mm(10, 90.1)
    for base in (0, -2.0):
        with pytest.raises(ValueError, match="need a distance"):
            resistive_share(3, base, 10)
    with pytest.raises(ValueError, match="meet below the top"):
        frustum_top_mm2(7, 12, 33)
    with pytest.raises(ValueError, match="lower than its finish line"):
        frustum_wall_mm2(7, -1, 33)
    with pytest.raises(ValueError, match="neither is negative"):
        limiting_taper_deg(-0.1)

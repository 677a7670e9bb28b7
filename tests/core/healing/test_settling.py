"""The settled margin draw by draw: what lasts and what does not."""

import numpy as np
import pytest
from hypothesis import given
from hypothesis import strategies as st

from collum.core.healing import (
    HeightKnown,
    Neighbours,
    draw_own_height_mm,
    draw_regrowth,
    population_own_height_mm,
    settled_margin_mm,
    shrunk_own_height_mm,
)
from collum.core.ring import STATIONS_DEG
from collum.evidence import value
from tests.measuring.necks import LAW

ONE = np.array([0.0])


def settle(cut_mm: float, crest_depth_mm: float, own_height_mm: float, share: float = 1.0) -> float:
    return float(
        settled_margin_mm(
            np.array([cut_mm]),
            LAW,
            crest_depth_mm=np.array([[crest_depth_mm]]),
            own_height_mm=np.array([[own_height_mm]]),
            return_share=share,
            phenotype_shift_mm=0,
            noise=None,
        )[0, 0]
    )


@given(st.floats(3.6, 8), st.floats(2.8, 4.5), st.floats(0, 3), st.floats(0, 3))
def test_full_return_does_not_depend_on_a_cut_below_the_own_height(depth: float, own: float, a: float, b: float) -> None:
    """Any cut that ends at or apical of the own height settles at the own height (or the old margin, where that is lower)."""
    own = min(own, depth)
    cuts = [min(own, own - extra) - depth for extra in (a, b) if own - extra > 0.1]
    settled = [settle(cut, depth, own) for cut in cuts]
    assert settled == pytest.approx([own - depth] * len(settled), abs=1e-9)


@given(st.floats(2, 8), st.floats(2.5, 5), st.floats(0.6, 1))
def test_nothing_moves_where_nothing_is_cut(depth: float, own: float, share: float) -> None:
    assert settle(0.0, depth, own, share) == 0


@given(st.floats(-5, 0), st.floats(2, 8), st.floats(2.5, 5), st.floats(0.6, 1))
def test_the_rest_line_never_lies_coronal_of_the_old_margin(cut: float, depth: float, own: float, share: float) -> None:
    assert settle(cut, depth, own, share) <= 0


def test_a_healthy_site_cut_by_one_millimetre_gains_nothing_lasting() -> None:
    assert settle(-1.0, 3.5, 3.5) == pytest.approx(0)


def test_a_false_pocket_of_three_millimetres_stays_off() -> None:
    assert settle(-3.0, 6.5, 3.5) == pytest.approx(-3.0)


def test_movement_fades_in_with_the_cut() -> None:
    """A cut high above the own height recedes by at most 0.30, and by half of that at a quarter millimetre of cut."""
    assert settle(-1.0, 8.0, 3.0) == pytest.approx(-1.30)
    assert settle(-0.25, 8.0, 3.0) == pytest.approx(-0.25 - 0.15)


def test_regrowth_noise_has_unit_variance_and_heavy_tails() -> None:
    draws = draw_regrowth(STATIONS_DEG, LAW, 40_000, np.random.default_rng(1))
    assert draws.noise.std() == pytest.approx(1, abs=0.05)  # t with 5 degrees of freedom: slow to settle
    assert np.mean(np.abs(draws.noise) > 3) > 2 * 0.0027
    assert draws.return_share.min() >= 0.6 and draws.return_share.max() <= 1
    assert draws.return_share.mean() == pytest.approx(0.9, abs=0.005)  # 1 - 0.4 * mean of Beta(1, 3)


def test_own_height_of_the_population() -> None:
    height = population_own_height_mm(STATIONS_DEG, Neighbours(), LAW)
    assert height[[0, 9, 18, 27]] == pytest.approx([3.45, 3.87, 3.45, 3.87])
    gap = population_own_height_mm(STATIONS_DEG, Neighbours(distal=False), LAW)
    assert gap[[9, 27]] == pytest.approx([3.87, 3.45])


def test_one_height_at_a_mirror_tooth_is_shrunk_as_the_formula_says() -> None:
    known = HeightKnown(theta_deg=ONE, height_mm=np.full((1, 60_000), 4.5), error_mm=np.array([0.5]))
    draws = draw_own_height_mm(ONE, known, Neighbours(), LAW, 60_000, np.random.default_rng(2))
    expected = shrunk_own_height_mm(4.5, error_mm=0.5, prior_mean_mm=3.45, prior_sd_mm=value("healing.own_height.sd_mm"))
    assert draws.mean() == pytest.approx(expected, abs=0.01)
    assert draws.std() == pytest.approx((1 / (1 / 0.49 + 1 / 0.25)) ** 0.5, rel=0.02)


def test_a_healthy_site_has_its_own_height_in_every_draw() -> None:
    rng = np.random.default_rng(3)
    today = rng.normal(3.8, 0.5, (1, 2_000))
    known = HeightKnown(theta_deg=ONE, height_mm=today, error_mm=np.array([value("healing.own_height.healthy_site_error_mm")]))
    draws = draw_own_height_mm(ONE, known, Neighbours(), LAW, 2_000, rng)
    assert np.std(draws - today) < 0.07

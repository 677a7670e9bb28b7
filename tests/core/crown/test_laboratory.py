"""What a material leaves of the tooth, and what a cement holds: order, limits, and what an unknown pulp or edge does."""

import numpy as np
import pytest
from hypothesis import given
from hypothesis import strategies as st

from collum.core.crown.laboratory import MATERIALS, MaterialFit, Neck, handbook_neck, material_fits
from collum.core.crown.retention import BONDING, CEMENTS, Cement, retention_range


def fits(neck: Neck) -> dict[str, MaterialFit]:
    return {fit.material: fit for fit in material_fits(neck)}


def test_every_material_is_there_the_sparing_ones_first() -> None:
    found = material_fits(handbook_neck("upper", 6))
    assert {fit.material for fit in found} == set(MATERIALS)
    widths = [fit.finish_line_mm for fit in found]
    assert widths == sorted(widths)
    assert all(fit.from_handbook for fit in found)


@pytest.mark.parametrize(("pulp_mm", "hazard"), [(1.0, "clear"), (1.01, "thin wall"), (None, "not assessed")])
def test_a_wall_is_judged_at_its_limit_and_left_open_without_the_pulp(pulp_mm: float | None, hazard: str) -> None:
    metal = fits(Neck(md_mm=4.0, bl_mm=9.0, molar=False, pulp_md_mm=pulp_mm, pulp_bl_mm=1.0))["metal"]
    assert metal.hazard == hazard
    assert metal.wall_md_mm == (None if pulp_mm is None else pytest.approx((3.0 - pulp_mm) / 2))


def test_a_neck_too_thin_even_without_pulp_is_a_hazard_for_certain() -> None:
    assert fits(Neck(md_mm=2.9, bl_mm=9, molar=False))["metal"].hazard == "thin wall"
    assert fits(Neck(md_mm=9, bl_mm=2.9, molar=False))["metal"].hazard == "thin wall"
    assert fits(Neck(md_mm=3.0, bl_mm=9, molar=False))["metal"].hazard == "not assessed"


def test_without_the_edge_there_is_no_height_and_a_worn_tooth_has_none_below_nothing() -> None:
    unknown = fits(Neck(md_mm=5, bl_mm=7, molar=False))["metal"]
    assert unknown.height_mm is None and unknown.height_short_mm is None
    worn = fits(Neck(md_mm=5, bl_mm=7, molar=False, edge_mm=1.0))["metal"]
    assert worn.height_mm == 0 and worn.height_short_mm == 3.0
    tall = fits(Neck(md_mm=5, bl_mm=7, molar=False, edge_mm=8.0))["metal"]
    assert tall.height_mm == 6.5 and tall.height_short_mm == 0


@given(st.floats(1, 300), st.floats(0.5, 60), st.sampled_from(CEMENTS), st.floats(0.1, 30))
def test_a_range_widens_with_area_and_falls_with_convergence(area: float, angle: float, cement: Cement, more: float) -> None:
    found, wider = retention_range(area, angle, cement), retention_range(area, angle + more, cement)
    assert 0 < float(found.low_n) < float(found.high_n)
    assert float(wider.low_n) <= float(found.low_n) and float(wider.high_n) <= float(found.high_n)
    assert float(retention_range(2 * area, angle, cement).low_n) == pytest.approx(2 * float(found.low_n))


def test_the_hyperbola_is_followed_no_further_than_it_was_measured() -> None:
    assert float(retention_range(100, 5, "zinc_phosphate").high_n) == 4 * 400  # four times the reference, from 20 to 5 degrees
    assert float(retention_range(100, 1, "zinc_phosphate").high_n) == 4 * 400
    assert float(retention_range(100, 40, "zinc_phosphate").low_n) == 75  # half of 150
    assert float(retention_range(100, 40, "zinc_phosphate").high_n) == 400


@pytest.mark.parametrize("cement", sorted(BONDING))
def test_a_bonding_resin_gains_nothing_by_a_narrow_convergence(cement: Cement) -> None:
    assert float(retention_range(100, 5, cement).high_n) == float(retention_range(100, 20, cement).high_n)
    assert float(retention_range(100, 5, cement).low_n) == float(retention_range(100, 20, cement).low_n)


def test_unknown_and_impossible_walls() -> None:
    found = retention_range(np.array([100.0, np.nan]), np.array([20.0, 20.0]), "glass_ionomer")
    assert np.isnan(found.low_n[1]) and np.isnan(found.high_n[1]) and found.low_n[0] == 200
    assert np.isnan(retention_range(100, np.nan, "glass_ionomer").low_n)
    with pytest.raises(ValueError, match="cannot be negative"):
        retention_range(-1, 20, "glass_ionomer")
    with pytest.raises(ValueError, match="parallel or undercut"):
        retention_range(100, 0, "glass_ionomer")
    with pytest.raises(KeyError):
        retention_range(100, 20, "glue")  # type: ignore[arg-type]  # no class of ours

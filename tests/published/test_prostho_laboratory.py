"""Reduction and finish line against this tooth, checks 63 and 64, and the forces of Ergin & Gemalmaz beside the cement ranges.

Sources: teaching cards (second-hand) for metal and metal-ceramic; Wheeler from memory for the neck of the lower central
incisor; Wiskott 1997 (read) for the order of cements. Ranges of the cements are from memory.
"""

import pytest

from collum.core.crown.form import frustum_wall_mm2
from collum.core.crown.laboratory import Neck, across_left_mm, handbook_neck, material_fits, preparation_height_mm
from collum.core.crown.retention import retention_range


@pytest.mark.parametrize(("occlusal_mm", "height_mm"), [(1.8, 2.2), (1.5, 2.5)])
def test_check_63_a_worn_molar_is_short_under_both_materials(occlusal_mm: float, height_mm: float) -> None:
    assert preparation_height_mm(4.0, occlusal_mm) == pytest.approx(height_mm, abs=0.01)
    worn = {fit.material: fit for fit in material_fits(Neck(md_mm=9, bl_mm=9, molar=True, edge_mm=4.0))}
    for material, expected in (("metal_ceramic", 2.2), ("metal", 2.5)):
        fit = worn[material]  # type: ignore[index]  # two of the words
        assert fit.height_mm == pytest.approx(expected, abs=0.01)
        assert fit.height_short_mm == pytest.approx(4 - expected, abs=0.01)


def test_check_64_a_shoulder_leaves_a_lower_incisor_too_little() -> None:
    assert across_left_mm(3.5, 1.0) == 1.5 and across_left_mm(3.5, 0.5) == 2.5
    fits = {fit.material: fit for fit in material_fits(handbook_neck("lower", 1))}
    assert fits["porcelain"].across_md_mm == pytest.approx(1.5, abs=0.01)
    assert fits["porcelain"].hazard == "thin wall" and fits["porcelain"].from_handbook
    assert fits["metal"].across_md_mm == pytest.approx(2.5, abs=0.01)
    assert fits["metal"].hazard == "not assessed"  # the pulp is not known


@pytest.mark.parametrize(
    ("cement", "low_n", "high_n"),
    [("zinc_phosphate", 121, 143), ("glass_ionomer", 135, 221), ("resin_glass_ionomer", 301, 381)],
)
def test_measured_forces_lie_within_the_ranges(cement: str, low_n: float, high_n: float) -> None:
    # Lower premolars, 33 degrees, 3 mm (read); a base of 7 mm is assumed.
    found = retention_range(frustum_wall_mm2(7, 3, 33), 33, cement)  # type: ignore[arg-type]  # three of the words
    assert float(found.low_n) <= low_n and high_n <= float(found.high_n)


def test_cements_stand_in_the_published_order() -> None:
    high = [float(retention_range(100, 20, c).high_n) for c in ("bonded_resin", "glass_ionomer", "zinc_phosphate")]  # type: ignore[arg-type]
    low = [float(retention_range(100, 20, c).low_n) for c in ("bonded_resin", "glass_ionomer", "zinc_phosphate")]  # type: ignore[arg-type]
    assert high == sorted(high, reverse=True) and low == sorted(low, reverse=True)
    assert low[0] > low[1] > low[2]

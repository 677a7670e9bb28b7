"""The hot sheet against values worked out by double integration of point sources, and against a table of repeated cuts.

Values: capacity 3.78 mJ/(mm3 K), conductivity 0.5 mW/(mm K), sheet 7 mm long and 2 mm deep with 65 mJ/mm2, insulated surface;
cooling 0.0052859788 per second or none. They were obtained in two ways that agree to 1e-11.
"""

import numpy as np
import pytest

from collum.core.heat.sources import unit_heat_mJ_mm2
from collum.evidence import value
from tests.core.heat.hot_sheet import HotSheet

SHEET = HotSheet(length_mm=7, depth_mm=2, heat_mJ_mm2=65)
COOLING_PER_S = 0.0052859788


@pytest.mark.parametrize(
    ("point_mm", "time_s", "cooling", "rise_degC"),
    [
        ((0, 0, 3), 2, COOLING_PER_S, 0.78948853),
        ((0, 0, 3), 8, COOLING_PER_S, 1.0923861),
        ((0, 0, 3), 15, COOLING_PER_S, 0.88432280),
        ((0, 0, 3.5), 8, COOLING_PER_S, 0.67232392),
        ((1, 0, 1), 4, COOLING_PER_S, 3.3874702),
        ((0, 3.5, 1), 8, COOLING_PER_S, 1.6600413),
        ((0, 0, 3), 8, 0, 1.1395714),
        ((1, 0, 1), 8, 0, 2.6905956),
    ],
)
def test_rises_are_those_of_the_double_integral(
    point_mm: tuple[float, float, float], time_s: float, cooling: float, rise_degC: float
) -> None:
    found = SHEET.rise_degC(np.array([0.0, time_s]), np.array([point_mm]), cooling)
    assert found[0, 0] == 0
    assert found[0, 1] == pytest.approx(rise_degC, rel=1e-7)  # the values have eight figures


# Bone under the bottom of the sheet, six cuts at one place, 37 degC at rest, no perfusion: highest temperature with one cut
# and with a cut every 3, 8, 15 and 30 s.
SIX_CUTS = {
    0.5: (39.33, 47.14, 44.02, 42.22, 40.79),
    1.0: (38.16, 43.16, 41.60, 40.43, 39.39),
    1.5: (37.73, 41.10, 40.30, 39.54, 38.77),
    2.0: (37.50, 39.87, 39.44, 38.95, 38.39),
}


@pytest.mark.parametrize("gap_mm", SIX_CUTS)
def test_six_cuts_at_one_place_warm_the_bone_below_as_tabulated(gap_mm: float) -> None:
    times_s = np.arange(0, 400, 0.1)
    once = SHEET.rise_degC(times_s, np.array([[0, 0, 2 + gap_mm]]))[0]
    found = [37 + once.max()]
    for every_s in (3, 8, 15, 30):
        shifted = [np.interp(times_s - k * every_s, times_s, once, left=0) for k in range(6)]
        found.append(37 + sum(shifted).max())
    assert found == pytest.approx(SIX_CUTS[gap_mm], abs=0.006)  # the table has two decimals


def test_the_middle_band_is_calibrated_on_the_width_of_the_denatured_zone() -> None:
    assert (value("heat.source.denatured_mm"), value("heat.source.denaturing_degc")) == (0.15, 65)
    assert unit_heat_mJ_mm2() == pytest.approx(65.6112, rel=1e-5)  # hand arithmetic: 4.132731 * 3.78 * 28 * 0.15


def test_all_heat_of_the_sheet_is_in_the_tissue() -> None:
    """The rise times the capacity, summed over the half space, is the heat laid down: 7 x 2 x 65 mJ."""
    step = 0.25
    axes = [np.arange(-12, 12, step) + step / 2, np.arange(-15, 15, step) + step / 2, np.arange(0, 14, step) + step / 2]
    points = np.stack([axis.ravel() for axis in np.meshgrid(*axes, indexing="ij")], axis=1)
    rise = SHEET.rise_degC(np.array([10.0]), points)
    heat_mJ = rise.sum() * step**3 * value("heat.gingiva.capacity")
    assert heat_mJ == pytest.approx(7 * 2 * 65, rel=1e-3)  # the box ends where the rise is below a thousandth

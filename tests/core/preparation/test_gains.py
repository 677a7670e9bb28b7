"""What changes of a preparation buy and cost."""

from dataclasses import replace

import numpy as np
import pytest

from collum.core.preparation.gains import gains, volume_mm3
from collum.core.preparation.made import PreparationDesign, preparation_mesh

SHORT = PreparationDesign(
    facial_oral_mm=10, mesiodistal_mm=9, height_mm=3, convergence_facial_oral_deg=24, convergence_mesiodistal_deg=20
)


def test_the_volume_is_that_of_the_frustum() -> None:
    """Between two ellipses: H / 6 (A0 + 4 Am + A1), exact for half axes that shrink evenly."""
    at = [np.pi * (5 - z * np.tan(np.deg2rad(12))) * (4.5 - z * np.tan(np.deg2rad(10))) for z in (0, 1.5, 3)]
    made = volume_mm3(preparation_mesh(SHORT, around=400, levels=6))
    assert made == pytest.approx(3 / 6 * (at[0] + 4 * at[1] + at[2]), rel=2e-4)


def test_every_change_buys_resistance_and_says_what_tooth_it_costs() -> None:
    before, found = gains(SHORT)
    bought = {gain.key: gain for gain in found}
    assert set(bought) == {"proximal_grooves", "proximal_boxes", "less_convergence", "more_height"}
    for gain in found:
        assert gain.resistance is not None and gain.gained_mm2 is not None and gain.removed_mm3 is not None
        assert gain.gained_mm2 == pytest.approx(gain.resistance.area_mm2.min() - before.area_mm2.min())
        assert gain.gained_mm2 > 0
    assert bought["more_height"].removed_mm3 == 0
    groove, box = bought["proximal_grooves"], bought["proximal_boxes"]
    # two grooves, 1.2 wide, 1.0 deep at the finish line; the wall leans in by 10, the floor by 2 degrees
    by_hand = 2 * 1.2 * (3 * 1.0 - (np.tan(np.deg2rad(10)) - np.tan(np.deg2rad(2))) * 3**2 / 2)
    assert groove.removed_mm3 == pytest.approx(by_hand, rel=0.05)  # the wall is round, the groove straight
    assert box.removed_mm3 is not None and groove.removed_mm3 is not None and box.removed_mm3 > groove.removed_mm3


def test_grooves_between_the_teeth_hold_against_facial_and_oral_tipping() -> None:
    before, found = gains(SHORT)
    groove = found[0].resistance
    assert groove is not None
    for station in (0, 18):
        assert groove.area_mm2[station] > before.area_mm2[station] + 3  # two side walls of about 3 x 0.8
    assert groove.area_mm2[9] - before.area_mm2[9] < groove.area_mm2[0] - before.area_mm2[0]


def test_less_convergence_keeps_the_top_and_narrows_the_base() -> None:
    _, found = gains(SHORT)
    steeper = found[2].design
    assert steeper is not None
    for name, convergence in (
        ("facial_oral_mm", "convergence_facial_oral_deg"),
        ("mesiodistal_mm", "convergence_mesiodistal_deg"),
    ):
        tops = [getattr(d, name) - 2 * 3 * np.tan(np.deg2rad(getattr(d, convergence) / 2)) for d in (SHORT, steeper)]
        assert tops[0] == pytest.approx(tops[1])
    parallel = gains(replace(SHORT, convergence_facial_oral_deg=4, convergence_mesiodistal_deg=0))[1][2].design
    assert parallel is not None and parallel.convergence_facial_oral_deg == 0 and parallel.convergence_mesiodistal_deg == 0


def test_a_groove_that_does_not_fit_is_said_and_not_made() -> None:
    narrow = PreparationDesign(
        facial_oral_mm=5, mesiodistal_mm=3.0, height_mm=4, convergence_facial_oral_deg=20, convergence_mesiodistal_deg=24
    )
    _, found = gains(narrow)
    box = found[1]
    assert box.cannot and box.design is None and box.resistance is None and box.gained_mm2 is None and box.removed_mm3 is None
    assert not found[3].cannot

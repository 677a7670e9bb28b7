"""Published figures of the ferrule, checks 23 to 27 and worked example 8, and worked example 9 for cut gum.

Sources: Juloski 2012 (read), 1.5 to 2 mm; McLean 1998 (read), wall of 1 mm, sound tooth above the crest; BMC Oral Health 2023,
80 lower premolars (read), the table of strength. Example 9 is derived and holds only for gum that stood above its own height:
healthy gum that is cut comes back.
"""

import numpy as np
import pytest

from collum.core.crown.ferrule import counted_height_mm, ferrule_map, sound_tooth_above_crest_mm, sound_tooth_with_post_mm
from collum.core.crown.form import resistive_share
from collum.core.crown.trade_off import best_gain, fracture_strength_kn
from collum.core.support.support import attached_area_share, crown_to_root, furcation_room_mm
from collum.evidence import get, value

STATIONS = np.arange(0, 360, 10.0)
EVERYWHERE = np.ones(36, dtype=bool)
FIBRE_KN = (0.54, 1.03, 1.06, 0.85, 0.57)
CAST_KN = (0.55, 0.88, 1.08, 1.05, 0.49)
RATIOS = (0.6, 0.8, 0.9, 1.1, 1.3)


@pytest.mark.parametrize(("height_mm", "extent"), [(1.0, "partial"), (1.49, "partial"), (1.5, "all round"), (2.0, "all round")])
def test_check_23_one_millimetre_is_below_the_published_range(height_mm: float, extent: str) -> None:
    low = get("plan.limit.ferrule_mm").low
    found = ferrule_map(STATIONS, np.full(36, height_mm), 2.0, EVERYWHERE, axial_reduction_mm=1.0, wanted_mm=low)
    assert (low, value("plan.limit.ferrule_mm")) == (1.5, 2.0)
    assert found.extent == extent


@pytest.mark.parametrize(("wall_mm", "counted_mm"), [(0.8, 0.0), (0.99, 0.0), (1.0, 2.0)])
def test_check_24_a_wall_under_one_millimetre_counts_for_nothing(wall_mm: float, counted_mm: float) -> None:
    assert float(counted_height_mm(2.0, wall_mm)) == counted_mm


def test_checks_25_and_26_sound_tooth_wanted() -> None:
    assert sound_tooth_above_crest_mm() == 4.5
    assert float(sound_tooth_with_post_mm(8)) == 16.5
    assert float(sound_tooth_with_post_mm(0)) == 8.5


@pytest.mark.parametrize(("post", "strengths_kn"), [("fibre", FIBRE_KN), ("cast", CAST_KN)])
def test_check_27_the_law_is_the_table_on_its_groups(post: str, strengths_kn: tuple[float, ...]) -> None:
    found = fracture_strength_kn(np.arange(5), np.array(RATIOS), post)  # type: ignore[arg-type]  # one of the two words
    assert found == pytest.approx(np.array(strengths_kn), abs=1e-12)
    assert int(np.argmax(found)) == 2
    assert abs(found[4] - found[0]) <= (0.05 if post == "fibre" else 0.0601)  # 0.54, 0.57 and 0.55, 0.49


def test_worked_example_8_the_optimum_and_not_the_most() -> None:
    # A premolar whose ratio goes from 0.6 to 1.3 with 4 mm of bone, as in the tested groups: (0.6 w + 4) / (w - 4) = 1.3.
    in_bone = 4 * (1 + 1.3) / (1.3 - 0.6)
    crown, root, crest = 0.6 * in_bone - 2, in_bone + 2, 2.0
    assert float(crown_to_root(crown, root, crest)) == pytest.approx(0.6)
    assert float(crown_to_root(crown, root, crest, bone_removed_mm=4)) == pytest.approx(1.3)
    none = float(fracture_strength_kn(0, 0.6, "fibre"))
    at_most = float(fracture_strength_kn(4, crown_to_root(crown, root, crest, bone_removed_mm=4), "fibre"))
    assert at_most == pytest.approx(none, abs=0.05)  # read: back to the level without a ferrule
    bone = best_gain(0, crown, root, crest, post="fibre", route="bone")
    extrusion = best_gain(0, crown, root, crest, post="fibre", route="extrusion")
    assert bone is not None and extrusion is not None
    assert 1 <= bone.gain_mm <= 2 and bone.strength_kn > 1.9 * none  # read: about twice
    assert extrusion.crown_to_root < bone.crown_to_root and extrusion.strength_kn >= bone.strength_kn


def test_worked_example_9_gum_above_its_own_height_costs_no_support() -> None:
    # Derived. 2 mm of such gum cut, no bone: the preparation grows, support and furcation have no part in it.
    before, after = float(resistive_share(2.5, 10, 20)), float(resistive_share(4.5, 10, 20))
    assert (before, after) == (pytest.approx(0.316, abs=0.001), pytest.approx(0.620, abs=0.001))
    assert crown_to_root(7.5, 14, 2, bone_removed_mm=0) == crown_to_root(7.5, 14, 2)
    assert attached_area_share(2 / 14, True) == attached_area_share((2 + 0) / 14, True)
    assert furcation_room_mm(3.07, 2, bone_removed_mm=0) == furcation_room_mm(3.07, 2)

"""Published and derived figures of support, checks 33 to 43, 57, 58, 61, 62 and 65.

Sources: Wheeler (lengths: as each key's status says), Hong 2017 and 2018 and Dunlap & Gher 1985 (read), Shillingburg (read),
trunk lengths of 96 lower first molars and of Gher & Dunlap 1985 (read). Ratios and exponents are derived.
"""

import numpy as np
import pytest

from collum.core.support.support import (
    attached_area_share,
    crown_to_root,
    furcation_room_mm,
    grade_crown_to_root,
    lever_mm,
    most_bone_to_remove_mm,
    opposing_force_n,
)
from collum.evidence import get, value

POUND_N = 4.4482216  # pound-force


@pytest.mark.parametrize(
    ("crown_mm", "root_mm", "removed_mm", "ratio"),
    [
        (10.5, 13, 0, 1.136),  # 33: upper central
        (8.5, 14, 0, 0.875),  # 34: premolar
        (7.5, 14, 0, 0.792),  # 35, 36: lower first molar; gum alone leaves it so
        (7.5, 14, 2, 1.15),  # 35: after 2 mm of bone
    ],
)
def test_checks_33_to_36_crown_to_root(crown_mm: float, root_mm: float, removed_mm: float, ratio: float) -> None:
    assert float(crown_to_root(crown_mm, root_mm, 2, bone_removed_mm=removed_mm)) == pytest.approx(ratio, abs=0.001)


@pytest.mark.parametrize(
    ("crown_mm", "root_mm", "ratios", "crest_for_one_mm"),
    [
        (10.5, 13, (0.96, 1.14, 1.35, 1.61), 1.25),
        (9, 13, (0.83, 1.00, 1.20, 1.44), 2.00),
        (10, 17, (0.69, 0.80, 0.93, 1.08), 3.50),
        (8.5, 14, (0.73, 0.88, 1.05, 1.25), 2.75),
        (7.5, 12, (0.77, 0.95, 1.17, 1.44), 2.25),
        (9, 12.5, (0.87, 1.05, 1.26, 1.53), 1.75),
        (8, 14.5, (0.67, 0.80, 0.96, 1.14), 3.25),
        (7.5, 14, (0.65, 0.79, 0.95, 1.15), 3.25),
        (7, 13, (0.67, 0.82, 1.00, 1.22), 3.00),
    ],
)
def test_the_table_of_ratios_by_level_of_the_crest(
    crown_mm: float, root_mm: float, ratios: tuple[float, ...], crest_for_one_mm: float
) -> None:
    assert crown_to_root(crown_mm, root_mm, np.arange(1, 5)) == pytest.approx(np.array(ratios), abs=0.0051)  # two digits
    assert float(most_bone_to_remove_mm(crown_mm, root_mm, 0, 1)) == pytest.approx(crest_for_one_mm)


def test_check_37_most_bone_for_a_ratio_of_one() -> None:
    assert float(most_bone_to_remove_mm(8.5, 14, 2, 1)) == pytest.approx(0.75, abs=0.01)


def test_check_38_loss_of_root_at_which_a_premolar_reaches_one() -> None:
    lost = float(most_bone_to_remove_mm(8.5, 14, 0, 1)) / 14
    assert lost == pytest.approx(0.196, abs=0.001)  # derived from Wheeler
    assert lost == pytest.approx(0.215, abs=0.025)  # measured 0.21 to 0.22 (Hong 2017, read)


@pytest.mark.parametrize(
    ("ratio", "opposing", "grade"),
    [
        (2 / 3, "natural", "optimum"),
        (0.67, "natural", "acceptable"),
        (1.0, "natural", "acceptable"),
        (1.2, "natural", "beyond"),
        (1.2, None, "beyond"),
        (1.2, "denture", "with weak opposing only"),
        (None, "denture", "not assessed"),
        (np.nan, "denture", "not assessed"),
    ],
)
def test_check_39_grade_by_the_textbook(ratio: float | None, opposing: str | None, grade: str) -> None:
    assert grade_crown_to_root(ratio, opposing) == grade  # type: ignore[arg-type]  # words of the case


@pytest.mark.parametrize(
    ("lost_share", "several", "left", "tolerance", "measured", "measured_tolerance"),
    [
        (0.30, False, 0.603, 0.001, 0.600, 0.02),  # 40: 0.594 and 0.605 (Hong 2018, read)
        (0.50, False, 0.374, 0.001, 0.38, 0.02),  # 41
        (0.15, False, 0.794, 0.001, 0.79, 0.02),  # 42
        (6 / 14.4, True, 0.513, 0.005, 0.513, 0.005),  # 43: 48.7 % lost (Dunlap & Gher 1985, read)
    ],
)
def test_checks_40_to_43_attached_area_left(
    lost_share: float, several: bool, left: float, tolerance: float, measured: float, measured_tolerance: float
) -> None:
    found = float(attached_area_share(lost_share, several))
    assert found == pytest.approx(left, abs=tolerance)
    assert found == pytest.approx(measured, abs=measured_tolerance)


@pytest.mark.parametrize(
    ("opposing", "pounds", "newton"), [("natural", 150, 667.2), ("bridge", 54.5, 242.4), ("denture", 26, 115.7)]
)
def test_check_57_forces_of_the_opposing_teeth(opposing: str, pounds: float, newton: float) -> None:
    assert opposing_force_n(opposing) == newton  # type: ignore[arg-type]  # words of the case
    assert pounds * POUND_N == pytest.approx(newton, abs=0.1)


def test_check_58_an_incisor_bites_with_40_to_48_in_100_of_a_molar() -> None:
    share = get("bridge.bite.share.incisor")  # Ferrario et al. 2004 (read), 52 adults
    assert (600 * share.low, 600 * share.high) == (pytest.approx(240, abs=1), pytest.approx(288, abs=1))
    assert share.low < share.value < share.high


def test_no_force_is_made_up_where_the_textbook_gives_none() -> None:
    assert opposing_force_n("implant") is None and opposing_force_n(None) is None


def test_check_61_bone_that_bares_the_furcation_of_a_lower_first_molar() -> None:
    trunk = value("tooth.lower6.trunk_facial_mm")
    assert trunk == 3.07
    assert float(furcation_room_mm(trunk, 2.0)) == pytest.approx(1.07, abs=0.01)
    assert float(furcation_room_mm(trunk, 2.0, bone_removed_mm=1.5)) == pytest.approx(-0.43, abs=0.01)


def test_check_62_entrances_of_the_upper_first_molar() -> None:
    trunks = {side: value(f"tooth.upper6.trunk_{side}_mm") for side in ("mesial", "facial", "distal")}
    assert trunks == {"mesial": 3.6, "facial": 4.2, "distal": 4.8}


@pytest.mark.parametrize(("kind", "whole_mm"), [("upper1", 23.5), ("upper3", 27.0), ("lower3", 27.0)])
def test_check_65_whole_lengths(kind: str, whole_mm: float) -> None:
    assert value(f"tooth.{kind}.crown_length_mm") + value(f"tooth.{kind}.root_length_mm") == whole_mm


def test_the_lever_reaches_to_the_middle_of_the_root_in_bone() -> None:
    assert float(lever_mm(7.5, 14, 2)) == 15.5  # derived: 9.5 out of bone and half of 12
    assert float(lever_mm(7.5, 14, 2, bone_removed_mm=2)) == 16.5

"""Published figures of bridges and the arithmetic on them: bending, areas of roots under each table, the worked examples.

Sources: Shillingburg et al., Fundamentals of Fixed Prosthodontics, ch. 7 (bending, read); Ante 1926 (rule, read second hand);
Jepsen 1963, Boyd in Tylman, Freeman 1965 (areas, from memory); Mowry et al. 2002 (areas, read); Hong et al. 2018, Dunlap and
Gher 1985 (attached area after loss of bone, read, the exponents fitted).
"""

import pytest

from collum.core.bridge.beam import Section, simple_span_deflection_mm
from collum.core.bridge.rules import Abutment, AreaRatio, AreaVerdict, area_ratio, bending_factor, root_area_mm2
from collum.core.crown.form import resistive_share
from collum.core.support.support import attached_area_share
from collum.evidence import get

SECTION = Section(height_mm=3, width_mm=4)


def ratio_of(abutments: str, missing: str) -> AreaRatio:
    return area_ratio([Abutment(kind=kind(tooth)) for tooth in abutments.split()], [kind(tooth) for tooth in missing.split()])


def kind(tooth: str) -> str:
    return {"U": "upper", "L": "lower"}[tooth[0]] + tooth[1]


@pytest.mark.parametrize(("pontics", "factor"), [(1, 1), (2, 8), (3, 27)])
def test_44_one_two_and_three_pontics_bend_1_8_and_27_times(pontics: int, factor: int) -> None:
    """Read: Shillingburg ch. 7."""
    assert bending_factor(pontics) == factor


def test_45_half_the_thickness_bends_eight_times() -> None:
    """Read: Shillingburg ch. 7."""
    assert bending_factor(1, 0.5) == 8


def test_46_two_pontics_of_twice_the_thickness_bend_as_one() -> None:
    """Derived."""
    assert bending_factor(2, 2) == 1


@pytest.mark.parametrize(
    ("length_mm", "modulus_mpa", "deflection_mm", "tolerance"),
    [(10, 200_000, 0.003472, 1e-5), (20, 200_000, 0.02778, 1e-4), (10, 100_000, 0.00694, 1e-5)],
    ids=["47", "48", "49"],
)
def test_47_to_49_a_span_on_two_edges(length_mm: float, modulus_mpa: float, deflection_mm: float, tolerance: float) -> None:
    """Derived: F L3 / (48 E I), 300 N, width 4 mm, height 3 mm."""
    assert simple_span_deflection_mm(300, length_mm, modulus_mpa, SECTION) == pytest.approx(deflection_mm, abs=tolerance)


def test_50_one_lower_molar_between_its_neighbours_is_met_by_every_table() -> None:
    """From memory, derived: 633 / 431 by Jepsen."""
    found = ratio_of("L5 L7", "L6")
    assert found.ratios["jepsen"] == pytest.approx(1.469, abs=0.001)
    assert found.verdict == "met"


def test_51_lower_premolar_and_molar_are_below_in_every_table() -> None:
    """From memory, derived: 606 / 638 by Jepsen, 0.846 by Boyd."""
    found = ratio_of("L4 L7", "L5 L6")
    assert found.ratios["jepsen"] == pytest.approx(0.950, abs=0.001)
    assert found.ratios["boyd"] == pytest.approx(0.846, abs=0.001)
    assert found.verdict == "below"


def test_52_upper_premolar_and_molar_depend_on_the_table() -> None:
    """From memory, derived: 1.018 by Jepsen, 0.886 by Boyd."""
    found = ratio_of("U4 U7", "U5 U6")
    assert found.ratios["jepsen"] == pytest.approx(1.018, abs=0.001)
    assert found.ratios["boyd"] == pytest.approx(0.886, abs=0.001)
    assert found.verdict == "table_dependent"


def test_53_three_upper_back_teeth_are_below_in_every_table() -> None:
    """From memory, derived: 0.794 by Jepsen."""
    found = ratio_of("U3 U7", "U4 U5 U6")
    assert found.ratios["jepsen"] == pytest.approx(0.794, abs=0.001)
    assert found.verdict == "below"


def test_54_four_upper_incisors_on_canines_alone_and_with_the_premolars() -> None:
    """From memory, derived: 0.713 and 1.324 by Jepsen."""
    assert ratio_of("U3 U3", "U2 U1 U1 U2").ratios["jepsen"] == pytest.approx(0.713, abs=0.001)
    assert ratio_of("U4 U3 U3 U4", "U2 U1 U1 U2").ratios["jepsen"] == pytest.approx(1.324, abs=0.001)


def test_55_abutments_that_lost_bone_fall_below_though_both_still_stand() -> None:
    """Worked example 10, from memory and derived: lower second premolar half lost, second molar three tenths."""
    premolar = Abutment(kind="lower5", attached_share=float(attached_area_share(0.5, multirooted=False)))
    molar = Abutment(kind="lower7", attached_share=float(attached_area_share(0.3, multirooted=True)))
    found = area_ratio([premolar, molar], ["lower6"])
    assert found.ratios["jepsen"] == pytest.approx(0.815, abs=0.005)
    assert ratio_of("L5 L7", "L6").ratios["jepsen"] == pytest.approx(1.47, abs=0.005)
    assert found.verdict == "below"


@pytest.mark.parametrize(("tooth", "area_mm2"), [("lower3", 275.88), ("lower4", 251.45), ("lower5", 271.81)])
def test_56_the_areas_of_mowry(tooth: str, area_mm2: float) -> None:
    """Read: Mowry et al. 2002, J Periodontol 73:1095."""
    assert root_area_mm2(tooth, "mowry") == area_mm2
    assert get(f"bridge.root_area.mowry.{tooth}_mm2").status == "read"


# Derived from the three tables (all from memory): missing, abutments, Jepsen, Boyd, Freeman.
CHECKED = [
    ("U2", "U1 U3", 2.66, 3.06, 2.64),
    ("U3", "U2 U4", 1.51, 1.28, 1.79),
    ("U6", "U5 U7", 1.50, 1.23, 1.32),
    ("U4 U5", "U3 U6", 1.56, 1.87, 1.44),
    ("U5 U6", "U4 U7", 1.02, 0.89, 0.97),
    ("U4 U5 U6", "U3 U7", 0.79, 0.76, 0.67),
    ("U3 U2", "U1 U4", 0.97, 0.91, 1.14),
    ("U2 U1 U1 U2", "U3 U3", 0.71, 0.81, 0.67),
    ("U2 U1 U1 U2", "U4 U3 U3 U4", 1.32, 1.41, 1.40),
    ("L6", "L5 L7", 1.47, 1.18, 1.45),
    ("L5 L6", "L4 L7", 0.95, 0.85, 0.96),
    ("L5 L6", "L3 L4 L7", 1.37, 1.17, 1.34),
    ("L4 L5 L6", "L3 L7", 0.85, 0.71, 0.76),
    ("L1 L1", "L2 L2", 1.09, 1.20, 1.18),
    ("L2 L1 L1 L2", "L3 L3", 0.83, 0.70, 0.73),
]


@pytest.mark.parametrize(
    ("missing", "abutments", "jepsen", "boyd", "freeman"), CHECKED, ids=[f"{m} on {a}" for m, a, *_ in CHECKED]
)
def test_the_table_of_ratios(missing: str, abutments: str, jepsen: float, boyd: float, freeman: float) -> None:
    ratios = ratio_of(abutments, missing).ratios
    for table, expected in (("jepsen", jepsen), ("boyd", boyd), ("freeman", freeman)):
        assert ratios[table] == pytest.approx(expected, abs=0.006)  # type: ignore[index]


def test_every_old_table_is_from_memory() -> None:
    for table in ("jepsen", "boyd", "freeman"):
        assert {get(f"bridge.root_area.{table}.{jaw}{n}_mm2").status for jaw in ("upper", "lower") for n in range(1, 8)} == {
            "memory"
        }


# Worked examples 1 to 6: teaching cases; the range is that over the tables.
EXAMPLES: list[tuple[str, str, str, AreaVerdict, float, float, int]] = [
    ("1 a single gap, lower first molar", "L5 L7", "L6", "met", 1.18, 1.50, 1),
    ("2 premolar and molar", "L4 L7", "L5 L6", "below", 0.85, 1.02, 8),
    ("2 the same with the canine", "L3 L4 L7", "L5 L6", "met", 1.17, 1.37, 8),
    ("3 premolars and molar", "L3 L7", "L4 L5 L6", "below", 0.67, 0.85, 27),
    ("3 in the upper jaw", "U3 U7", "U4 U5 U6", "below", 0.67, 0.85, 27),
    ("4 canine and lateral", "U1 U4", "U3 U2", "table_dependent", 0.91, 1.14, 8),
    ("5 upper incisors on canines", "U3 U3", "U2 U1 U1 U2", "below", 0.67, 0.81, 64),
    ("5 with the premolars", "U4 U3 U3 U4", "U2 U1 U1 U2", "met", 1.32, 1.41, 64),
    ("6 lower incisors on canines", "L3 L3", "L2 L1 L1 L2", "below", 0.70, 0.83, 64),
]


@pytest.mark.parametrize(
    ("abutments", "missing", "verdict", "low", "high", "bends"), [row[1:] for row in EXAMPLES], ids=[row[0] for row in EXAMPLES]
)
def test_worked_examples_1_to_6(
    abutments: str, missing: str, verdict: AreaVerdict, low: float, high: float, bends: int
) -> None:
    found = ratio_of(abutments, missing)
    assert found.verdict == verdict
    assert all(low - 0.006 <= ratio <= high + 0.006 for ratio in found.ratios.values())
    assert bending_factor(len(missing.split())) == bends


def test_worked_example_7_on_the_facets_agrees_with_the_section() -> None:
    """B 10, H 3, convergence 26.7: share 0.251 in the section, and on the facets of the made preparation."""
    from collum.core.preparation.gains import gains
    from collum.core.preparation.made import PreparationDesign

    design = PreparationDesign(
        facial_oral_mm=10, mesiodistal_mm=10, height_mm=3, convergence_facial_oral_deg=26.7, convergence_mesiodistal_deg=26.7
    )
    before, changes = gains(design)
    assert float(resistive_share(3, 10, 26.7)) == pytest.approx(0.251, abs=0.001)
    assert before.share_in_section[0] == pytest.approx(0.251, abs=0.005)  # a polygon of 72 corners
    assert all(change.gained_mm2 is not None and change.gained_mm2 > 0 for change in changes)

"""Published figures of posts and pins, checks 28 to 32, 59 and 60.

Sources: Morgano 1996 and Ricketts 2005 (read), seal of 4 to 5 mm; Baba 2013 (read), molars and diameters; McLean 1998 (read),
dentine of 1 mm; a third of the root from memory; teaching pages on pins (read).
"""

import numpy as np
import pytest

from collum.core.post.pins import PinDistances, least_spacing_mm, pin_lengths, pin_sizes_mm, pin_verdicts, pins_wanted
from collum.core.post.post import PostSite, post_window
from collum.core.post.post_diameter import post_diameter
from collum.evidence import get, value


def test_check_28_a_root_of_14_mm_takes_at_most_9_mm() -> None:
    window = post_window(PostSite(jaw="upper", position=1, root="single", root_mm=14, finish_line_mm=0))
    assert window.high_mm == 9.0


def test_check_29_a_palatal_root_of_13_mm_is_capped_at_7_mm() -> None:
    window = post_window(PostSite(jaw="upper", position=6, root="oral", root_mm=13, finish_line_mm=0))
    lengths = {rule.name: rule.length_mm for rule in window.rules}
    assert lengths["apical_seal"] == 8.0
    assert window.high_mm == 7.0


@pytest.mark.parametrize(
    ("jaw", "root", "allowed"),
    [("lower", "mesial", False), ("lower", "distal", True), ("upper", "facial", False), ("upper", "oral", True)],
)
def test_check_30_molar_roots_that_take_a_post(jaw: str, root: str, allowed: bool) -> None:
    window = post_window(PostSite(jaw=jaw, position=6, root=root))  # type: ignore[arg-type]  # words of the table
    assert (window.status != "no post") is allowed
    assert (window.reason is None) is allowed


@pytest.mark.parametrize(
    ("jaw", "position", "most_mm"),
    [
        ("lower", 1, 0.6),
        ("lower", 2, 0.6),
        ("upper", 1, 1.1),
        ("upper", 3, 1.0),
        ("lower", 3, 1.0),
        ("upper", 2, 0.9),
        *((jaw, position, 0.9) for jaw in ("upper", "lower") for position in (4, 5, 6, 7)),
    ],
)
def test_check_31_greatest_diameter_by_tooth(jaw: str, position: int, most_mm: float) -> None:
    # A root wide enough for every other rule, so that the table decides.
    found = post_diameter(jaw, position, tip_depth_mm=9, root_mm=14, width_at_tip_mm=9.0)  # type: ignore[arg-type]
    assert (found.most_mm, found.by) == (most_mm, "table")


@pytest.mark.parametrize(("width_mm", "third_mm", "wall_mm", "most_mm"), [(3.0, 1.0, 1.0, 1.0), (2.4, 0.8, 0.4, 0.4)])
def test_check_32_a_third_of_the_root_and_a_wall_of_1_mm(
    width_mm: float, third_mm: float, wall_mm: float, most_mm: float
) -> None:
    assert value("post.width_share") * width_mm == pytest.approx(third_mm, abs=0.01)  # derived
    assert width_mm - 2 * value("post.dentine_mm") == pytest.approx(wall_mm, abs=0.01)
    found = post_diameter("upper", 1, tip_depth_mm=9, root_mm=14, width_at_tip_mm=width_mm)
    assert found.most_mm == pytest.approx(most_mm, abs=0.01)
    assert found.dentine_left_mm == pytest.approx((width_mm - most_mm) / 2, abs=0.01)


def test_check_59_a_pin_too_near_the_surface_but_not_the_enamel() -> None:
    unknown = np.array([np.nan])
    one = PinDistances(surface_mm=np.array([0.9]), enamel_junction_mm=np.array([0.6]), pulp_mm=unknown, other_pin_mm=unknown)
    (verdict,) = pin_verdicts(one, "threaded", value("pin.diameter.large_mm"))
    assert (verdict.enamel_junction, verdict.surface, verdict.pulp) == ("enough", "short", "not assessed")


def test_check_60_sizes_of_pins() -> None:
    assert pin_sizes_mm() == (0.38, 0.48, 0.61, 0.79)
    for inch, mm in zip((0.015, 0.019, 0.024, 0.031), pin_sizes_mm(), strict=True):
        assert inch * 25.4 == pytest.approx(mm, abs=0.005)  # two digits


def test_depth_spacing_and_number_of_pins_by_kind() -> None:
    lengths = {kind: pin_lengths(kind) for kind in ("threaded", "cemented", "friction")}  # type: ignore[arg-type]
    assert {k: (v.in_dentine_mm, v.in_material_mm) for k, v in lengths.items()} == {
        "threaded": (2, 2),
        "cemented": (3, 2),
        "friction": (3, 3),
    }
    assert least_spacing_mm("cemented", 0.6) == 2 and least_spacing_mm("friction", 0.6) == 4
    assert least_spacing_mm("threaded", 0.48) == 3 and least_spacing_mm("threaded", 0.61) == 5
    assert pins_wanted(2, 1) == 2 and pins_wanted(0, 1) == 1 and pins_wanted(0, 0) == 0


def test_how_the_rules_of_a_post_are_known_is_what_the_record_says() -> None:
    assert {key: get(f"post.{key}").status for key in ("apical_seal_mm", "molar_most_mm", "root_share", "width_share")} == {
        "apical_seal_mm": "read",
        "molar_most_mm": "read",
        "root_share": "common_practice",
        "width_share": "memory",
    }

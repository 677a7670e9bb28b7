"""How an abutment gives way, where units stand, what they bear in every load case at low, middle and high stiffness."""

import numpy as np
import pytest
from scipy.integrate import quad

from collum.core.bridge.abutment import arch_places_mm, bite_n, giving_way, load_cases, span_of, support_of_root
from collum.core.bridge.beam import Section
from collum.core.bridge.loads import Carried, carried
from collum.evidence import get, value

SECTION = Section(height_mm=4, width_mm=3.5)


def test_a_root_by_hand() -> None:
    """E 50 MPa, nu 0.49, t 0.2 mm, 200 mm2: G 16.779 MPa, k 16,779 N/mm; L 12: sides (50 + 16.779) 1000 / 2 12 = 400,671."""
    found = support_of_root(200, 12, 50)
    assert found.vertical_n_per_mm == pytest.approx(16_779, rel=1e-4)
    radius = 200 / (2 * np.pi * 12)
    assert found.tilt_nmm_per_rad == pytest.approx(400_671 + 16_779 * radius**2 / 2, rel=1e-4)


def test_a_root_by_integrals_over_its_surface() -> None:
    """A cylinder in a thin layer: the pressed part E cos2, the sheared part G sin2 of a push sideways, over height squared."""
    area, length, modulus = 240.0, 13.0, 40.0
    thickness, shear = value("bridge.ligament.thickness_mm"), modulus / (2 * (1 + value("bridge.ligament.poisson")))
    radius = area / (2 * np.pi * length)
    around = quad(lambda p: modulus * np.cos(p) ** 2 + shear * np.sin(p) ** 2, 0, 2 * np.pi)[0]
    sides = around * radius / thickness * quad(lambda z: z**2, -length / 2, length / 2)[0]
    along = shear / thickness * length * quad(lambda p: (radius * np.cos(p)) ** 2 * radius, 0, 2 * np.pi)[0]
    assert support_of_root(area, length, modulus).tilt_nmm_per_rad == pytest.approx(sides + along, rel=1e-9)


@pytest.mark.parametrize(("area", "length", "modulus"), [(0, 12, 50), (200, -1, 50), (200, 12, 0), (np.nan, 12, 50)])
def test_no_area_length_or_modulus_is_refused(area: float, length: float, modulus: float) -> None:
    with pytest.raises(ValueError, match="above 0"):
        support_of_root(area, length, modulus)


def test_low_middle_and_high_are_the_ends_of_what_is_published() -> None:
    found, record = giving_way("lower6", 1, 12), get("bridge.ligament.modulus_mpa")
    assert found.low == support_of_root(352, 12, record.low)  # Boyd
    assert found.middle == support_of_root(431, 12, record.value)  # Jepsen
    assert found.high == support_of_root(475, 12, record.high)  # Freeman
    assert giving_way("lower8", 1, 9).low.vertical_n_per_mm < giving_way("lower8", 1, 9).high.vertical_n_per_mm
    with pytest.raises(ValueError, match="no table"):
        giving_way("lower9", 1, 12)


def test_half_the_attachment_gives_way_twice_as_much() -> None:
    whole, half = giving_way("upper5", 1, 12).middle, giving_way("upper5", 0.5, 12).middle
    assert half.vertical_n_per_mm == pytest.approx(whole.vertical_n_per_mm / 2)


def test_places_lie_on_the_arch_at_their_length_from_the_midline() -> None:
    radius = value("bridge.arch.lower_front_radius_mm")
    for place, along in zip(arch_places_mm([5, 5.5, 7, 7, 7, 11], 0, "lower"), [2.5, 7.75, 14, 21, 28, 37], strict=True):
        assert place[1] == pytest.approx(place[0] ** 2 / (2 * radius))
        assert quad(lambda x: np.hypot(1, x / radius), 0, place[0])[0] == pytest.approx(along, rel=1e-9)


def test_an_average_arch_is_about_as_wide_as_arches_are() -> None:
    """Choice: widths between canines and between first molars in the region of 30 and 50 mm; no source claimed."""
    canine, molar = arch_places_mm([8.5, 6.5, 7.5, 7, 7, 10], 0, "upper")[[2, 5]]
    assert 28 < 2 * canine[0] < 36
    assert 44 < 2 * molar[0] < 56


def test_bites_rise_backward_and_the_incisor_has_its_published_share() -> None:
    """Ferrario 2004: 40 to 48 % of the largest; Waltimo and Kononen 1993: 847 N on molars of men."""
    bites = [bite_n(position) for position in range(1, 9)]
    assert bites == sorted(bites)
    assert bites[5] == 847
    assert 0.40 <= bites[0] / bites[5] <= 0.48


def test_load_cases_are_a_bite_on_each_unit_and_chewing_on_all() -> None:
    cases = load_cases([5, 6, 7])
    assert [(case.key, case.unit) for case in cases] == [("bite", 0), ("bite", 1), ("bite", 2), ("chewing", None)]
    assert cases[1].loads_n.tolist() == [0, 847, 0]
    assert cases[3].loads_n.sum() == pytest.approx(225)


def single_gap(premolar: float = 1.0) -> Carried:
    return carried(
        [[0, 0], [9, 0], [19.5, 0]],
        [giving_way("lower5", premolar, 12), None, giving_way("lower7", 1, 10)],
        [SECTION] * 2,
        "metal_ceramic",
        [5, 6, 7],
    )


def test_a_bridge_in_every_load_case_at_every_stiffness() -> None:
    found = single_gap()
    assert found.stress_mpa.shape == (3, 4, 2) and found.share.shape == (3, 4, 3)
    assert found.imbalance < 1e-9
    assert found.share.sum(axis=2) == pytest.approx(np.ones((3, 4)))
    assert np.all(found.share[:, :, 1] == 0)
    assert np.all(found.deflection_mm[0, 1] > found.deflection_mm[2, 1])  # soft against stiff
    assert found.worst_stress_mpa().shape == (3, 2)


def test_the_abutment_that_lost_bone_bears_less_and_the_other_more() -> None:
    whole, weak = single_gap().share[:, 1], single_gap(0.4).share[:, 1]
    assert np.all(weak[:, 0] < whole[:, 0])
    assert np.all(weak[:, 2] > whole[:, 2])


def test_a_second_abutment_behind_the_first_is_pulled_by_a_hanging_unit() -> None:
    found = carried(
        [[0, 0], [8, 0], [15, 0]],
        [giving_way("lower4", 1, 12), giving_way("lower5", 1, 12), None],
        [SECTION] * 2,
        "monolithic_zirconia",
        [4, 5, 6],
    )
    assert [index for index, _ in found.pulled()] == [0]
    assert found.share[0, 2, 0] < 0  # soft sockets: the first is lifted as the second sinks


def test_a_curved_front_twists_and_a_straight_side_does_not() -> None:
    places = arch_places_mm([7.5, 6.5, 8.5, 8.5, 6.5, 7.5], -22.5, "upper")
    canine = giving_way("upper3", 1, 14)
    front = carried(places, [canine, None, None, None, None, canine], [SECTION] * 5, "metal_ceramic", [3, 2, 1, 1, 2, 3])
    assert np.abs(front.torque_nmm).max() > 100
    assert np.abs(single_gap().torque_nmm).max() < 1e-6
    mirrored = carried(
        places * [-1, 1], [canine, None, None, None, None, canine], [SECTION] * 5, "metal_ceramic", [3, 2, 1, 1, 2, 3]
    )
    assert mirrored.stress_mpa == pytest.approx(front.stress_mpa, rel=1e-9)


def test_a_span_takes_modulus_and_stiffness_from_the_registry() -> None:
    giving = giving_way("upper3", 1, 14)
    span = span_of([[0, 0], [8, 0]], [giving, None], [SECTION], "lithium_disilicate", "high")
    assert span.modulus_mpa == 104_000
    assert span.supports == (giving.high, None)

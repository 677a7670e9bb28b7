"""Pins on the cross-section: distances against plain geometry, limits at their value, unknown outlines left open."""

import numpy as np
import pytest
from hypothesis import given
from hypothesis import strategies as st

from collum.core.post.pins import least_spacing_mm, pin_distances, pin_lengths, pin_verdicts

SQUARE = np.array([[-4.0, -3.0], [4.0, -3.0], [4.0, 3.0], [-4.0, 3.0]])
PULP = np.array([[-1.0, -1.0], [1.0, -1.0], [1.0, 1.0], [-1.0, 1.0]])


def circle(radius: float, corners: int = 720) -> np.ndarray:
    turn = np.linspace(0, 2 * np.pi, corners, endpoint=False)
    return radius * np.stack([np.cos(turn), np.sin(turn)], axis=1)


def test_distances_in_a_box() -> None:
    found = pin_distances([[2.5, 0.0], [-2.5, 0.0]], 0.6, SQUARE, pulp_mm=PULP)
    assert found.surface_mm == pytest.approx([1.2, 1.2])
    assert found.pulp_mm == pytest.approx([1.2, 1.2])
    assert found.other_pin_mm == pytest.approx([5.0, 5.0])
    assert np.isnan(found.enamel_junction_mm).all()


def test_a_pin_outside_the_tooth_or_in_the_pulp_has_less_than_nothing() -> None:
    found = pin_distances([[4.5, 0.0], [0.5, 0.0]], 0.6, SQUARE, pulp_mm=PULP)
    assert found.surface_mm[0] == pytest.approx(-0.8) and found.pulp_mm[1] == pytest.approx(-0.8)


@given(st.floats(0, 5.5), st.floats(0, 6.28), st.booleans())
def test_distances_in_a_circle_turned_and_run_either_way(radius: float, turn: float, backwards: bool) -> None:
    rim = circle(5)[:: -1 if backwards else 1]
    found = pin_distances([[radius * np.cos(turn), radius * np.sin(turn)]], 0.0, rim)
    # The chords of 720 corners lie within 5 (1 - cos(pi/720)) of the circle: 0.00005.
    assert float(found.surface_mm[0]) == pytest.approx(5 - radius, abs=1e-4)


def test_an_hourglass_neck_is_followed() -> None:
    waist = np.array([[-4.0, -3.0], [0.0, -1.0], [4.0, -3.0], [4.0, 3.0], [0.0, 1.0], [-4.0, 3.0]])
    found = pin_distances([[0.0, 0.0], [3.0, 0.0], [0.0, 2.0]], 0.0, waist)
    assert found.surface_mm[0] == 1.0  # the waist
    assert found.surface_mm[1] == pytest.approx(1.0)
    assert found.surface_mm[2] == pytest.approx(-2 / np.sqrt(5))  # to the lines y = 1 + x / 2 and y = 1 - x / 2


@pytest.mark.parametrize(("x_mm", "surface"), [(2.69, "enough"), (2.71, "short")])
def test_a_verdict_turns_at_its_limit(x_mm: float, surface: str) -> None:
    (verdict,) = pin_verdicts(pin_distances([[x_mm, 0.0]], 0.61, SQUARE), "threaded", 0.61)
    assert verdict.surface == surface
    assert (verdict.enamel_junction, verdict.pulp, verdict.spacing) == ("not assessed", "not assessed", "enough")


@pytest.mark.parametrize(("apart_mm", "spacing"), [(4.99, "short"), (5.0, "enough")])
def test_pins_keep_their_distance(apart_mm: float, spacing: str) -> None:
    found = pin_distances([[-apart_mm / 2, 0.0], [apart_mm / 2, 0.0]], 0.61, circle(9))
    assert {verdict.spacing for verdict in pin_verdicts(found, "threaded", 0.61)} == {spacing}
    assert {verdict.spacing for verdict in pin_verdicts(found, "cemented", 0.61)} == {"enough"}
    assert least_spacing_mm("friction", 0.61) == 4


def test_the_core_covers_the_pin() -> None:
    assert pin_lengths("friction").core_mm == 5 and pin_lengths("threaded").core_mm == 4


def test_an_outline_needs_three_corners() -> None:
    with pytest.raises(ValueError, match="2 corners encloses nothing"):
        pin_distances([[0.0, 0.0]], 0.6, SQUARE[:2])

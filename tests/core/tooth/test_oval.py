"""The oval of the neck against the circle, the complete elliptic integral, a fine polygon and itself."""

import numpy as np
import pytest
from scipy.special import ellipe

from collum.core import tooth

TEETH = (11, 12, 16, 31, 36, 44)
STATIONS_DEG = np.arange(0, 360, 10.0)


def test_a_neck_of_equal_diameters_is_a_circle() -> None:
    size = tooth.dimensions(22)
    assert size.md_cervix_mm == size.bl_cervix_mm == 5.0
    np.testing.assert_allclose(tooth.cervical_radius_mm(22, STATIONS_DEG), 2.5, rtol=1e-14)
    np.testing.assert_allclose(tooth.arc_mm(22, STATIONS_DEG), 2.5 * np.deg2rad(STATIONS_DEG), rtol=1e-13, atol=1e-13)
    assert tooth.perimeter_mm(22) == pytest.approx(5 * np.pi, rel=1e-14)


@pytest.mark.parametrize("number", TEETH)
def test_the_radius_at_facial_and_mesial_is_half_the_diameter(number: int) -> None:
    size = tooth.dimensions(number)
    radius = tooth.cervical_radius_mm(number, np.array([0.0, 90, 180, 270]))
    facial, mesial = size.bl_cervix_mm / 2, size.md_cervix_mm / 2
    np.testing.assert_allclose(radius, [facial, mesial, facial, mesial], rtol=1e-14)


@pytest.mark.parametrize("number", TEETH)
def test_every_point_lies_on_the_ellipse_at_its_polar_angle(number: int) -> None:
    facial, mesial = tooth.half_axes_mm(number)
    towards_facial, towards_mesial = tooth.point_mm(number, STATIONS_DEG).T
    np.testing.assert_allclose((towards_facial / facial) ** 2 + (towards_mesial / mesial) ** 2, 1, rtol=1e-13)
    np.testing.assert_allclose(np.rad2deg(np.arctan2(towards_mesial, towards_facial)) % 360, STATIONS_DEG, atol=1e-10)


@pytest.mark.parametrize("number", TEETH)
def test_the_perimeter_is_the_complete_elliptic_integral_of_the_long_axis(number: int) -> None:
    short, long = sorted(tooth.half_axes_mm(number))
    assert tooth.perimeter_mm(number) == pytest.approx(4 * long * ellipe(1 - (short / long) ** 2), rel=1e-13)


@pytest.mark.parametrize("number", TEETH)
def test_the_arc_is_the_length_of_a_fine_polygon(number: int) -> None:
    fine = np.linspace(0, 360, 36001)
    steps = np.linalg.norm(np.diff(tooth.point_mm(number, fine), axis=0), axis=1)
    length = np.concatenate([[0], np.cumsum(steps)])
    # A chord of 0.01 degrees is shorter than its arc by 1e-9 of it.
    np.testing.assert_allclose(tooth.arc_mm(number, fine[::1000]), length[::1000], rtol=1e-7, atol=1e-9)


@pytest.mark.parametrize("number", TEETH)
def test_a_whole_turn_is_the_perimeter_and_quarters_are_equal(number: int) -> None:
    quarters = tooth.arc_mm(number, np.array([0.0, 90, 180, 270, 360, 720, -90]))
    np.testing.assert_allclose(quarters, tooth.perimeter_mm(number) * np.array([0, 0.25, 0.5, 0.75, 1, 2, -0.25]), rtol=1e-12)


@pytest.mark.parametrize("number", TEETH)
def test_the_arc_grows_without_a_jump(number: int) -> None:
    facial, mesial = tooth.half_axes_mm(number)
    steps = np.diff(tooth.arc_mm(number, np.arange(-360, 721, 1.0)))
    assert steps.min() > 0
    assert steps.max() < 1.5 * max(facial, mesial) ** 2 / min(facial, mesial) * np.deg2rad(1)

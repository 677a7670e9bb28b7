"""The facets against closed forms: cones, oval cones, boxes, tilted and uneven finish lines, grooves."""

from dataclasses import replace

import numpy as np
import pytest
from hypothesis import given, settings
from hypothesis import strategies as st
from numpy.typing import ArrayLike, NDArray
from scipy.integrate import quad
from scipy.optimize import brentq, minimize_scalar

from collum.core.preparation.facet_resistance import Resistance, least_all_round, resistance
from collum.core.preparation.made import Groove, PreparationDesign, preparation_mesh

CONE = PreparationDesign(
    facial_oral_mm=10, mesiodistal_mm=10, height_mm=4, convergence_facial_oral_deg=20, convergence_mesiodistal_deg=20
)
OVAL = PreparationDesign(
    facial_oral_mm=9, mesiodistal_mm=6, height_mm=4, convergence_facial_oral_deg=12, convergence_mesiodistal_deg=18
)
TILTED = replace(CONE, tilt_deg=8, tilt_towards_deg=30)
UNEVEN = replace(OVAL, proximal_rise_mm=1.2)
BOX = replace(OVAL, outline="box")
WITHIN = 0.005  # what the issue asks for at 20,000 facets


def measured(design: PreparationDesign, towards_deg: float, around: int = 200, levels: int = 49) -> Resistance:
    """200 x 49 x 2 + 200 = 19,800 facets by default."""
    return resistance(preparation_mesh(design, around=around, levels=levels), (1, 0, 0), (0, 1, 0), [towards_deg])


class Wall:
    """The same surface as formulas: points, what it resists by a quadrature over the angle of the ellipse."""

    def __init__(self, design: PreparationDesign) -> None:
        self.d = design
        self.tan_a = np.tan(np.deg2rad(design.convergence_facial_oral_deg / 2))
        self.tan_b = np.tan(np.deg2rad(design.convergence_mesiodistal_deg / 2))

    def point(self, t: float, z: ArrayLike) -> NDArray[np.float64]:
        height = np.asarray(z, dtype=float)
        a, b = self.d.facial_oral_mm / 2 - height * self.tan_a, self.d.mesiodistal_mm / 2 - height * self.tan_b
        return np.stack([a * np.cos(t), b * np.sin(t), height], axis=-1)

    def normal(self, t: float, z: ArrayLike) -> NDArray[np.float64]:
        """Square to the surface, as long as the area it stands for."""
        height = np.asarray(z, dtype=float)
        a, b = self.d.facial_oral_mm / 2 - height * self.tan_a, self.d.mesiodistal_mm / 2 - height * self.tan_b
        around = np.stack([-a * np.sin(t), b * np.cos(t), 0 * height], axis=-1)
        return np.cross(around, [-self.tan_a * np.cos(t), -self.tan_b * np.sin(t), 1])

    def margin(self, t: float) -> float:
        towards = np.deg2rad(self.d.tilt_towards_deg)

        def miss(z: float) -> float:
            x, y, _ = self.point(t, z)
            slope = np.tan(np.deg2rad(self.d.tilt_deg)) * (x * np.cos(towards) + y * np.sin(towards))
            return float(slope + self.d.proximal_rise_mm * y**2 / (x**2 + y**2) - z)

        return float(brentq(miss, -3, 3, xtol=1e-13))

    def resistive_area(self, towards_deg: float) -> float:
        onward = np.array([np.cos(np.deg2rad(towards_deg)), np.sin(np.deg2rad(towards_deg)), 0])
        near = np.deg2rad(towards_deg)
        foremost = minimize_scalar(
            lambda t: -float(self.point(t, self.margin(t)) @ onward),
            bounds=(near - 1, near + 1),
            method="bounded",
            options={"xatol": 1e-10},
        ).x
        pivot = self.point(foremost, self.margin(foremost))
        axis = np.cross([0, 0, 1], onward)

        def strip(t: float) -> float:
            """Length up the wall at t that resists, above its blind height, and below a pivot that is higher than its foot"""
            heights = np.linspace(self.margin(t), self.d.height_mm, 401)
            square = self.normal(t, heights)
            moved = np.sum(np.cross(axis, self.point(t, heights) - pivot) * square, axis=1)
            size = np.linalg.norm(square, axis=1)
            low, high = np.minimum(moved[:-1], moved[1:]), np.maximum(moved[:-1], moved[1:])
            part = np.where(high <= 0, 1, np.where(low >= 0, 0, low / np.where(high > low, low - high, 1)))
            return float((part * (size[:-1] + size[1:]) / 2).sum() * (heights[1] - heights[0]))

        steps = np.linspace(0, 2 * np.pi, 361)  # every degree, a periodic sum: good to 1e-3, the test asks for 5e-3
        values = np.array([strip(t) for t in steps])
        return float((values[:-1].sum()) * (steps[1] - steps[0]))


def cone_area(design: PreparationDesign) -> float:
    """Round cone: wall above y = R sin T cos T (1 + 1 / cos psi) resists, psi from the point opposite the pivot."""
    taper, base, height = np.deg2rad(design.convergence_facial_oral_deg / 2), design.facial_oral_mm / 2, design.height_mm
    blind = base * np.sin(taper) * np.cos(taper)

    def strip(psi: float) -> float:
        from_mm = min(height, blind * (1 + 1 / np.cos(psi)))
        return float((base * (height - from_mm) - np.tan(taper) * (height**2 - from_mm**2) / 2) / np.cos(taper))

    return float(2 * quad(strip, 0, np.arccos(1 / (height / blind - 1)))[0])


@pytest.mark.parametrize("convergence_deg", [6, 12, 20, 30])
@pytest.mark.parametrize("height_mm", [3, 4.5])
def test_a_cone_at_20_000_facets_is_within_half_a_percent_in_every_direction(convergence_deg: float, height_mm: float) -> None:
    design = replace(
        CONE, height_mm=height_mm, convergence_facial_oral_deg=convergence_deg, convergence_mesiodistal_deg=convergence_deg
    )
    for towards in (0, 37, 90, 211):
        assert measured(design, towards).area_mm2[0] == pytest.approx(cone_area(design), rel=WITHIN)


def test_the_error_of_a_cone_falls_faster_than_the_size_of_the_facets() -> None:
    errors = [abs(measured(CONE, 0, n, 2).area_mm2[0] - cone_area(CONE)) for n in (50, 200, 800)]
    assert errors[0] > 6 * errors[1] > 36 * errors[2]  # better than by the size itself, which would give 4 and 16


@pytest.mark.parametrize("design", [OVAL, TILTED, UNEVEN, replace(UNEVEN, tilt_deg=6, tilt_towards_deg=90)])
@pytest.mark.parametrize("towards_deg", [0, 90, 145])
def test_oval_tilted_and_uneven_ones_are_within_half_a_percent_of_the_quadrature(
    design: PreparationDesign, towards_deg: float
) -> None:
    assert measured(design, towards_deg).area_mm2[0] == pytest.approx(Wall(design).resistive_area(towards_deg), rel=WITHIN)


def test_an_uneven_one_converges() -> None:
    expected = Wall(UNEVEN).resistive_area(90)
    coarse, fine = (abs(measured(UNEVEN, 90, n, n // 4).area_mm2[0] - expected) for n in (40, 160))
    assert fine < coarse / 5  # 4 were it by the size alone; the quadrature itself is good to 1e-3


def box_area(design: PreparationDesign) -> float:
    """Flat wall opposite the pivot: from y = B sin T cos T to the top, a trapezium on the slant."""
    taper, side = (np.deg2rad(c / 2) for c in (design.convergence_facial_oral_deg, design.convergence_mesiodistal_deg))
    from_mm, top = design.facial_oral_mm * np.sin(taper) * np.cos(taper), design.height_mm
    width = design.mesiodistal_mm * (top - from_mm) - np.tan(side) * (top**2 - from_mm**2)
    return float(width / np.cos(taper))


@pytest.mark.parametrize(("around", "levels"), [(4, 1), (40, 7), (200, 49)])
def test_a_box_is_exact_however_few_facets_it_has(around: int, levels: int) -> None:
    # single precision: 1e-6 of the whole
    assert measured(BOX, 0, around, levels).area_mm2[0] == pytest.approx(box_area(BOX), rel=1e-5)
    assert measured(BOX, 180, around, levels).area_mm2[0] == pytest.approx(box_area(BOX), rel=1e-5)


def test_parallel_side_walls_slide_and_do_not_resist() -> None:
    parallel = replace(BOX, convergence_facial_oral_deg=0, convergence_mesiodistal_deg=0)
    assert measured(parallel, 0).area_mm2[0] == pytest.approx(6 * 4, rel=1e-5)  # the whole wall opposite, nothing of the sides


def test_the_side_walls_of_a_groove_resist_from_the_finish_line_on() -> None:
    groove = Groove(at_deg=90, depth_mm=1, width_mm=1.2)
    grooved = replace(BOX, grooves=(groove,))
    taper = np.deg2rad(BOX.convergence_mesiodistal_deg / 2)
    side_wall = BOX.height_mm * 1.0 - np.tan(taper) * BOX.height_mm**2 / 2  # its depth shrinks as the outer wall leans in
    assert measured(grooved, 0).area_mm2[0] - box_area(BOX) == pytest.approx(side_wall, rel=1e-4)


@pytest.mark.parametrize("share", [0.25, 0.55, 0.572])
def test_the_share_in_the_section_is_the_closed_form(share: float) -> None:
    height = {0.25: 2.28, 0.55: 3.8, 0.572: 4.0}[share]
    expected = max(0, (height - 10 * np.sin(np.deg2rad(10)) * np.cos(np.deg2rad(10))) / height)
    found = measured(replace(CONE, height_mm=height), 0)
    assert found.share_in_section[0] == pytest.approx(expected, abs=0.002)
    assert expected == pytest.approx(share, abs=0.005)


def test_a_tilted_finish_line_counts_from_its_true_pivot() -> None:
    """Box, finish line raised towards facial by 8 degrees: pivot at (x, z), wall opposite from its own lower edge."""
    box = replace(BOX, convergence_mesiodistal_deg=0, tilt_deg=8, tilt_towards_deg=0)
    taper, slope = np.deg2rad(6), np.tan(np.deg2rad(8))
    pivot_z = slope * 4.5 / (1 + slope * np.tan(taper))
    far_z = -slope * 4.5 / (1 - slope * np.tan(taper))
    base = 9 - (pivot_z + far_z) * np.tan(taper)
    # from the pivot the wall's foot stands (base, far_z - pivot_z); it resists above the foot of the perpendicular on it
    along = base * np.sin(taper) - (far_z - pivot_z) * np.cos(taper)  # way up the slant from the wall's foot
    slant = (4 - far_z) / np.cos(taper)
    assert measured(box, 0).area_mm2[0] == pytest.approx((slant - along) * 6, rel=1e-4)
    assert measured(box, 180).area_mm2[0] > measured(box, 0).area_mm2[0]


def test_on_a_level_line_no_pivot_is_weaker_than_the_foremost() -> None:
    """Behind it the base is shorter, and the wall beyond the pivot resists too."""
    for design in (CONE, OVAL, BOX):
        mesh = preparation_mesh(design, around=72, levels=12)
        least, pivots = least_all_round(mesh, (1, 0, 0), (0, 1, 0), [0, 50, 180])
        foremost = resistance(mesh, (1, 0, 0), (0, 1, 0), [0, 50, 180])
        assert least == pytest.approx(foremost.area_mm2, rel=1e-5)  # single precision, and equals among the pivots of a box
        assert pivots[:, 2] == pytest.approx(np.zeros(3))


def test_on_an_uneven_line_another_pivot_may_be_weaker() -> None:
    """Beside the foremost point the line rises: a pivot there is a little nearer to the wall opposite, and higher."""
    steep = replace(OVAL, proximal_rise_mm=2.0)
    mesh = preparation_mesh(steep, around=72, levels=12)
    least, pivots = least_all_round(mesh, (1, 0, 0), (0, 1, 0), DIRECTIONS)
    foremost = resistance(mesh, (1, 0, 0), (0, 1, 0), DIRECTIONS).area_mm2
    assert np.all(least <= foremost + 1e-9)
    assert least.min() < foremost.min() - 0.1
    assert not np.allclose(pivots, resistance(mesh, (1, 0, 0), (0, 1, 0), DIRECTIONS).pivots_mm)


DIRECTIONS = [0, 45, 90, 135, 180, 225, 270, 315]
cones = st.builds(
    PreparationDesign,
    facial_oral_mm=st.floats(7, 12),
    mesiodistal_mm=st.floats(6, 11),
    height_mm=st.floats(2.5, 5),
    convergence_facial_oral_deg=st.floats(3, 24),
    convergence_mesiodistal_deg=st.floats(3, 24),
    outline=st.sampled_from(["oval", "box"]),
    tilt_deg=st.floats(0, 8),
    tilt_towards_deg=st.floats(0, 360),
)


def weakest(design: PreparationDesign) -> float:
    return float(resistance(preparation_mesh(design, around=36, levels=6), (1, 0, 0), (0, 1, 0), DIRECTIONS).area_mm2.min())


@given(cones, st.floats(1, 8))
@settings(max_examples=20)
def test_more_convergence_never_helps(design: PreparationDesign, more_deg: float) -> None:
    wider = replace(
        design,
        convergence_facial_oral_deg=design.convergence_facial_oral_deg + more_deg,
        convergence_mesiodistal_deg=design.convergence_mesiodistal_deg + more_deg,
    )
    assert weakest(wider) <= weakest(design) + 1e-4


@given(cones, st.floats(0.2, 1.5))
@settings(max_examples=20)
def test_more_height_never_harms(design: PreparationDesign, more_mm: float) -> None:
    assert weakest(replace(design, height_mm=design.height_mm + more_mm)) >= weakest(design) - 1e-4

"""What the wire leaves: areas, energy exact on any grid, its place and its time."""

from dataclasses import replace

import numpy as np
import pytest

from collum.core.heat.body import FAR_WALLS, Body
from collum.core.heat.grid import Grid, even_edges, graded_edges
from collum.core.heat.sources import (
    Sheet,
    WireStroke,
    deposit,
    loop,
    needle,
    sheet_heat_mJ_mm2,
    unit_heat_mJ_mm2,
)
from collum.core.heat.tissues import tissue

ENTRY = np.array([[-3.5, 0, 0], [-1.0, 0, 0], [3.5, 0, 0]], dtype=float)
TIP = ENTRY + [0, 0, 2]


def a_body(step: float = 0.25, growth: float = 1.0, air_above: float | None = None) -> Body:
    grid = Grid(
        x_mm=graded_edges((-6, 6), (-4, 4), step, growth),
        y_mm=graded_edges((-3, 3), (-1, 1), step, growth),
        z_mm=even_edges(-1, 5, step),
    )
    number = np.zeros(grid.shape, dtype=np.int64)
    if air_above is not None:
        number[:, :, grid.centres_mm(2) < air_above] = -1
    return Body.of(grid, (tissue("gingiva", perfusion_share=0),), number, film=0, walls=FAR_WALLS)


def placed(body: Body, stroke: WireStroke) -> np.ndarray:
    energy = np.zeros(body.solid.size)
    for part in deposit(body, stroke).parts:
        assert np.unique(part.cell).size == part.cell.size
        energy[part.cell] += part.energy_mJ
    return energy.reshape(body.grid.shape)


@pytest.mark.parametrize("step", [0.2, 0.35])
@pytest.mark.parametrize("growth", [1.0, 1.4])
@pytest.mark.parametrize("wire", ["needle", "loop", "trough"])
def test_the_energy_on_the_grid_is_the_energy_of_the_stroke(step: float, growth: float, wire: str) -> None:
    sheets = {
        "needle": needle(ENTRY, TIP),
        "loop": loop(ENTRY, TIP, 3.0),
        "trough": loop(ENTRY, ENTRY + [0, 0, 0.5], 0.35),
    }[wire]
    stroke = WireStroke(sheets=sheets, duration_s=1, heat_mJ_mm2=66)
    for body in (a_body(step, growth), a_body(step, growth, air_above=0.3)):
        energy = placed(body, stroke)
        assert energy.sum() == pytest.approx(stroke.energy_mJ(), rel=1e-12)
        assert np.all(energy[~body.solid] == 0) and energy.min() >= 0


def test_a_needle_leaves_heat_on_one_face_and_a_loop_as_much_more_as_it_has_more_wire() -> None:
    (face,) = needle(ENTRY, TIP)
    assert face.area_mm2() == pytest.approx(14)
    assert sum(sheet.area_mm2() for sheet in loop(ENTRY, TIP, 3.0)) == pytest.approx(14 * (2 + 2 + 3) / 2)


def test_the_sides_of_a_loop_stand_half_its_width_to_each_side_of_the_path() -> None:
    left, bottom, right = loop(ENTRY, TIP, 3.0)
    assert {round(float(s.first_mm[0, 1]), 9) for s in (left, right)} == {-1.5, 1.5}
    assert bottom.first_mm[:, 2] == pytest.approx(2) and np.ptp([bottom.first_mm[0, 1], bottom.second_mm[0, 1]]) == 3


def test_the_heat_lies_on_the_face_in_the_mean_and_spreads_across_it_by_its_width() -> None:
    body = a_body(0.2)
    energy = placed(body, WireStroke(sheets=needle(ENTRY, TIP), duration_s=1, heat_mJ_mm2=66))
    share = energy / energy.sum()
    x, y, z = body.grid.mesh_mm()
    assert [float((share * axis).sum()) for axis in (x, y, z)] == pytest.approx([0, 0, 1], abs=0.01)
    # A step of 0.2 mm of Gaussian and, of the sharing by neighbours, up to a quarter of a step squared.
    assert 0.2 <= np.sqrt((share * y**2).sum()) <= 0.2 * np.sqrt(1.26)


def test_the_heat_comes_in_while_the_wire_passes() -> None:
    body = a_body()
    stroke = WireStroke(sheets=needle(ENTRY, TIP), duration_s=1.0, heat_mJ_mm2=66)
    heat = deposit(body, stroke)
    assert len(heat.parts) * heat.step_s == pytest.approx(1)
    x = np.broadcast_to(body.grid.mesh_mm()[0], body.grid.shape).reshape(-1)
    means = [float((x[part.cell] * part.energy_mJ).sum() / part.energy_mJ.sum()) for part in heat.parts]
    expected = -3.5 + 7 * (np.arange(len(means)) + 0.5) / len(means)
    assert means == pytest.approx(expected, abs=0.05)
    assert [part.energy_mJ.sum() for part in heat.parts] == pytest.approx(
        [stroke.energy_mJ() / len(means)] * len(means), rel=0.1
    )


def test_a_side_of_a_loop_in_air_leaves_its_heat_with_the_others() -> None:
    """As where the gum above the cut is gone: sides at -1.5 and 1.5, the bottom between them, air up to -0.5."""
    body = a_body()
    body = replace(body, solid=body.solid & (body.grid.mesh_mm()[1] > -0.5))
    stroke = WireStroke(sheets=loop(ENTRY, TIP, 3.0), duration_s=1, heat_mJ_mm2=66)
    energy = placed(body, stroke)
    assert energy.sum() == pytest.approx(stroke.energy_mJ(), rel=1e-12)
    assert np.all(energy[~body.solid] == 0)
    whole = placed(a_body(), stroke)
    y, z = (body.grid.centres_mm(axis) for axis in (1, 2))
    side = np.ix_(np.ones(body.grid.shape[0], dtype=bool), y > 1, z < 1)  # of the side that stays, clear of the bottom
    assert energy[side].sum() / whole[side].sum() == pytest.approx(7 / 5, rel=1e-9)  # 7 mm of wire, of which 5 in tissue


def test_a_stroke_in_air_is_refused() -> None:
    with pytest.raises(ValueError, match="in air only"):
        deposit(a_body(air_above=4), WireStroke(sheets=needle(ENTRY, TIP), duration_s=1, heat_mJ_mm2=66))


@pytest.mark.parametrize(
    ("part", "match"), [(np.array([0, 0.5]), "two ends"), (np.array([0, 1.0, 0.5]), "rise"), (np.array([0.1, 0.5, 1]), "rise")]
)
def test_a_sheet_that_cannot_be_is_refused(part: np.ndarray, match: str) -> None:
    with pytest.raises(ValueError, match=match):
        Sheet(first_mm=ENTRY, second_mm=TIP, part=part)


def test_the_unit_is_the_denatured_zone_of_the_registry() -> None:
    assert unit_heat_mJ_mm2() == pytest.approx(65.6112, rel=1e-5)


# Worked out before from the peak of the plane source, 37 degC at rest; four digits given.
@pytest.mark.parametrize(
    ("width", "at_60", "at_65", "at_70"),
    [(0.10, 35.9, 43.7, 51.6), (0.15, 53.9, 65.6, 77.3), (0.30, 108, 131, 155), (0.40, 144, 175, 206), (0.70, 252, 306, 361)],
)
def test_a_wider_denatured_zone_stands_for_more_heat(width: float, at_60: float, at_65: float, at_70: float) -> None:
    found = [sheet_heat_mJ_mm2(width, degC - 37) for degC in (60, 65, 70)]
    assert found == pytest.approx([at_60, at_65, at_70], rel=5e-3)

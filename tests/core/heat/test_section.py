"""Sections through the axis: the same run as the watched points, a sum of strokes, and what symmetry and more heat ask for."""

from functools import cache

import numpy as np
import pytest

from collum.core.heat import NeckShape, Sector, neck_strokes, round_field, section_grid, stroke_response
from collum.core.heat.alternating import AlternatingRun
from collum.core.heat.body import Body
from collum.core.heat.neck_body import neck_body, sector_stroke, watched_points
from collum.core.heat.neck_outline import SECTION_TISSUES, SectionTissue, outline_mm
from collum.core.heat.section import NeckStroke, neck_stroke
from collum.core.heat.sources import HeatEntering, WireStroke, deposit
from collum.core.heat.stroke_run import instants_s
from tests.making.necks import neck_curves

SECTOR = Sector(from_deg=-30, to_deg=30, speed_mm_s=7)
EVERY_DEG = 30


@cache
def a_shape() -> NeckShape:
    return NeckShape(**neck_curves())


@cache
def a_body(step_mm: float = 0.3) -> Body:
    return neck_body(a_shape(), SECTOR, step_mm=step_mm, perfusion_share=0, carved=False)


def looked_at(stroke: WireStroke, precision: type[np.float32] | type[np.float64] = np.float32) -> NeckStroke:
    points, organs = watched_points(a_shape(), EVERY_DEG)
    return neck_stroke(a_body(), stroke, points, organs, section_grid(a_shape()), precision=precision)


@cache
def daily() -> NeckStroke:
    return neck_strokes(a_shape(), (SECTOR,), perfusion_share=0, carved=False)[0]


def test_nodes_lie_on_half_planes_from_the_axis_outwards_and_from_the_top_down() -> None:
    grid = section_grid(a_shape())
    points = grid.points_mm().reshape(*grid.shape, 3)
    assert grid.angle_deg.tolist() == list(range(0, 360, 30))
    assert points[0, :, 0, :2] == pytest.approx(0) and points[3, 0, 4] == pytest.approx([0, 4 * 0.25, grid.z_mm[0]])
    reach = (a_shape().root_radius_mm + a_shape().gum_mm + a_shape().plate_mm).max()
    assert reach <= grid.radius_mm[-1] < reach + 0.5
    assert grid.z_mm[0] == a_shape().margin_mm.min() - 1.5 and grid.z_mm[-1] >= a_shape().crest_mm.max() + 2.5


def test_the_watched_points_of_a_run_that_is_looked_at_twice_are_the_same() -> None:
    points, organs = watched_points(a_shape(), EVERY_DEG)
    stroke = sector_stroke(a_shape(), SECTOR)
    assert np.array_equal(looked_at(stroke).watched.rise_degC, stroke_response(a_body(), stroke, points, organs).rise_degC)


def test_a_round_on_the_section_by_superposition_is_the_round_run_at_once_to_the_last_digits() -> None:
    """A needle and a loop over the same sector at once: 1e-10 K in double precision, where heat flow is linear."""
    needle = sector_stroke(a_shape(), SECTOR)
    looped = sector_stroke(a_shape(), Sector(from_deg=-30, to_deg=30, speed_mm_s=7, loop_mm=2.0))
    assert needle.duration_s == looped.duration_s  # so that both runs have the same instants
    parts = [looked_at(stroke, np.float64).section for stroke in (needle, looped)]
    kept = parts[0].times_s
    summed = sum(part.round_degC([0.0], kept) for part in parts)

    run, nodes = AlternatingRun(a_body(), np.float64), section_grid(a_shape()).points_mm()
    solid = a_body().grid.shares(nodes).among(a_body().solid)
    read, tissue = run.reader(solid), solid.weight.any(axis=1)
    heats = [deposit(a_body(), stroke).parts for stroke in (needle, looped)]
    row = 1
    for number, (start, end) in enumerate(zip(instants_s(needle)[:-1], instants_s(needle)[1:], strict=True)):
        both = [heat[number] for heat in heats if number < len(heat)]
        run.step(float(end - start), together(both) if both else None)
        if end == kept[row]:
            assert np.abs(read() - summed[row])[tissue].max() < 1e-10
            row += 1
    assert row == kept.size > 40 and summed.max() > 10


def together(parts: list[HeatEntering]) -> HeatEntering:
    """What enters in two strokes at once, each cell once."""
    cell, which = np.unique(np.concatenate([part.cell for part in parts]), return_inverse=True)
    return HeatEntering(cell=cell, energy_mJ=np.bincount(which, np.concatenate([part.energy_mJ for part in parts])))


def test_the_instants_that_are_kept_tell_the_others() -> None:
    """Against the watched points, which keep every step: on the axis of the pulp and at the root below the crest."""
    section, watched = daily().section, daily().watched
    grid = section_grid(a_shape())
    at = np.linspace(0.25, 120, 480)
    rise = section.round_degC([0.0], at).reshape(at.size, *grid.shape)
    pulp = [organ == "pulp" for organ in watched.organs].index(True)
    radius = a_shape().pulp_radius_mm
    column, row = radius / 0.25, (a_shape().cut_mm[0] - grid.z_mm[0]) / 0.25
    near = rise[:, 0, int(row) : int(row) + 2, int(column) : int(column) + 2]
    course = watched.rise_degC[pulp, 1:481]
    assert np.all(course <= near.max(axis=(1, 2)) * 1.02 + 0.02) and np.all(course >= near.min(axis=(1, 2)) * 0.98 - 0.02)
    assert course.max() > 0.2


def test_what_is_kept_of_a_round_is_the_round() -> None:
    at = np.arange(0, 40, 0.5)
    starts = [0.0, 9.0]
    kept = round_field([daily().section], [starts], at, 2.7)
    whole = 2.7 * daily().section.round_degC(starts, at)
    # Shapes below 5e-5 of the greatest amplitude go: a twentieth of a degree beside the wire at most.
    assert np.abs(kept.rise_degC() - whole).max() < 1e-3 * whole.max()
    assert kept.shapes.shape[0] < 40 and not kept.rise_degC()[0].any()


def test_a_symmetric_case_has_symmetric_sections() -> None:
    """A round neck and a sector about 0: half planes at plus and minus an angle see the same once the stroke has passed."""
    curves = neck_curves() | {"root_radius_mm": np.full(36, 3.3)}
    still = NeckShape(**curves)
    sector = Sector(from_deg=-30, to_deg=30, speed_mm_s=700)  # so quick that which end came first does not count
    (stroke,) = neck_strokes(still, (sector,), perfusion_share=0, carved=False)
    grid = section_grid(still)
    rise = stroke.section.round_degC([0.0], np.array([2.0, 10.0, 40.0])).reshape(3, *grid.shape)
    for station in (1, 2, 3, 4, 5):
        assert np.abs(rise[:, station] - rise[:, -station]).max() < 0.02 * rise.max(), station
    assert rise[:, 0].max() > 4 * rise[:, 6].max()


def test_more_heat_warms_every_node_and_no_node_grows_cold() -> None:
    at = np.arange(0.5, 60, 0.5)
    once, twice = (daily().section.round_degC(starts, at) for starts in ([0.0], [0.0, 8.0]))
    assert once.min() > -1e-2 and np.all(twice >= once - 1e-2)
    hotter, plain = (round_field([daily().section], [[0.0]], at, factor).rise_degC() for factor in (2.7, 1.0))
    assert np.abs(hotter - 2.7 * plain).max() <= 1e-4


def test_nodes_in_air_read_the_tissue_they_touch_and_stay_cold_away_from_it() -> None:
    """Beside the crown at 0, where the root ends at 3.6 mm and the grid is fine: lines reach its surface and end there."""
    grid = section_grid(a_shape())
    rise = daily().section.rise_degC.reshape(-1, *grid.shape)
    assert grid.radius_mm[18] == 4.5 and not rise[:, 0, 0, 19:].any()
    assert rise[:, 0, 0, 16].any() and np.array_equal(rise[:, 0, 0, 16], rise[:, 0, 0, 15])
    assert rise[:, :, -1].any()


def test_outlines_are_those_of_the_body() -> None:
    body = neck_body(a_shape(), SECTOR, step_mm=0.2, perfusion_share=0, carved=True)
    top, bottom = section_grid(a_shape()).z_mm[[0, -1]]
    area = {tissue: enclosed(outline_mm(a_shape(), tissue, 0, top, bottom)) for tissue in SECTION_TISSUES}
    x, z = body.grid.centres_mm(0), body.grid.centres_mm(2)
    middle = int(np.abs(body.grid.centres_mm(1)).argmin())
    shown = (x > 0)[:, None] & (z > top)[None, :] & (z < bottom)[None, :]
    cells = np.outer(body.grid.widths_mm(0), body.grid.widths_mm(2)) * (body.solid[:, middle] & shown)
    assert area["tooth"] + area["bone"] + area["gum"] == pytest.approx(cells.sum(), rel=0.04)
    assert area["removed"] > 1 and area["pulp"] == pytest.approx(a_shape().pulp_radius_mm * (bottom - top))


@pytest.mark.parametrize("tissue", SECTION_TISSUES)
def test_outlines_stay_within_the_section(tissue: SectionTissue) -> None:
    outline = outline_mm(a_shape(), tissue, 77, -4.0, 6.0)
    assert outline[:, 0].min() >= 0 and outline[:, 1].min() >= -4 and outline[:, 1].max() <= 6


def enclosed(outline: np.ndarray) -> float:
    x, z = outline.T
    return float(abs(x @ np.roll(z, -1) - z @ np.roll(x, -1)) / 2)

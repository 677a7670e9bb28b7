"""A finish line drawn on a scan that goes on beyond it: the preparation is found, whatever lies outside."""

import numpy as np
import pytest
from numpy.typing import NDArray

from collum.core.preparation.facet_resistance import resistance
from collum.core.preparation.made import Groove, PreparationDesign, preparation_mesh
from collum.core.surface.preparation_surface import PreparationSurface, preparation_surface
from collum.core.surface.surface_error import SurfaceError

MESH = preparation_mesh(
    PreparationDesign(
        facial_oral_mm=9,
        mesiodistal_mm=7,
        height_mm=4,
        convergence_facial_oral_deg=14,
        convergence_mesiodistal_deg=18,
        tilt_deg=6,
        tilt_towards_deg=40,
        proximal_rise_mm=0.8,
        grooves=(Groove(at_deg=90, depth_mm=1, width_mm=1.2),),
    ),
    around=80,
    levels=10,
)
LINE = MESH.finish_line_mm
PATH = (0, 0, 1)


def gone_on(out_mm: float, down_mm: float, rings: int = 4) -> tuple[NDArray[np.float64], NDArray[np.int64]]:
    """The preparation with a ledge outward and something downward beyond its finish line (rings of 1 step each)."""
    outward = LINE * [1, 1, 0] / np.linalg.norm(LINE[:, :2], axis=1, keepdims=True)
    added = [LINE + k * (out_mm * outward - [0, 0, down_mm]) for k in range(1, rings + 1)]
    count, first = len(LINE), len(MESH.vertices_mm)
    rows = [MESH.finish_line, *(first + k * count + np.arange(count) for k in range(rings))]
    faces = [MESH.faces]
    for upper, lower in zip(rows, rows[1:], strict=False):
        right, low_right = np.roll(upper, -1), np.roll(lower, -1)
        faces += [np.column_stack([lower, low_right, upper]), np.column_stack([low_right, right, upper])]
    return np.concatenate([MESH.vertices_mm, *added]), np.concatenate(faces)


def areas(surface: PreparationSurface) -> NDArray[np.float64]:
    return resistance(surface, (1, 0, 0), (0, 1, 0), np.arange(0, 360, 30)).area_mm2


@pytest.mark.parametrize(
    ("out_mm", "down_mm"), [(0.3, 0.0), (-0.1, 0.4), (0.2, 0.3), (0.3, -0.2)], ids=["ledge", "root", "gum", "gum above"]
)
def test_what_lies_beyond_the_line_is_left_out_and_said(out_mm: float, down_mm: float) -> None:
    vertices, faces = gone_on(out_mm, down_mm)
    found = preparation_surface(vertices, faces, PATH, LINE)
    assert [(r.kind, r.count) for r in found.repairs] == [("trimmed", len(faces) - len(MESH.faces))]
    assert len(found.faces) == len(MESH.faces)
    assert areas(found) == pytest.approx(areas(MESH), rel=1e-5)
    assert sorted(map(tuple, found.finish_line_mm)) == sorted(map(tuple, LINE))


def test_without_the_line_the_edge_of_the_scan_would_be_taken_for_it() -> None:
    vertices, faces = gone_on(0.3, 0.0)
    assert areas(preparation_surface(vertices, faces, PATH)).min() < 0.9 * areas(MESH).min()


def test_a_line_drawn_roughly_is_moved_onto_the_edges() -> None:
    """Every fourth point, a tenth of a millimetre off."""
    vertices, faces = gone_on(0.3, 0.1)
    drawn = LINE[::4] + np.random.default_rng(3).uniform(-0.1, 0.1, LINE[::4].shape)
    found = preparation_surface(vertices, faces, PATH, drawn)
    assert areas(found) == pytest.approx(areas(MESH), rel=0.03)


def test_the_line_may_run_either_way_and_close_on_its_first_point() -> None:
    vertices, faces = gone_on(0.2, 0.2)
    for line in (LINE[::-1], np.concatenate([LINE, LINE[:1]]), np.roll(LINE, 17, axis=0)):
        assert areas(preparation_surface(vertices, faces, PATH, line)) == pytest.approx(areas(MESH), rel=1e-5)


def test_a_closed_body_is_opened_at_the_line() -> None:
    vertices, faces = gone_on(-0.1, 0.5)
    count = len(LINE)
    last = len(vertices) - count + np.arange(count)
    lid = np.column_stack([np.roll(last, -1), last, np.full(count, len(vertices))])
    closed = np.concatenate([vertices, vertices[last].mean(axis=0)[None]])
    found = preparation_surface(closed, np.concatenate([faces, lid]), PATH, LINE)
    assert areas(found) == pytest.approx(areas(MESH), rel=1e-5)


def test_the_line_of_a_sheet_that_ends_there_changes_nothing() -> None:
    found = preparation_surface(MESH.vertices_mm, MESH.faces, PATH, LINE)
    assert found.repairs == () and np.array_equal(found.faces, MESH.faces)


def refused(line: object, vertices: NDArray[np.float64], faces: NDArray[np.int64]) -> str:
    with pytest.raises(SurfaceError) as caught:
        preparation_surface(vertices, faces, PATH, line)  # type: ignore[arg-type]
    return caught.value.fault


def test_a_line_that_is_none_or_parts_nothing_is_refused() -> None:
    vertices, faces = gone_on(0.3, 0.1)
    assert refused(LINE[:2], vertices, faces) == "line"
    assert refused(LINE[:, :2], vertices, faces) == "line"
    assert refused(LINE * np.nan, vertices, faces) == "line"
    assert refused(np.tile(LINE[:1], (5, 1)), vertices, faces) == "line"
    apart = np.concatenate([vertices, vertices + [30, 0, 0]])
    assert (
        refused(np.concatenate([LINE[:40], LINE[40:] + [30, 0, 0]]), apart, np.concatenate([faces, faces + len(vertices)]))
        == "line_broken"
    )
    there_and_back = np.concatenate([LINE[:20], LINE[18:0:-1]])  # along one side and back: no ring
    assert refused(there_and_back, vertices, faces) == "line_parts_nothing"

"""What is put right in a mesh, what is refused, and that turning, mirroring, scaling or cutting anew changes no answer."""

from dataclasses import replace

import numpy as np
import pytest
from numpy.typing import NDArray

from collum.core.preparation.facet_resistance import (
    foremost_points,
    negative_share,
    resistance,
    resistive_area_mm2,
    tipping_directions,
)
from collum.core.preparation.made import Groove, PreparationDesign, preparation_mesh
from collum.core.surface.preparation_surface import PreparationSurface, preparation_surface
from collum.core.surface.surface_error import SurfaceError

DESIGN = PreparationDesign(
    facial_oral_mm=9,
    mesiodistal_mm=7,
    height_mm=4,
    convergence_facial_oral_deg=14,
    convergence_mesiodistal_deg=20,
    tilt_deg=5,
    tilt_towards_deg=60,
    proximal_rise_mm=0.6,
    grooves=(Groove(at_deg=100, depth_mm=1, width_mm=1.2), Groove(at_deg=270, depth_mm=1.2, width_mm=2.5, taper_deg=2)),
)
MESH = preparation_mesh(DESIGN, around=90, levels=12)
DIRECTIONS = np.arange(0.0, 360.0, 20.0)
FACIAL, MESIAL, PATH = np.eye(3)
SINGLE = 2e-6  # single precision, relative to the whole


def areas(surface: PreparationSurface, facial: object = FACIAL, mesial: object = MESIAL) -> NDArray[np.float64]:
    return resistance(surface, facial, mesial, DIRECTIONS).area_mm2  # type: ignore[arg-type]


def test_a_plain_loop_over_pivots_finds_the_same_area() -> None:
    onward = tipping_directions(MESH.path, FACIAL, MESIAL, DIRECTIONS)
    pivots = foremost_points(MESH.finish_line_mm, onward, MESH.path)
    axes = np.cross(PATH, onward)
    corners = MESH.vertices_mm[MESH.faces]
    expected = []
    for pivot, axis in zip(pivots, axes, strict=True):
        moved = np.einsum("fcx,fx->fc", np.cross(axis, corners - pivot), MESH.normals)
        # walls that only slide (here those of the grooves, along their own direction) move by rounding alone: not against
        expected.append((negative_share(*(moved.T + 1e-5)) * MESH.areas_mm2).sum())
    assert resistive_area_mm2(MESH, pivots, axes) == pytest.approx(expected, rel=1e-4)


def test_of_equally_foremost_points_the_most_coronal_is_the_pivot() -> None:
    """The weaker of the two: the wall opposite it resists less."""
    line = np.array([[2.0, 1, 0.3], [2, -1, 0.8], [-2, 0, 1.5], [1.9, 0, 2.0]])
    assert foremost_points(line, np.array([[1.0, 0, 0], [-1, 0, 0]]), PATH).tolist() == [[2, -1, 0.8], [-2, 0, 1.5]]


@pytest.mark.parametrize(
    ("values", "share"),
    [
        ((-1, -1, -1), 1),
        ((1, 1, 1), 0),
        ((-1, 1, 1), 0.25),
        ((1, -1, -1), 0.75),
        ((-1, 0, 1), 0.5),
        ((0, 0, 0), 1),
        ((0, 1, 1), 0),
    ],
)
def test_the_negative_share_of_a_triangle(values: tuple[float, float, float], share: float) -> None:
    """By hand: lone corner a cuts off a2 / ((a - b)(a - c)) of the area."""
    first, second, third = (np.array([v], dtype=np.float32) for v in values)
    assert negative_share(first, second, third)[0] == pytest.approx(share)


def test_turned_moved_and_scaled_it_answers_the_same() -> None:
    turn = np.linalg.qr(np.random.default_rng(4).normal(size=(3, 3)))[0]
    turn *= np.sign(np.linalg.det(turn))
    moved = 1.7 * MESH.vertices_mm @ turn.T + [30.0, -20.0, 12.0]
    found = areas(preparation_surface(moved, MESH.faces, turn @ PATH), turn @ FACIAL, turn @ MESIAL)
    assert found == pytest.approx(1.7**2 * areas(MESH), abs=1.7**2 * SINGLE * MESH.areas_mm2.sum())


def test_mirrored_it_answers_the_same() -> None:
    """The tooth of the other side: x kept, mesial on the other hand; facets read inside out and are turned, which is said."""
    mirrored = preparation_surface(MESH.vertices_mm * [1, -1, 1], MESH.faces, PATH)
    assert [(r.kind, r.count) for r in mirrored.repairs] == [("turned", len(MESH.faces))]
    assert areas(mirrored, FACIAL, -MESIAL) == pytest.approx(areas(MESH), abs=SINGLE * MESH.areas_mm2.sum())


def test_cut_into_other_triangles_it_answers_the_same() -> None:
    """Every facet split at its middle; then the same facets in another order, each begun at another corner."""
    corners = MESH.vertices_mm[MESH.faces]
    middle = corners.mean(axis=1)
    index = len(MESH.vertices_mm) + np.arange(len(middle))
    parts = [np.column_stack([MESH.faces[:, i], MESH.faces[:, (i + 1) % 3], index]) for i in range(3)]
    finer = preparation_surface(np.concatenate([MESH.vertices_mm, middle]), np.concatenate(parts), PATH)
    assert areas(finer) == pytest.approx(areas(MESH), abs=SINGLE * MESH.areas_mm2.sum())
    shuffled = np.random.default_rng(2).permutation(len(MESH.faces))
    again = preparation_surface(MESH.vertices_mm, np.roll(MESH.faces[shuffled], 1, axis=1), PATH)
    assert areas(again) == pytest.approx(areas(MESH), abs=SINGLE * MESH.areas_mm2.sum())


def test_a_box_split_along_the_other_diagonal_answers_the_same() -> None:
    box = preparation_mesh(replace(DESIGN, outline="box", grooves=(), tilt_deg=0, proximal_rise_mm=0), around=4, levels=1)
    low, high = np.arange(4), np.arange(4, 8)
    right = np.roll(low, -1)
    wall = np.concatenate([np.column_stack([low, right, high]), np.column_stack([right, right + 4, high])])
    other = preparation_surface(box.vertices_mm, np.concatenate([wall, box.faces[8:]]), PATH)
    assert areas(other) == pytest.approx(areas(box), rel=1e-5)


def test_facets_kept_one_by_one_are_welded_and_that_is_said() -> None:
    soup = MESH.vertices_mm[MESH.faces].reshape(-1, 3)
    welded = preparation_surface(soup, np.arange(len(soup)).reshape(-1, 3), PATH)
    assert [r.kind for r in welded.repairs] == ["welded"]
    assert welded.repairs[0].count == len(soup) - len(MESH.vertices_mm)
    assert areas(welded) == pytest.approx(areas(MESH), abs=SINGLE * MESH.areas_mm2.sum())


def test_some_facets_inside_out_are_turned_and_that_is_said() -> None:
    faces = MESH.faces.copy()
    faces[5:300:7] = faces[5:300:7, ::-1]
    turned = preparation_surface(MESH.vertices_mm, faces, PATH)
    assert [(r.kind, r.count) for r in turned.repairs] == [("turned", len(range(5, 300, 7)))]
    assert np.array_equal(np.sort(turned.faces, axis=1), np.sort(MESH.faces, axis=1))
    assert turned.normals == pytest.approx(MESH.normals)


def test_doubled_and_empty_facets_are_dropped_and_that_is_said() -> None:
    extra = [MESH.faces[3], MESH.faces[9][::-1], [4, 4, 7]]
    found = preparation_surface(MESH.vertices_mm, np.concatenate([MESH.faces, extra]), PATH)
    assert [(r.kind, r.count) for r in found.repairs] == [("dropped", 3)]
    assert np.array_equal(found.faces, MESH.faces)


def refused(vertices: object, faces: object, path: object = PATH) -> tuple[str, int]:
    with pytest.raises(SurfaceError) as caught:
        preparation_surface(vertices, faces, path)  # type: ignore[arg-type]
    return caught.value.fault, caught.value.count


def test_a_hole_is_refused() -> None:
    assert refused(MESH.vertices_mm, np.delete(MESH.faces, [200, 500], axis=0)) == ("holes", 2)


def test_a_closed_body_is_refused() -> None:
    line = MESH.finish_line
    centre = len(MESH.vertices_mm)
    lid = np.column_stack([np.roll(line, -1), line, np.full(len(line), centre)])
    closed = np.concatenate([MESH.vertices_mm, MESH.finish_line_mm.mean(axis=0)[None]])
    assert refused(closed, np.concatenate([MESH.faces, lid])) == ("closed", 1)


def test_two_pieces_are_refused() -> None:
    apart = np.concatenate([MESH.vertices_mm, MESH.vertices_mm + [20, 0, 0]])
    assert refused(apart, np.concatenate([MESH.faces, MESH.faces + len(MESH.vertices_mm)])) == ("pieces", 2)


def test_an_edge_of_three_facets_is_refused() -> None:
    fin = np.concatenate([MESH.vertices_mm, [[20, 20, 2]]])
    a, b, _ = MESH.faces[100]
    assert refused(fin, np.concatenate([MESH.faces, [[a, b, len(MESH.vertices_mm)]]])) == ("edge_of_three", 1)


def test_an_outline_that_touches_itself_is_refused() -> None:
    vertices = np.array([[0, 0, 0], [1, 0, 0], [0, 1, 0], [1, 1, 0], [2, 1, 0], [2, 2, 0], [1, 2, 0.0], [0.5, 2, 1]])
    faces = [[0, 1, 2], [1, 3, 2], [3, 4, 5], [3, 5, 6], [2, 7, 6]]
    assert refused(vertices, faces)[0] in ("pinched", "pieces")
    ring = np.array([[0, 0, 0], [2, 0, 0], [2, 2, 0], [0, 2, 0], [1, 1, 1.0]])
    assert refused(ring, [[0, 1, 4], [2, 3, 4], [1, 2, 4]][:2])[0] == "pieces"


def test_a_strip_with_one_side_is_refused() -> None:
    """A Moebius band of twelve quads."""
    angle = np.arange(12) * np.pi / 6
    half = np.array([-0.3, 0.3])[:, None]
    band = [
        (1 + half * np.cos(angle / 2)) * np.cos(angle),
        (1 + half * np.cos(angle / 2)) * np.sin(angle),
        half * np.sin(angle / 2),
    ]
    vertices = np.stack(band, axis=-1).reshape(-1, 3)
    quads = [(i, i + 1, 12 + i, 13 + i) if i < 11 else (11, 12, 23, 0) for i in range(12)]
    faces = [f for a, b, c, d in quads for f in ((a, b, d), (a, d, c))]
    assert refused(vertices, faces)[0] == "one_sided"


def test_numbers_that_are_none_empty_lists_and_foreign_indices_are_refused() -> None:
    broken = MESH.vertices_mm.copy()
    broken[3, 1] = np.nan
    assert refused(broken, MESH.faces) == ("not_finite", 1)
    assert refused([], []) == ("empty", 1)
    assert refused(MESH.vertices_mm, [[0, 1, len(MESH.vertices_mm)]]) == ("no_such_vertex", 1)
    assert refused(MESH.vertices_mm, [[0, 0, 1]]) == ("empty", 1)


@pytest.mark.parametrize(
    ("path", "fault"), [((0, 0, 0), "path"), ((0, 0), "path"), ((1, 0, 0.2), "path_across"), ((np.nan, 0, 1), "path")]
)
def test_a_path_that_is_none_or_runs_across_is_refused(path: tuple[float, ...], fault: str) -> None:
    assert refused(MESH.vertices_mm, MESH.faces, path)[0] == fault


def test_facial_and_mesial_must_differ_and_point_across() -> None:
    for facial, mesial in (((0, 0, 1), MESIAL), (FACIAL, FACIAL), (FACIAL, (1, 0, 5))):
        with pytest.raises(ValueError, match="across the path"):
            resistance(MESH, facial, mesial, [0])


@pytest.mark.parametrize(
    ("change", "says"),
    [
        ({"height_mm": 0}, "above 0"),
        ({"facial_oral_mm": np.nan}, "above 0"),
        ({"convergence_facial_oral_deg": 120}, "meet below the top"),
        ({"tilt_deg": 50}, "finish line rises"),
        ({"grooves": (Groove(at_deg=90, depth_mm=0.3, width_mm=1),)}, "leaves the wall"),
        ({"grooves": (Groove(at_deg=90, depth_mm=4, width_mm=1),)}, "leaves the wall"),
        ({"grooves": (Groove(at_deg=90, depth_mm=1, width_mm=2), Groove(at_deg=100, depth_mm=1, width_mm=2))}, "overlaps"),
    ],
)
def test_dimensions_that_make_no_preparation_are_refused(change: dict[str, object], says: str) -> None:
    with pytest.raises(ValueError, match=says):
        preparation_mesh(replace(DESIGN, **change), around=40, levels=4)  # type: ignore[arg-type]


def test_wall_and_top_of_a_cone_are_those_of_the_frustum() -> None:
    cone = PreparationDesign(
        facial_oral_mm=10, mesiodistal_mm=10, height_mm=4, convergence_facial_oral_deg=20, convergence_mesiodistal_deg=20
    )
    mesh = preparation_mesh(cone, around=200, levels=49)
    assert mesh.wall_area_mm2() == pytest.approx(118.60, rel=1e-3)  # published check values of the frustum
    assert mesh.top_area_mm2() == pytest.approx(57.94, rel=1e-3)
    assert mesh.wall_area_mm2() + mesh.top_area_mm2() == pytest.approx(mesh.areas_mm2.sum())

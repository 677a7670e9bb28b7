"""What a preparation measures and where its path of placement lies, against what it was made with."""

from dataclasses import replace

import numpy as np
import pytest
from scipy.optimize import linprog
from scipy.spatial import ConvexHull

from collum.core.crown.form import frustum_top_mm2
from collum.core.preparation.made import Groove, PreparationDesign, preparation_mesh
from collum.core.preparation.measured import measured
from collum.core.preparation.path import common_path, walls_of
from collum.core.preparation.placement import placed
from collum.core.surface.coarse import coarse
from collum.core.surface.preparation_surface import preparation_surface
from collum.core.surface.surface_error import SurfaceError

CONE = PreparationDesign(
    facial_oral_mm=8, mesiodistal_mm=8, height_mm=4, convergence_facial_oral_deg=16, convergence_mesiodistal_deg=16
)
BOX = replace(CONE, mesiodistal_mm=6, convergence_mesiodistal_deg=24, outline="box")
FACIAL, MESIAL, PATH = np.eye(3)
TURN = np.linalg.qr(np.random.default_rng(8).normal(size=(3, 3)))[0]
TURN *= np.sign(np.linalg.det(TURN))


def test_a_cone_measures_what_it_was_made_with_in_every_direction() -> None:
    found = measured(preparation_mesh(CONE, around=360, levels=8), FACIAL, MESIAL)
    assert found.height_mm == pytest.approx(np.full(36, 4.0))
    # a polygon of 360 sides lies up to (1 - cos 0.5 deg) inside its circle
    assert found.convergence_deg == pytest.approx(np.full(36, 16.0), rel=1e-4)
    assert found.width_mm == pytest.approx(np.full(36, 8.0), rel=1e-4)
    assert found.line_length_mm == pytest.approx(8 * np.pi, rel=1e-4)
    assert found.line_range_mm == pytest.approx(0, abs=1e-12)
    bottom, top = 16 * np.pi, float(frustum_top_mm2(8, 4, 16))
    assert found.volume_mm3 == pytest.approx(4 / 3 * (bottom + top + np.sqrt(bottom * top)), rel=2e-4)


def test_a_box_measures_each_pair_of_walls() -> None:
    found = measured(preparation_mesh(BOX, around=40, levels=6), FACIAL, MESIAL)
    assert found.convergence_deg[[0, 9, 18, 27]] == pytest.approx([16, 24, 16, 24])
    assert found.width_mm[[0, 9]] == pytest.approx([8, 6])


def test_a_tilted_line_is_measured_as_it_runs() -> None:
    """Raised by tan 5 deg over 8 mm from distal to mesial; the wall above it is lower by as much."""
    found = measured(preparation_mesh(replace(CONE, tilt_deg=5, tilt_towards_deg=90), around=360, levels=8), FACIAL, MESIAL)
    rise = found.height_mm[27] - found.height_mm[9]
    assert found.line_range_mm == pytest.approx(rise, rel=1e-6)
    assert found.line_mm[9] - found.line_mm[27] == pytest.approx(rise, rel=1e-6)
    # the walls lean, so that the tilted plane meets them a little nearer mesially and farther distally
    assert rise == pytest.approx(8 * np.tan(np.deg2rad(5)), rel=0.005)


def test_rounded_line_angles_and_a_curved_ledge_do_not_count_as_lean() -> None:
    """A profile turned about the axis: a ledge that rises into the wall, 3 mm of wall at 8 deg, a round top."""
    lean = np.tan(np.deg2rad(8))
    arc = np.linspace(0, np.deg2rad(80), 8)
    ledge = np.column_stack([4.5 - 0.5 * np.sin(arc), 0.5 * (1 - np.cos(arc))])
    foot = ledge[-1]
    head = foot + [-3 * lean, 3]
    top = head + 0.5 * np.column_stack([np.cos(arc) - 1, np.sin(arc)])[1:]
    profile = np.concatenate([ledge, [head], top])
    around = np.deg2rad(np.arange(0, 360, 2))
    rings = [np.column_stack([r * np.cos(around), r * np.sin(around), np.full(180, h)]) for r, h in profile]
    vertices = np.concatenate([*rings, [[0, 0, profile[-1, 1]]]])
    low = np.concatenate([row * 180 + np.arange(180) for row in range(len(rings) - 1)])
    right = low // 180 * 180 + (low + 1) % 180
    lid = (len(rings) - 1) * 180 + np.arange(180)
    fan = np.column_stack([lid, (lid + 1) % 180 + lid[0], np.full(180, len(vertices) - 1)])
    faces = np.concatenate([np.column_stack([low, right, right + 180]), np.column_stack([low, right + 180, low + 180]), fan])
    found = measured(preparation_surface(vertices, faces, PATH), FACIAL, MESIAL)
    assert found.convergence_deg == pytest.approx(np.full(36, 16.0), abs=0.05)
    steep = head[1] + 0.5 * np.sin(np.deg2rad(45))  # above that the round is top, no longer wall; pieces of 11 deg
    assert found.height_mm == pytest.approx(np.full(36, steep), abs=0.05)


@pytest.mark.parametrize("design", [CONE, BOX, replace(CONE, tilt_deg=8, tilt_towards_deg=30, proximal_rise_mm=1)])
def test_the_path_of_a_made_preparation_is_found_wherever_it_lies(design: PreparationDesign) -> None:
    mesh = preparation_mesh(design, around=72, levels=6)
    found = placed(mesh.vertices_mm @ TURN.T + [40, -3, 7], mesh.faces, None)
    assert found.found and not found.reversed and found.undercut_mm2 == 0
    assert float(found.surface.path @ TURN[:, 2]) == pytest.approx(1, abs=1e-9)
    narrower = min(design.convergence_facial_oral_deg, design.convergence_mesiodistal_deg)
    assert found.reserve_deg == pytest.approx(narrower / 2, rel=0.01)


def test_inside_out_and_turned_over_the_same_path_is_found() -> None:
    mesh = preparation_mesh(CONE, around=72, levels=6)
    found = placed(mesh.vertices_mm * [1, 1, -1], mesh.faces, None)
    assert found.surface.path == pytest.approx([0, 0, -1], abs=1e-9)
    assert [repair.kind for repair in found.surface.repairs] == ["turned"]


def test_a_rough_surface_has_its_path_where_the_shadow_is_least() -> None:
    """Facets of 0.2 mm moved by a hundredth: single ones are undercut, and the path stays within half a degree."""
    mesh = preparation_mesh(replace(CONE, convergence_facial_oral_deg=6, convergence_mesiodistal_deg=6), around=120, levels=20)
    rough = mesh.vertices_mm + np.random.default_rng(3).normal(scale=0.01, size=mesh.vertices_mm.shape)
    found = placed(rough, mesh.faces, None)
    assert 0 < found.undercut_mm2 < 0.4 * found.surface.wall_area_mm2() and found.reserve_deg < 0
    assert float(found.surface.path @ PATH) > np.cos(np.deg2rad(0.5))


def test_walls_parallel_to_the_path_leave_it_where_it_is_in_single_precision_too() -> None:
    """A groove with parallel side walls leaves no reserve; rounding alone may not turn the path by a hundredth of a degree."""
    grooved = preparation_mesh(replace(CONE, grooves=(Groove(at_deg=90, depth_mm=1, width_mm=1.2),)), around=180, levels=20)
    found = placed(grooved.vertices_mm.astype(np.float32), grooved.faces, None)
    assert float(found.surface.path @ PATH) > np.cos(np.deg2rad(0.02))


def test_volume_and_area_are_those_of_the_convex_hull_of_a_general_library() -> None:
    """A box with a level line is convex: its hull adds the base alone."""
    mesh = preparation_mesh(BOX, around=40, levels=6)
    hull = ConvexHull(mesh.vertices_mm)
    found = measured(mesh, FACIAL, MESIAL)
    assert found.volume_mm3 == pytest.approx(hull.volume)
    assert mesh.wall_area_mm2() + mesh.top_area_mm2() + 8 * 6 == pytest.approx(hull.area)


def test_a_given_path_that_points_down_is_turned_and_that_is_said() -> None:
    mesh = preparation_mesh(CONE, around=72, levels=6)
    found = placed(mesh.vertices_mm, mesh.faces, (0, 0, -3))
    assert found.reversed and not found.found and found.surface.path.tolist() == [0, 0, 1]
    tilted = placed(mesh.vertices_mm, mesh.faces, (0, np.sin(np.deg2rad(12)), np.cos(np.deg2rad(12))))
    assert tilted.undercut_deg == pytest.approx(4, abs=0.01) and tilted.reserve_deg == pytest.approx(-4, abs=0.01)


def test_the_search_for_a_path_rests_on_a_very_fine_surface() -> None:
    """120,000 walls within a hair of each other, and rounds that differ by what the solver allows itself alone."""
    mesh = preparation_mesh(replace(BOX, outline="oval"), around=1000, levels=60)
    found = common_path([walls_of(mesh)], PATH)
    assert found.best == pytest.approx(PATH, abs=1e-6)


def test_the_search_for_a_path_ends_where_the_solver_is_a_little_off(monkeypatch: pytest.MonkeyPatch) -> None:
    """What the solver leaves open on walls it was given is no reason to give it the same walls again, without end."""

    def a_little_off(*given: object, **named: object) -> object:
        answer = linprog(*given, **named)
        answer.x = answer.x + [0, 0, 1e-7]  # its own tolerance
        return answer

    monkeypatch.setattr("collum.core.preparation.path.linprog", a_little_off)
    found = common_path([walls_of(preparation_mesh(CONE, around=72, levels=6))], PATH)
    assert found.best == pytest.approx(PATH, abs=1e-4)


def test_points_within_the_tolerance_are_joined_and_no_others() -> None:
    mesh = preparation_mesh(CONE, around=24, levels=3)
    apart = np.array([0.0004, 0, 0])
    soup = mesh.vertices_mm[mesh.faces].reshape(-1, 3) + apart * (np.arange(3 * len(mesh.faces)) % 2)[:, None]
    numbers = np.arange(len(soup)).reshape(-1, 3)
    joined = preparation_surface(soup, numbers, PATH, weld_within_mm=0.001)
    assert len(joined.vertices_mm) == len(mesh.vertices_mm)
    with pytest.raises(SurfaceError):
        preparation_surface(soup, numbers, PATH, weld_within_mm=0.0001)


def test_a_drawn_copy_is_coarse_and_lies_on_the_surface() -> None:
    mesh = preparation_mesh(CONE, around=120, levels=30)
    vertices, faces = coarse(mesh, 1500)
    assert 300 < len(faces) <= 1500
    assert np.ptp(vertices, axis=0) == pytest.approx(np.ptp(mesh.vertices_mm, axis=0), rel=0.08)
    same, all_of_them = coarse(mesh, len(mesh.faces))
    assert same is mesh.vertices_mm and all_of_them is mesh.faces


def test_a_groove_does_not_hide_the_wall_it_is_cut_into() -> None:
    grooved = preparation_mesh(
        replace(CONE, grooves=(Groove(at_deg=90, depth_mm=1, width_mm=1.2, taper_deg=2),)), around=180, levels=8
    )
    found = measured(grooved, FACIAL, MESIAL)
    assert found.taper_deg[9] == pytest.approx(2, abs=0.01)
    # the groove draws the middle of the finish line 0.1 mm aside, so that the section passes beside the axis of the cone
    assert found.taper_deg[0] == pytest.approx(8, rel=0.005)
    assert found.height_mm[9] == pytest.approx(4)

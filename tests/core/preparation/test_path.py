"""Common paths of placement: cones tilted against one another have a closed answer; the rest is symmetry and refusal."""

import numpy as np
import pytest
from hypothesis import given, settings
from hypothesis import strategies as st
from numpy.typing import NDArray
from scipy.optimize import brentq

from collum.core.preparation.made import PreparationDesign, preparation_mesh
from collum.core.preparation.path import CommonPath, WallsOfTooth, common_path, walls_of


def cone(convergence_deg: float, tilt_deg: float, turn_deg: float = 0.0, around: int = 180) -> WallsOfTooth:
    """A round preparation tilted by an angle in the plane x z, the whole turned about z."""
    design = PreparationDesign(
        facial_oral_mm=9,
        mesiodistal_mm=9,
        height_mm=4,
        convergence_facial_oral_deg=convergence_deg,
        convergence_mesiodistal_deg=convergence_deg,
    )
    walls = walls_of(preparation_mesh(design, around=around, levels=2))
    return WallsOfTooth(normals=walls.normals @ turned(tilt_deg, turn_deg).T, areas_mm2=walls.areas_mm2)


def turned(tilt_deg: float, turn_deg: float) -> NDArray[np.float64]:
    a, b = np.deg2rad([tilt_deg, turn_deg])
    tilt = np.array([[np.cos(a), 0, np.sin(a)], [0, 1, 0], [-np.sin(a), 0, np.cos(a)]])
    turn = np.array([[np.cos(b), -np.sin(b), 0], [np.sin(b), np.cos(b), 0], [0, 0, 1]])
    return turn @ tilt


def tilted_by(path: CommonPath) -> float:
    return float(np.rad2deg(np.arctan2(path.best[0], path.best[2])))


@pytest.mark.parametrize(("apart_deg", "reserve_deg"), [(0, 6), (10, 3), (15.9, 0.05), (16.1, -0.05), (25, -4.5), (40, -12)])
def test_two_cones_share_a_path_up_to_the_sum_of_their_tapers(apart_deg: float, reserve_deg: float) -> None:
    """Tapers 6 and 10: reserve of a path a from the first axis is min(6 - a, 10 - (d - a)); best (16 - d) / 2, at most 6."""
    found = common_path([cone(12, 0), cone(20, apart_deg)], (0, 0, 1))
    assert found.possible == (reserve_deg > 0)
    assert found.reserve_deg == pytest.approx(reserve_deg, abs=0.02)  # cones of 180 facets
    if apart_deg:
        assert tilted_by(found) == pytest.approx(6 - reserve_deg, abs=0.02)
    assert found.undercut_deg == pytest.approx([max(0, -reserve_deg)] * 2, abs=0.02)
    assert (found.undercut_mm2 > 0).all() == (reserve_deg < 0)


def test_the_possible_paths_of_one_cone_are_a_cone_of_its_taper() -> None:
    found = common_path([cone(14, 5)], (0, 0, 1))
    axis = turned(5, 0) @ [0, 0, 1]
    assert np.rad2deg(np.arccos(found.corners @ axis)) == pytest.approx(np.full(len(found.corners), 7), abs=0.01)
    assert np.rad2deg(np.arccos(found.best @ axis)) < 0.01
    assert found.reserve_deg == pytest.approx(7, abs=0.01)


def test_a_parallel_box_has_one_path_and_no_reserve() -> None:
    walls = WallsOfTooth(normals=np.array([[1, 0, 0], [-1, 0, 0], [0, 1, 0], [0, -1, 0.0]]), areas_mm2=np.full(4, 20.0))
    found = common_path([walls], (0.1, 0.05, 1))
    assert found.best == pytest.approx([0, 0, 1], abs=1e-6)
    assert found.reserve_deg == pytest.approx(0, abs=1e-5)
    assert found.undercut_mm2 == pytest.approx([0])


def test_one_wall_in_the_way_is_named_by_its_tooth_and_area() -> None:
    """A box with 5 degrees a wall beside a plate that leans 20 degrees over: halved between it and the wall that faces it."""
    lean, wall = np.deg2rad(20), np.deg2rad(5)
    box = WallsOfTooth(
        normals=np.array([[np.cos(wall), 0, np.sin(wall)], [-np.cos(wall), 0, np.sin(wall)], [0, 1, 0.1], [0, -1, 0.1]])
        / np.array([[1], [1], [np.hypot(1, 0.1)], [np.hypot(1, 0.1)]]),
        areas_mm2=np.array([11.0, 12, 13, 14]),
    )
    plate = WallsOfTooth(normals=np.array([[np.cos(lean), 0, -np.sin(lean)]]), areas_mm2=np.array([7.0]))
    found = common_path([box, plate], (0, 0, 1))
    assert not found.possible
    # towards x the plate opens and the wall facing -x closes, 20 - a = a - 5; a lean along y, which its walls allow until they
    # are undercut as much, takes a little off both: k = (sin a cos b, sin b, cos a cos b), a = 12.5
    sine, upright = np.sin(np.deg2rad(7.5)), np.cos(np.deg2rad(12.5))
    sideways = brentq(lambda b: sine * np.cos(b) - (np.sin(b) - 0.1 * np.cos(b) * upright) / np.hypot(1, 0.1), 0, 1)
    assert found.reserve_deg == pytest.approx(-np.rad2deg(np.arcsin(sine * np.cos(sideways))), abs=1e-3)
    assert found.undercut_mm2[1] == pytest.approx(7)
    assert found.undercut_mm2[0] in (pytest.approx(12 + 13), pytest.approx(12 + 14))


@settings(max_examples=25)
@given(st.floats(6, 24), st.floats(6, 24), st.floats(0, 30), st.floats(0, 360))
def test_turning_all_teeth_turns_the_path(first: float, second: float, apart: float, turn: float) -> None:
    straight = common_path([cone(first, 0, 0, 36), cone(second, apart, 0, 36)], (0, 0, 1))
    other = common_path([cone(first, 0, turn, 36), cone(second, apart, turn, 36)], (0, 0, 1))
    assert other.reserve_deg == pytest.approx(straight.reserve_deg, abs=1e-4)
    if abs(straight.reserve_deg) > 0.01:
        assert other.possible == straight.possible


@settings(max_examples=25)
@given(st.floats(4, 20), st.floats(0, 25))
def test_every_corner_and_the_best_clear_all_walls(taper: float, apart: float) -> None:
    teeth = [cone(2 * taper, 0, 0, 36), cone(14, apart, 40, 36)]
    found = common_path(teeth, (0, 0, 1))
    normals = np.concatenate([tooth.normals for tooth in teeth])
    for path in found.corners:
        assert (normals @ path).min() > -1e-7
    grid = np.deg2rad(np.arange(0, 30, 3.0))
    tried = [[np.sin(t) * np.cos(p), np.sin(t) * np.sin(p), np.cos(t)] for t in grid for p in np.deg2rad(np.arange(0, 360, 30))]
    best = float((normals @ found.best).min())
    assert best >= (normals @ np.array(tried).T).min(axis=0).max() - 1e-9  # no path tried is better


def test_a_guess_or_teeth_that_are_none_are_refused() -> None:
    for guess in ((0, 0, 0), (1, 2), (np.nan, 0, 1)):
        with pytest.raises(ValueError, match="first guess"):
            common_path([cone(12, 0)], guess)
    for teeth in ([], [WallsOfTooth(normals=np.zeros((0, 3)), areas_mm2=np.zeros(0))]):
        with pytest.raises(ValueError, match="has walls"):
            common_path(teeth, (0, 0, 1))


def test_no_path_is_looked_for_further_than_forty_five_degrees_from_the_guess() -> None:
    """One wall, which looks sideways: the best of all paths is along it, 80 degrees off; of those looked for, at their edge."""
    wall = WallsOfTooth(normals=np.array([[np.cos(np.deg2rad(10)), 0, np.sin(np.deg2rad(10))]]), areas_mm2=np.ones(1))
    found = common_path([wall], (0, 0, 1))
    assert abs(found.best[0] / found.best[2]) == pytest.approx(1, abs=1e-5)
    assert len(found.corners) >= 3
    assert (found.corners @ wall.normals[0]).min() >= -1e-9

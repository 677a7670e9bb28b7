"""The ferrule map: what counts, what is said of a sector, and that what is not known is never praised."""

import numpy as np
import pytest

from collum.core.crown.ferrule import FerruleMap, counted_height_mm, ferrule_map, wall_left_mm

STATIONS = np.arange(0, 360, 10.0)
PALATAL = np.abs(STATIONS - 180) <= 30
TALL, WALL = np.full(36, 2.5), np.full(36, 2.5)


def mapped(height: np.ndarray = TALL, wall: np.ndarray = WALL, loaded: np.ndarray = PALATAL) -> FerruleMap:
    return ferrule_map(STATIONS, height, wall, loaded, axial_reduction_mm=1.0, wanted_mm=2.0)


def changed(values: np.ndarray, where: np.ndarray, to: float) -> np.ndarray:
    return np.where(where, to, values)


def test_a_whole_ferrule() -> None:
    found = mapped()
    assert (found.extent, found.covered_deg, found.least_loaded_mm, found.wall_measured) == ("all round", 360, 2.5, True)
    assert {sector.state for sector in found.sectors} == {"enough"}
    assert [sector.centre_deg for sector in found.sectors] == [0, 45, 90, 135, 180, 225, 270, 315]
    assert sum(sector.covered_deg for sector in found.sectors) == 360
    assert [sector.loaded for sector in found.sectors] == [False, False, False, True, True, True, False, False]


def test_a_partial_ferrule_is_told_by_where_the_load_is() -> None:
    facial = np.abs((STATIONS + 180) % 360 - 180) <= 20
    on_load = mapped(changed(TALL, facial, 0.0))
    assert on_load.extent == "on the loaded sides" and on_load.covered_deg == 310 and on_load.worst == 0
    off_load = mapped(changed(TALL, STATIONS == 180, 1.99))
    assert off_load.extent == "partial" and off_load.least_loaded_mm == 1.99
    assert off_load.sectors[4].state == "short" and off_load.sectors[4].counted_mm == 1.99 and off_load.worst == 4
    assert mapped(np.zeros(36)).extent == "none"


def test_a_loaded_sector_is_worst_where_two_count_alike() -> None:
    both = changed(TALL, (STATIONS == 0) | (STATIONS == 180), 0.0)
    assert mapped(both).worst == 4


@pytest.mark.parametrize(("wall_mm", "state"), [(1.99, "thin wall"), (2.0, "enough")])
def test_a_wall_is_judged_after_reduction(wall_mm: float, state: str) -> None:
    found = mapped(wall=changed(WALL, STATIONS == 90, wall_mm))
    assert found.sectors[2].state == state
    assert found.sectors[2].wall_left_mm == pytest.approx(wall_mm - 1)
    assert found.sectors[2].height_mm == 2.5


@pytest.mark.parametrize(("height_mm", "state"), [(-0.1, "none"), (0.0, "none"), (1.9, "short"), (2.0, "enough")])
def test_an_edge_at_or_below_the_finish_line_is_none(height_mm: float, state: str) -> None:
    assert mapped(changed(TALL, STATIONS == 90, height_mm)).sectors[2].state == state


def test_a_wall_that_was_not_measured_leaves_the_height_and_says_so() -> None:
    found = mapped(wall=np.full(36, np.nan))
    assert found.extent == "all round" and not found.wall_measured
    assert {sector.state for sector in found.sectors} == {"enough, wall not measured"}
    assert {sector.wall_left_mm for sector in found.sectors} == {None}
    one = mapped(wall=changed(WALL, STATIONS == 90, np.nan))
    assert not one.wall_measured and one.sectors[2].state == "enough, wall not measured" and one.sectors[3].state == "enough"


def test_a_height_that_is_not_known_passes_nothing_and_hides_no_lack() -> None:
    unknown = changed(TALL, STATIONS == 180, np.nan)
    found = mapped(unknown)
    assert found.extent == "not assessed" and found.least_loaded_mm is None and found.sectors[4].state == "not assessed"
    assert found.covered_deg == 350
    lacking = mapped(changed(unknown, STATIONS == 170, 0.5))
    assert lacking.extent == "partial" and lacking.sectors[4].state == "short"
    thin = mapped(unknown, changed(WALL, STATIONS == 180, 1.0))
    assert thin.sectors[4].state == "thin wall" and thin.least_loaded_mm == 0


def test_more_reduction_never_helps() -> None:
    rng = np.random.default_rng(5)
    for _ in range(50):
        height, wall = rng.uniform(-1, 4, 36), rng.uniform(0.5, 3, 36)
        less, more = (
            ferrule_map(STATIONS, height, wall, PALATAL, axial_reduction_mm=reduction, wanted_mm=2.0)
            for reduction in (0.5, 1.2)
        )
        assert more.covered_deg <= less.covered_deg
        assert more.least_loaded_mm is not None and less.least_loaded_mm is not None
        assert more.least_loaded_mm <= less.least_loaded_mm


def test_mirrored_stations_give_the_mirrored_map() -> None:
    rng = np.random.default_rng(6)
    height = rng.uniform(0, 4, 36)
    mirror = (-np.arange(36)) % 36
    # A sector is closed on the side where angles grow; 8 sectors of 45 degrees hold 10-degree stations without one on an edge.
    found, mirrored = mapped(height), mapped(height[mirror])
    assert found.covered_deg == mirrored.covered_deg and found.least_loaded_mm == mirrored.least_loaded_mm
    assert [s.counted_mm for s in found.sectors] == [mirrored.sectors[-i % 8].counted_mm for i in range(8)]


def test_what_makes_no_map_is_refused() -> None:
    with pytest.raises(ValueError, match="no station is loaded"):
        mapped(loaded=np.zeros(36, dtype=bool))
    with pytest.raises(ValueError, match="no station within the sector at 45 degrees"):
        ferrule_map([0.0, 90.0, 180.0, 270.0], [2.0] * 4, [2.0] * 4, [True] * 4, axial_reduction_mm=1.0, wanted_mm=2.0)


def test_walls_and_heights_never_go_below_nothing() -> None:
    assert float(wall_left_mm(0.5, 1.0)) == 0 and np.isnan(wall_left_mm(np.nan, 1.0))
    assert float(counted_height_mm(-1.0, 2.0)) == 0 and float(counted_height_mm(np.nan, 0.5)) == 0
    assert np.isnan(counted_height_mm(np.nan, 2.0))

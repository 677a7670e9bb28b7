"""Grids: planes, volumes, and how points are shared by cells."""

import numpy as np
import pytest

from collum.core.heat.grid import Grid, even_edges, graded_edges


def a_grid() -> Grid:
    return Grid(x_mm=even_edges(0, 4, 0.5), y_mm=graded_edges((-3, 5), (0, 1), 0.25, 1.3), z_mm=even_edges(-1, 1, 0.5))


def test_graded_planes_cover_the_whole_and_are_even_inside() -> None:
    edges = graded_edges((-10, 7), (-1, 1), 0.2, 1.3)
    assert (edges[0], edges[-1]) == (-10, 7)
    widths = np.diff(edges)
    inside = (edges[:-1] > -1.01) & (edges[1:] < 1.01)
    assert widths[inside] == pytest.approx(0.2)
    # The growing steps are stretched or squeezed a little so that the last plane is the outermost.
    assert np.all(np.diff(widths[edges[:-1] > 0.99]) > 0)
    assert widths[edges[:-1] > 0.99][0] == pytest.approx(0.26, rel=0.15)


def test_a_fine_stretch_that_fills_the_whole_leaves_nothing_to_grade() -> None:
    assert graded_edges((0, 1), (0, 1), 0.25, 1.3) == pytest.approx([0, 0.25, 0.5, 0.75, 1])


@pytest.mark.parametrize(("outer", "inner", "growth"), [((0, 1), (-1, 1), 1.2), ((0, 1), (1, 0), 1.2), ((0, 1), (0, 1), 0.9)])
def test_planes_that_cannot_be_are_refused(outer: tuple[float, float], inner: tuple[float, float], growth: float) -> None:
    with pytest.raises(ValueError, match="fine stretch"):
        graded_edges(outer, inner, 0.1, growth)


def test_planes_that_do_not_rise_are_refused() -> None:
    with pytest.raises(ValueError, match="rising"):
        Grid(x_mm=np.array([0, 1, 1]), y_mm=even_edges(0, 1, 0.5), z_mm=even_edges(0, 1, 0.5))


def test_volumes_add_up_and_faces_times_widths_are_volumes() -> None:
    grid = a_grid()
    assert grid.volume_mm3().sum() == pytest.approx(4 * 8 * 2)
    for axis in range(3):
        widths = np.moveaxis(np.broadcast_to(grid.widths_mm(axis), (1, 1, grid.shape[axis])), 2, axis)
        assert grid.area_mm2(axis) * widths == pytest.approx(grid.volume_mm3())


def test_sampling_is_exact_for_a_linear_field_and_flat_outside() -> None:
    grid = a_grid()
    x, y, z = grid.mesh_mm()
    field = np.broadcast_to(1 + 2 * x - 3 * y + 0.5 * z, grid.shape)
    points = np.array([[1.1, 0.3, 0.2], [3.2, 2.0, -0.6], [-9, 0.3, 0.2]])
    expected = 1 + 2 * np.array([1.1, 3.2, 0.25]) - 3 * points[:, 1] + 0.5 * points[:, 2]
    assert grid.shares(points).sample(field) == pytest.approx(expected)


def test_shares_within_solid_cells_still_sum_to_one_and_refuse_a_point_in_air() -> None:
    grid = a_grid()
    shares = grid.shares(np.array([[1.1, 0.3, 0.2]]))
    solid = np.broadcast_to(grid.mesh_mm()[0] > 1, grid.shape)
    kept = shares.within(solid)
    assert kept.weight.sum() == pytest.approx(1)
    assert kept.sample(np.where(solid, 5.0, 0.0)) == pytest.approx(5)
    with pytest.raises(ValueError, match="lie in air"):
        shares.within(np.zeros(grid.shape, dtype=bool))

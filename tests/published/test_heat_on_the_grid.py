"""The work-horse on grids beside closed forms: what is left is the error of the grid, and it falls as the square of the step.

Sources: the closed forms of tests/making/heat_solutions.py, whose values are checked in test_heat_closed_forms.py. Each
tolerance says where it comes from; figures in brackets were seen when the test was written.
"""

from collections.abc import Callable

import numpy as np
import pytest
from scipy.special import erf

from collum.core.heat.alternating import AlternatingRun
from collum.core.heat.body import FAR, INSULATED, Body, HeatEntering, Walls
from collum.core.heat.grid import Grid, even_edges, graded_edges
from collum.core.heat.sources import WireStroke, deposit, needle
from collum.core.heat.tissues import Tissue
from tests.making import heat_solutions as exact
from tests.making.heat_solutions import Medium, S, Slab

Array = np.ndarray
DOUBLE = np.float64
CLOSED = (INSULATED, INSULATED)
AT_ONCE_S = 1e-9
UNPERFUSED = Medium(b=0)
BONE = Medium(k=0.32, c=2.505204, b=0)


def tissue_of(medium: Medium) -> Tissue:
    return Tissue(conductivity=medium.k, capacity=medium.c, perfusion=medium.b)


def body_of(grid: Grid, medium: Medium = S, *, walls: Walls, film: float = 0) -> Body:
    number = np.zeros(grid.shape, dtype=np.int64)
    return Body.of(grid, (tissue_of(medium),), number, film=film, walls=walls)


def column(z: Array, *, ends: tuple[float, float], medium: Medium = S) -> Body:
    """A column along z whose sides are closed, so that heat flows along z only."""
    across = np.array([0, 0.5, 1.0])
    return body_of(Grid(x_mm=across, y_mm=across, z_mm=z), medium, walls=(CLOSED, CLOSED, ends))


def entering(energy: Array) -> HeatEntering:
    return HeatEntering(cell=np.arange(energy.size), energy_mJ=energy.reshape(-1))


def run_for(run: AlternatingRun, seconds: float, steps: int, source: Callable[[float], HeatEntering] | None = None) -> None:
    """Go on in equal steps; a source gives the energy of the step around an instant."""
    length = seconds / steps
    for i in range(steps):
        run.step(length, source((i + 0.5) * length) if source else None)


def at(run: AlternatingRun, body: Body, *places: tuple[float, float, float]) -> Array:
    return body.grid.shares(np.array(places, dtype=float)).sample(run.rise_degC())


def gaussian_share(edges: Array, centre: float, sigma: float) -> Array:
    return np.diff(erf((edges - centre) / (sigma * np.sqrt(2)))) / 2


def octant_error(step: float, r: float) -> float:
    """Relative error of the ball source at t = 5 s, an eighth of it between closed planes."""
    edges = even_edges(0, 8, step)
    body = body_of(Grid(x_mm=edges, y_mm=edges, z_mm=edges), walls=((INSULATED, FAR),) * 3)
    part = gaussian_share(edges, 0, 0.3)
    run = AlternatingRun(body)
    source = entering(200 * 0.1 * part[:, None, None] * part[None, :, None] * part[None, None, :])
    run_for(run, 5, 50, lambda t: source)
    # The centres of cells lie half a step from each plane: compared there, so that nothing is interpolated.
    near = step / 2
    place = (r + near, near, near)
    return abs(at(run, body, place)[0] / exact.ball(200, 0.3, float(np.linalg.norm(place)), 5) - 1)


@pytest.mark.slow
@pytest.mark.parametrize(("r", "coarse", "fine"), [(0, 0.04, 0.01), (1, 0.04, 0.005), (2, 0.04, 0.01)])
def test_v2g_ball_source_within_what_its_grid_allows(r: float, coarse: float, fine: float) -> None:
    # 0.2 mm 3 %, 0.1 mm 0.7 % were seen with an explicit scheme at the centre: 4 % and 1 %; 1 mm away 1.0 % and 0.24 %.
    assert octant_error(0.2, r) < coarse
    assert octant_error(0.1, r) < fine


def test_v4_moving_line_behind_the_wire() -> None:
    step, speed = 0.1, 7.0
    x, y = graded_edges((-8, 22), (0, 20.2), step, 1.2), graded_edges((0, 8), (0, 1), step / 2, 1.2)
    body = body_of(Grid(x_mm=x, y_mm=y, z_mm=np.array([0, 0.5, 1.0])), walls=((FAR, FAR), (INSULATED, FAR), CLOSED))
    run = AlternatingRun(body)
    length = step / speed
    first = int(np.searchsorted(x, 0.0 - step / 2))
    for i in range(200):
        cells = np.ravel_multi_index((np.full(2, first + i), np.zeros(2, int), np.arange(2)), body.grid.shape)
        # Half of 500 mJ/(s mm) over 1 mm of wire, half of it in each of two cells.
        run.step(length, HeatEntering(cell=cells, energy_mJ=np.full(2, 500 * length / 4)))
    wire = x[first + 200]
    found = at(run, body, (wire - 5, step / 4, 0.5), (wire - 2, 0.5, 0.5))
    expected = exact.moving_line(500, speed, -5, step / 4), exact.moving_line(500, speed, -2, 0.5)
    # The wire is two half cells wide (0.0008 of 0.076 mm2 of spread 2 mm behind, on a steep flank): 3 %, and 1 % behind it.
    assert found == pytest.approx(expected, rel=0.03)
    assert found[0] == pytest.approx(expected[0], rel=0.01)


@pytest.mark.parametrize(("x", "t", "rise"), [(0.5, 1, 7.6351153), (1, 1, 1.8501340), (1, 8, 3.2946022), (2, 8, 1.6217980)])
def test_v4c_plane_left_at_once(x: float, t: float, rise: float) -> None:
    # Half of the plane's heat, all in the first cell of a closed end: its width of 0.05 mm costs less than 0.5 %.
    body = column(graded_edges((0, 15), (0, 4), 0.05, 1.1), ends=(INSULATED, FAR))
    energy = np.zeros(body.grid.shape)
    energy[:, :, 0] = 30 / 4
    run = AlternatingRun(body, DOUBLE)
    run.step(AT_ONCE_S, entering(energy))
    run_for(run, 0.2, 40)
    run_for(run, t - 0.2, 80)
    assert at(run, body, (0.5, 0.5, x))[0] == pytest.approx(rise, rel=5e-3)


@pytest.mark.parametrize(("z", "t"), [(1, 10), (1, 60), (3, 60)])
def test_v5a_surface_cooled_by_a_film(z: float, t: float) -> None:
    # Seen from the fluid: 12 K everywhere, blood that brings 12 K, a film to 0.
    body = column(graded_edges((0, 40), (0, 5), 0.1, 1.1), ends=(0.05, FAR))
    run = AlternatingRun(body, DOUBLE)
    run.step(AT_ONCE_S, entering(12 * body.heat_capacity_mJ_K()))
    steps = 240
    far = 12 * body.loss_mW_K(2) * (np.arange(body.grid.shape[2]) == body.grid.shape[2] - 1)
    per_step = entering((12 * body.perfusion_mW_K() + far) * t / steps)
    run_for(run, t, steps, lambda _: per_step)
    assert at(run, body, (0.5, 0.5, z))[0] - 12 == pytest.approx(exact.cooled_surface(-12, 0.05, z, t), rel=5e-3)


def test_v5b_point_under_a_film() -> None:
    step = 0.1
    across, down = graded_edges((0, 12), (0, 2.5), step, 1.2), graded_edges((0, 14), (0, 3), step, 1.2)
    body = body_of(Grid(x_mm=across, y_mm=across, z_mm=down), walls=((INSULATED, FAR), (INSULATED, FAR), (0.05, FAR)))
    energy = np.zeros(body.grid.shape)
    energy[0, 0, 9:11] = 500 / 4 / 2
    run = AlternatingRun(body)
    run.step(AT_ONCE_S, entering(energy))
    run_for(run, 1, 40)
    run_for(run, 4, 40)
    half = step / 2
    found = at(run, body, (half, half, 2), (1, half, half), (half, half, half))
    flat = half * np.sqrt(2)
    expected = [
        exact.point_under_film(500, 1, 0.05, flat, 2, 5),
        exact.point_under_film(500, 1, 0.05, np.hypot(1, half), half, 5),
        exact.point_under_film(500, 1, 0.05, flat, half, 5),
    ]
    # A point spread over a cell of 0.2 mm on 1.1 mm of spread: 0.5 %; steps that start from a cell at once add as much.
    assert found == pytest.approx(expected, rel=0.01)


@pytest.mark.parametrize(("z", "t", "rise"), [(1, 30, 2.5810436), (2, 30, 1.4479987)])
def test_v5d_flux_through_the_surface(z: float, t: float, rise: float) -> None:
    body = column(graded_edges((0, 40), (0, 5), 0.1, 1.1), ends=(INSULATED, FAR))
    energy = np.zeros(body.grid.shape)
    energy[:, :, 0] = 1 * 0.1 / 4
    source = entering(energy)
    run = AlternatingRun(body, DOUBLE)
    run_for(run, t, 300, lambda _: source)
    assert at(run, body, (0.5, 0.5, z))[0] == pytest.approx(rise, rel=5e-3)


@pytest.mark.parametrize(("x", "t"), [(1, 10), (2, 10), (4, 10), (2, 60), (4, 60)])
@pytest.mark.parametrize("perfusion", [(0.0, 0.0), (S.b, 0.79924e-3)], ids=["unperfused", "perfused"])
def test_v6_two_layers_with_the_face_on_a_plane_of_the_grid(x: float, t: float, perfusion: tuple[float, float]) -> None:
    media = Medium(b=perfusion[0]), Medium(k=0.32, c=2.505204, b=perfusion[1])
    across = np.array([0, 0.5, 1.0])
    grid = Grid(x_mm=across, y_mm=across, z_mm=even_edges(0, 6, 0.05))
    number = np.broadcast_to(grid.centres_mm(2) > 2, grid.shape).astype(np.int64)
    body = Body.of(grid, tuple(map(tissue_of, media)), number, film=0, walls=(CLOSED, CLOSED, (FAR, FAR)))
    steps = round(t / 0.1)
    # A wall held at 20 K gives what it would take at 0, times 20.
    wall = 20 * body.loss_mW_K(2) * (np.arange(120) == 0)
    per_step = entering(wall * t / steps)
    run = AlternatingRun(body, DOUBLE)
    run_for(run, t, steps, lambda _: per_step)
    below, above = at(run, body, (0.5, 0.5, x - 0.025), (0.5, 0.5, x + 0.025))
    # At the face between two layers the flux is one and the same: each side counts by its conductivity.
    share = media[0].k / (media[0].k + media[1].k) if x == 2 else 0.5
    assert share * below + (1 - share) * above == pytest.approx(Slab((2, 4), media, 20).rise(x, t), rel=5e-3)


def manufactured_error(cells: int, steps: int, *, varying: bool, seconds: float = 5.0) -> float:
    """Root of the mean square error of V7 with an amplitude of 20 K on a box of 6 x 8 x 5 mm, walls held at rest."""
    lengths, amplitude, tau, eps = (6.0, 8.0, 5.0), 20.0, 5.0, 0.4 if varying else 0.0
    edges = [even_edges(0, length, length / (n * cells)) for length, n in zip(lengths, (3, 4, 2), strict=True)]
    grid = Grid(x_mm=edges[0], y_mm=edges[1], z_mm=edges[2])
    x, y, z = grid.mesh_mm()
    shape = np.sin(np.pi * x / 6) * np.sin(np.pi * y / 8) * np.sin(np.pi * z / 5)
    slope = np.pi / 6 * np.cos(np.pi * x / 6) * np.sin(np.pi * y / 8) * np.sin(np.pi * z / 5)
    k = np.broadcast_to(0.5 * (1 + eps * np.sin(np.pi * x / 6)), grid.shape)
    full = np.ones(grid.shape)
    body = Body(
        grid=grid,
        conductivity=k,
        capacity=S.c * full,
        perfusion=S.b * full,
        solid=full > 0,
        film=0,
        walls=((FAR, FAR), (FAR, FAR), (FAR, FAR)),
    )
    modes = sum((np.pi / length) ** 2 for length in lengths)

    def heat(t: float) -> Array:
        grown = 1 - np.exp(-t / tau)
        own = amplitude * shape * (S.c / tau * np.exp(-t / tau) + (k * modes + S.b) * grown)
        return own - 0.5 * eps * np.pi / 6 * np.cos(np.pi * x / 6) * amplitude * slope * grown

    run = AlternatingRun(body, DOUBLE)
    volume, length = grid.volume_mm3(), seconds / steps
    run_for(run, seconds, steps, lambda t: entering(heat(t) * volume * length))
    error = run.rise_degC() - amplitude * shape * (1 - np.exp(-seconds / tau))
    return float(np.sqrt((error**2 * volume).sum() / volume.sum()))


@pytest.mark.slow
@pytest.mark.parametrize("varying", [False, True], ids=["constant", "varying"])
def test_v7_the_order_in_space_is_two(varying: bool) -> None:
    errors = [manufactured_error(cells, 100, varying=varying) for cells in (3, 6, 12)]
    assert np.log2(np.array(errors[:-1]) / errors[1:]) == pytest.approx(2, abs=0.1)


def test_v7_the_order_in_time_is_two() -> None:
    still = manufactured_error(4, 640, varying=True)
    errors = np.array([manufactured_error(4, steps, varying=True) for steps in (5, 10, 20)]) - still
    assert np.log2(np.abs(errors[:-1] / errors[1:])).min() >= 1.9


def test_v7_a_mode_decays_at_its_own_rate() -> None:
    grid = Grid(x_mm=even_edges(0, 6, 0.5), y_mm=even_edges(0, 8, 0.5), z_mm=even_edges(0, 5, 0.5))
    x, y, z = grid.mesh_mm()
    body = body_of(grid, walls=((FAR, FAR), (FAR, FAR), (FAR, FAR)))
    mode = 20 * np.sin(np.pi * x / 6) * np.sin(np.pi * y / 8) * np.sin(np.pi * z / 5)
    run = AlternatingRun(body, DOUBLE)
    run.step(AT_ONCE_S, entering(mode * body.heat_capacity_mJ_K()))
    run_for(run, 10, 50)
    rate = -np.log(run.rise_degC()[6, 8, 5] / mode[6, 8, 5]) / 10
    assert rate == pytest.approx(0.11416857, rel=0.01)


@pytest.mark.slow
def test_v8b_three_strokes_on_one_track() -> None:
    step, sigma = 0.1, 0.3
    x, y = graded_edges((-14, 14), (-4.3, 4.3), step, 1.25), graded_edges((0, 10), (0, 1.2), step, 1.25)
    body = body_of(Grid(x_mm=x, y_mm=y, z_mm=y), walls=((FAR, FAR), (INSULATED, FAR), (INSULATED, FAR)))
    across = gaussian_share(y, 0, sigma)
    flat = across[:, None] * across[None, :]
    run = AlternatingRun(body)
    for stroke in range(3):
        run_for(run, 1, 25, lambda t: entering(40 * gaussian_share(x, 7 * t - 3.5, sigma)[:, None, None] * flat))
        if stroke < 2:
            run_for(run, 1, 20)
            run_for(run, 7, 28)
    half = step / 2
    found = at(run, body, (0, half, 1), (0, 0.5, half))
    expected = [exact.three_strokes((0, 9, 18), (0, half, 1), 19), exact.three_strokes((0, 9, 18), (0, 0.5, half), 19)]
    # 2 % was guessed for 0.1 mm before it was tried; the second place lies on the steep flank of the third stroke.
    assert found == pytest.approx(expected, rel=0.02)


@pytest.mark.parametrize("medium", [S, UNPERFUSED], ids=["perfused", "unperfused"])
def test_v9_rectangular_sheet_laid_down_by_the_wire_itself(medium: Medium) -> None:
    x, z = graded_edges((-12, 12), (-1.5, 1.5), 0.2, 1.3), graded_edges((0, 15), (0, 3.6), 0.2, 1.3)
    y = graded_edges((-16, 16), (-4.1, 4.1), 0.2, 1.3)
    body = body_of(Grid(x_mm=x, y_mm=y, z_mm=z), medium, walls=((FAR, FAR), (FAR, FAR), (INSULATED, FAR)))
    entry = np.array([[0, -3.5, 0], [0, 3.5, 0]])
    stroke = WireStroke(sheets=needle(entry, entry + [0, 0, 2]), duration_s=AT_ONCE_S, heat_mJ_mm2=65)
    run = AlternatingRun(body)
    (part,) = deposit(body, stroke).parts
    run.step(AT_ONCE_S, part)
    run_for(run, 0.5, 10)
    run_for(run, 7.5, 40)
    places = ((0.0, 0.0, 3.0), (1.0, 0.0, 1.0), (0.0, 3.5, 1.0))
    expected = [exact.hot_sheet(65, *place, 8, length=7, depth=2, s=medium) for place in places]
    # The face is spread by a step of the grid across it (0.04 of 2.1 mm2 of spread) and shared between cells: 2 %.
    assert at(run, body, *places) == pytest.approx(expected, rel=0.02)

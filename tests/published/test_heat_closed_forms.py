"""The closed forms the grid is judged by, at places worked out before by two ways each.

Sources: Carslaw & Jaeger for the sources and the half spaces, Pennes for perfusion, Nyborg 1988 for the continuous point; the
figures were computed apart from this program (closed form against quadrature, Hankel or Laplace inversion) and agree there
to 1e-11. Tolerance 1e-7 of the value: half of the last digit of the figures as they were written down.
"""

import pytest

from tests.making import heat_solutions as exact
from tests.making.heat_solutions import Medium, S, Slab

NEAR = 1e-7
SHEET = {"length": 7.0, "depth": 2.0}
UNPERFUSED = Medium(b=0)
BONE = Medium(k=0.32, c=2.505204, b=0)


def near(value: float) -> object:
    return pytest.approx(value, rel=NEAR)


def test_the_base_set_of_properties() -> None:
    assert near(0.13227513228) == S.a
    assert near(5.2859788e-3) == S.beta
    assert near(0.19990497743) == S.m


@pytest.mark.parametrize(
    ("r", "t", "rise"),
    [
        (1, 1, 9.2754259),
        (1, 5, 3.6842528),
        (2, 1, 0.031980419),
        (2, 5, 1.1853851),
        (2, 10, 0.86928615),
        (3, 10, 0.33787377),
    ],
)
def test_v1_instantaneous_point(r: float, t: float, rise: float) -> None:
    assert exact.point(500, r, t) == near(rise)


@pytest.mark.parametrize(
    ("r", "t", "rise"),
    [
        (1, 1, 1.6446016),
        (1, 5, 12.087572),
        (1, 30, 22.150325),
        (2, 1, 0.0015980913),
        (2, 5, 1.2816461),
        (2, 30, 7.1220080),
        (3, 30, 2.7939348),
        (1, 1e5, 26.063486),
        (2, 1e5, 10.670503),
        (3, 1e5, 5.8247325),
    ],
)
def test_v2_continuous_point(r: float, t: float, rise: float) -> None:
    assert exact.steady_point(200, r, t) == near(rise)


@pytest.mark.parametrize(
    ("r", "t", "rise"),
    [(0, 1, 41.930734), (0, 5, 62.955459), (1, 1, 2.9259367), (1, 5, 12.565409), (2, 5, 1.4452937), (2, 30, 7.1685229)],
)
def test_v2g_gaussian_ball(r: float, t: float, rise: float) -> None:
    assert exact.ball(200, 0.3, r, t) == near(rise)


@pytest.mark.parametrize(
    ("speed", "xi", "y", "rise"),
    [
        (7, -1, 0, 159.03481),
        (7, -2, 0, 79.457380),
        (7, -5, 0, 31.711033),
        (7, -2, 0.5, 15.122362),
        (7, -10, 1, 4.1997293),
        (1, -1, 0, 158.31646),
        (1, 0, 0.5, 47.960811),
        (1, 0.2, 0, 175.25809),
    ],
)
def test_v3_moving_point(speed: float, xi: float, y: float, rise: float) -> None:
    assert exact.moving_point(1000, speed, xi, y) == near(rise)


@pytest.mark.parametrize(
    ("speed", "xi", "y", "rise"),
    [
        (7, -1, 0, 38.568854),
        (7, -5, 0, 17.260184),
        (7, -2, 0.5, 5.2782439),
        (7, -10, 1, 3.2423262),
        (1, -1, 0, 99.017350),
        (1, 0, 0.5, 20.694389),
        (1, 0.2, 0, 45.131399),
    ],
)
def test_v4_moving_line(speed: float, xi: float, y: float, rise: float) -> None:
    assert exact.moving_line(500, speed, xi, y) == near(rise)


@pytest.mark.parametrize(("r", "t", "rise"), [(0.5, 1, 9.8700719), (1, 5, 2.1242638), (1, 10, 1.2496309), (2, 15, 0.59211953)])
def test_v4b_instantaneous_line(r: float, t: float, rise: float) -> None:
    assert exact.line(100, r, t) == near(rise)


@pytest.mark.parametrize(
    ("x", "t", "rise"), [(0.15, 0.1, 25.433265), (0.5, 1, 7.6351153), (1, 1, 1.8501340), (1, 8, 3.2946022), (2, 15, 1.7739864)]
)
def test_v4c_instantaneous_plane(x: float, t: float, rise: float) -> None:
    assert exact.plane(60, x, t) == near(rise)


@pytest.mark.parametrize(
    ("source", "time", "peak"),
    [
        (lambda t: exact.plane(60, 1, t, UNPERFUSED), 3.78, 3.8408052),
        (lambda t: exact.line(100, 1, t, UNPERFUSED), 1.89, 3.0978747),
        (lambda t: exact.point(500, 1, t, UNPERFUSED), 1.26, 9.7375245),
    ],
    ids=["plane", "line", "point"],
)
def test_v4c_peaks_come_when_the_theory_says(source: object, time: float, peak: float) -> None:
    assert callable(source)
    assert source(time) == near(peak)
    assert source(time) > max(source(time * 0.999), source(time * 1.001))


@pytest.mark.parametrize(
    ("z", "t", "rise"),
    [(0, 10, -1.3880510), (0, 60, -2.7720440), (1, 10, -0.57650861), (1, 60, -1.9551069), (3, 60, -0.87325459)],
)
def test_v5a_cooled_surface(z: float, t: float, rise: float) -> None:
    assert exact.cooled_surface(-12, 0.05, z, t) == near(rise)


@pytest.mark.parametrize(
    ("rho", "z", "t", "rise"),
    [(0, 0, 1, 18.148148), (0, 0, 5, 6.8082877), (0, 2, 5, 3.8497245), (1, 0, 5, 4.6652464), (1, 3, 10, 0.78581530)],
)
def test_v5b_point_under_a_film(rho: float, z: float, t: float, rise: float) -> None:
    assert exact.point_under_film(500, 1, 0.05, rho, z, t) == near(rise)


@pytest.mark.parametrize(("rho", "z", "t", "rise"), [(0, 0, 5, 23.146200), (1, 0, 5, 9.2051976), (0, 3, 20, 6.3375864)])
def test_v5c_continuous_point_under_a_film(rho: float, z: float, t: float, rise: float) -> None:
    assert exact.steady_point_under_film(200, 1, 0.05, rho, z, t) == near(rise)


@pytest.mark.parametrize(("z", "t", "rise"), [(0, 5, 1.8192672), (0, 30, 4.2688265), (1, 30, 2.5810436), (2, 30, 1.4479987)])
def test_v5d_surface_flux(z: float, t: float, rise: float) -> None:
    assert exact.surface_flux(1, z, t) == near(rise)


@pytest.mark.parametrize(
    ("x", "t", "rise"),
    [(1, 2, 3.3841955), (1, 10, 11.039613), (2, 10, 5.2998162), (4, 10, 0.31740429), (2, 60, 14.052947), (4, 60, 6.3254499)],
)
def test_v6_two_layers(x: float, t: float, rise: float) -> None:
    assert Slab((2, 4), (UNPERFUSED, BONE), 20).rise(x, t) == near(rise)
    assert Slab((2, 4), (UNPERFUSED, BONE), 20).steady_face() == near(15.151515)


@pytest.mark.parametrize(("x", "t", "rise"), [(1, 10, 10.822771), (4, 10, 0.31097949), (1, 60, 16.206159), (4, 60, 5.9564024)])
def test_v6_two_layers_with_perfusion(x: float, t: float, rise: float) -> None:
    perfused = Slab((2, 4), (S, Medium(k=0.32, c=2.505204, b=0.79924e-3)), 20)
    assert perfused.rise(x, t) == near(rise)
    assert perfused.steady_face() == near(14.144737)


@pytest.mark.parametrize(
    ("t", "one", "two"),
    [
        (2, 5.3501401, 0.094150941),
        (5, 3.8329360, 0.89228072),
        (7, 7.7516567, 1.0132260),
        (10, 5.2548823, 1.6456030),
        (12, 8.8316514, 1.6562716),
        (20, 2.6779381, 1.6266937),
    ],
)
def test_v8a_cut_and_pause_at_a_fixed_place(t: float, one: float, two: float) -> None:
    def rise(r: float) -> float:
        pulses = ((0, 2), (5, 7), (10, 12))
        return sum(exact.steady_point(200, r, t - on) - exact.steady_point(200, r, t - off) for on, off in pulses)

    # The values at 2 mm are small differences of larger numbers: one digit less.
    assert rise(1) == near(one)
    assert rise(2) == pytest.approx(two, rel=5e-7)


@pytest.mark.parametrize(
    ("t", "rises"),
    [
        (1, (2.8510559, 0.0040408849, 15.340097, 1.3861312)),
        (9, (1.9414405, 1.0219673, 2.2793479, 1.7169254)),
        (19, (5.4839916, 1.6391767, 18.314058, 3.6707288)),
        (28, (3.1627145, 2.0672811, 3.5314181, 2.7428876)),
    ],
)
def test_v8b_three_strokes_on_one_track(t: float, rises: tuple[float, ...]) -> None:
    places = ((0.0, 0.0, 1.0), (0.0, 0.0, 2.0), (0.0, 0.5, 0.0), (2.0, 1.0, 0.0))
    assert [exact.three_strokes((0, 9, 18), place, t) for place in places] == [near(rise) for rise in rises]


@pytest.mark.parametrize(("t", "rise"), [(3, 4.0570942), (4, 6.3998510), (6, 6.7787070), (7, 8.8128196), (16, 4.1783035)])
def test_v8c_three_strokes_close_together(t: float, rise: float) -> None:
    assert exact.three_strokes((0, 3, 6), (0, 0, 1), t) == near(rise)


@pytest.mark.parametrize(
    ("place", "t", "medium", "rise"),
    [
        ((0, 0, 3), 2, S, 0.78948853),
        ((0, 0, 3), 8, S, 1.0923861),
        ((0, 0, 3), 15, S, 0.88432280),
        ((0, 0, 3.5), 8, S, 0.67232392),
        ((1, 0, 1), 4, S, 3.3874702),
        ((0, 3.5, 1), 8, S, 1.6600413),
        ((0, 0, 3), 8, UNPERFUSED, 1.1395714),
        ((1, 0, 1), 8, UNPERFUSED, 2.6905956),
    ],
)
def test_v9_rectangular_hot_sheet(place: tuple[float, float, float], t: float, medium: Medium, rise: float) -> None:
    assert exact.hot_sheet(65, *place, t, **SHEET, s=medium) == near(rise)


def test_an_image_under_an_insulated_surface_doubles_the_point_at_it() -> None:
    assert exact.point_under_film(500, 1, 0, 0, 0, 5) == pytest.approx(2 * exact.point(500, 1, 5), rel=1e-12)

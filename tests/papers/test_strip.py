"""The drawing of the neck: right side out, the plan's heights where they belong, and no name on another."""

import re
from typing import Any

import pytest

from collum.papers.frame import Path, spread
from collum.papers.strip import strip_svg, unrolled
from tests.papers.conftest import KEPT, full_plan, old_plan, route_of
from tests.papers.drawings import LABELS, SIZES, assert_clear, names
from tests.papers.four_routes import NAMES


def place_of(svg: str, said: str) -> float:
    return next(x for name, x, _, _ in names(svg) if name == said)


def drawing(plan: dict[str, Any], route: str | None = "soft tissue only", size: tuple[int, int] = (1300, 400)) -> str:
    """Draw the first tooth of a plan with one of its routes, or with its levels alone."""
    shown = None if route is None else route_of(plan, route)
    return strip_svg(plan["teeth"][0], shown, LABELS, width=size[0], height=size[1])


@pytest.mark.parametrize(("number", "mesial_left"), [(16, False), (46, False), (26, True), (36, True), (11, False), (31, True)])
def test_mesial_lies_where_it_lies_in_the_mouth(number: int, mesial_left: bool) -> None:
    """Before the patient: on the patient's right side the midline, and so mesial, is to the right of a tooth."""
    plan = old_plan("46-kept")
    plan["teeth"][0]["number"] = number
    svg = drawing(plan)
    assert (place_of(svg, "mesial") < place_of(svg, "F") < place_of(svg, "distal")) is mesial_left
    assert (place_of(svg, "MF") < place_of(svg, "F")) is mesial_left


def test_the_facial_side_is_in_the_middle_and_the_oral_station_at_both_ends() -> None:
    for number in (46, 36):
        tooth = old_plan("46-kept")["teeth"][0] | {"number": number}
        order, arcs = unrolled(tooth)
        assert order[0] == order[-1] == len(tooth["stations_deg"]) // 2
        assert sorted(order[1:]) == list(range(len(tooth["stations_deg"])))
        assert arcs == sorted(arcs)
        assert arcs[0] == pytest.approx(0) and arcs[-1] == pytest.approx(tooth["perimeter_mm"])
        assert arcs[order.index(0)] == pytest.approx(tooth["perimeter_mm"] / 2)


def test_heights_count_from_the_deepest_crest() -> None:
    plan = old_plan("46-kept")
    svg = drawing(plan)
    unit, zero = scale(svg)
    ends = heights(svg, 'stroke-width="4"')
    assert max(ends) == pytest.approx(zero, abs=1.5)
    crest = plan["teeth"][0]["levels"]["crest"]["mean_height_mm"]
    assert (max(ends) - min(ends)) / unit == pytest.approx(max(crest) - min(crest), abs=0.05)


def test_the_bone_to_be_taken_is_hatched_down_to_the_new_crest() -> None:
    plan = full_plan()
    route, crest = route_of(plan, "soft tissue and bone"), plan["teeth"][0]["levels"]["crest"]["mean_height_mm"]
    svg = drawing(plan, "soft tissue and bone", (1760, 520))
    assert 'fill="url(#taken)"' in svg
    unit, zero = scale(svg)
    after = heights(svg, 'stroke-width="6" stroke-dasharray="24 10"')
    deepest = (max(after) - zero) / unit
    assert deepest == pytest.approx(min(crest) - min(route["crest_after_height_mm"]), abs=0.05)
    for other in ("soft tissue only", "extrusion first", "restore without lengthening"):
        assert 'fill="url(#taken)"' not in drawing(plan, other)


def test_each_route_draws_its_own_lines() -> None:
    plan = full_plan()
    own = {"cut line", "margin sutured", "settled margin", "finish line", "crest after", "margin after"}
    drawn = {route: own & {said for said, *_ in names(drawing(plan, route, (1760, 520)))} for route in NAMES}
    assert drawn == {
        "restore without lengthening": {"finish line"},
        "soft tissue only": {"cut line", "settled margin", "finish line"},
        "soft tissue and bone": {"margin sutured", "settled margin", "finish line", "crest after"},
        "extrusion first": {"finish line", "crest after", "margin after"},
    }
    assert own & {said for said, *_ in names(drawing(plan, None))} == set()


@pytest.mark.parametrize("size", SIZES, ids=str)
@pytest.mark.parametrize("route", NAMES)
@pytest.mark.parametrize("name", KEPT)
def test_no_name_lies_on_another(name: str, route: str, size: tuple[int, int]) -> None:
    plan = full_plan(name)
    assert_clear(drawing(plan, route, size), size, at_least=6 + len(plan["teeth"][0]["sites"]))


@pytest.mark.parametrize("route", NAMES)
def test_only_black_white_and_grey_are_used(route: str) -> None:
    svg = drawing(full_plan(), route)
    colours = set(re.findall(r'(?:fill|stroke)="([^"]+)"', svg)) - {"none", "url(#bone)", "url(#tissue)", "url(#taken)"}
    assert colours == {"black", "white", "#d4d4d4", "#555"}


def test_a_name_is_never_markup() -> None:
    tooth = old_plan("46-kept")["teeth"][0]
    svg = strip_svg(tooth, None, LABELS | {"crest": '<script>&"'}, width=1300, height=400)
    assert "<script>" not in svg and "&lt;script&gt;&amp;" in svg


def test_a_path_closes_on_itself_smoothly() -> None:
    """The slope leaving the first point is the slope arriving at the last: both are one station."""
    path = str(Path([(0, 5), (10, 0), (20, 5), (30, 10), (40, 5)]))
    numbers = [float(n) for n in re.findall(r"-?[\d.]+", path)]
    leaving = (numbers[2] - numbers[0], numbers[3] - numbers[1])
    arriving = (numbers[-2] - numbers[-4], numbers[-1] - numbers[-3])
    assert leaving == pytest.approx(arriving, abs=0.11)
    assert leaving[1] == pytest.approx(-10 / 6, abs=0.06)


@pytest.mark.parametrize(
    ("wanted", "placed"),
    [
        ([0, 100, 50], [0, 100, 50]),
        ([50, 52], [50, 60]),
        ([98, 99, 100], [80, 90, 100]),
        ([5, 5, 5], [5, 15, 25]),
        ([], []),
    ],
)
def test_names_are_spread_in_their_order(wanted: list[float], placed: list[float]) -> None:
    assert spread(wanted, 10, 0, 100) == placed


def scale(svg: str) -> tuple[float, float]:
    """Return the size of a millimetre and where height 0 lies; a number stands 10 under its tick."""
    axis = {int(said): y for said, _, y, anchor in names(svg) if anchor == "end" and said.isdigit()}
    return (axis[0] - axis[4]) / 4, axis[0] - 10


def heights(svg: str, style: str) -> list[float]:
    """Return the ends of the pieces of the one line drawn in a style."""
    (line,) = re.findall(rf'<path d="([^"]*)" fill="none" stroke="black" {re.escape(style)}/>', svg)
    return [float(y) for y in re.findall(r" ([\d.]+)(?=C|$)", line)]

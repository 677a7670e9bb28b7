"""The drawing of the neck: right side out, the plan's heights where they belong, and no name on another."""

import re
from itertools import combinations
from typing import Any

import pytest

from collum.documents.frame import Path, spread
from collum.documents.strip import strip_svg, unrolled
from tests.documents.conftest import StoredPlan
from tests.making.case_documents import EIGHT, FOUR, SIX, TWELVE, case_document, healthy_document

LABELS = {
    name: name.replace("_", " ")
    for name in (
        "planned_edge",
        "sound_edge",
        "gingival_margin",
        "sulcus_base",
        "crest",
        "cut_line",
        "rest_line",
        "finish_line",
        "mesial",
        "distal",
    )
}
SIZES = ((1300, 400), (1760, 640), (1000, 380))
TYPE = 30  # size of the type in units of the drawing


def names(svg: str) -> list[tuple[str, float, float, str]]:
    """Every name on the drawing: text, x, y, anchor."""
    found = re.findall(r'<text x="([-\d.]+)" y="([-\d.]+)"([^>]*)>([^<]*)</text>', svg)
    return [
        (said, float(x), float(y), (re.search(r'anchor="(\w+)"', rest) or [None, "start"])[1] or "start")
        for x, y, rest, said in found
    ]


def place_of(svg: str, said: str) -> float:
    return next(x for name, x, _, _ in names(svg) if name == said)


@pytest.mark.parametrize(("number", "mesial_left"), [(16, False), (46, False), (26, True), (36, True), (11, False), (31, True)])
def test_mesial_lies_where_it_lies_in_the_mouth(stored_plan: StoredPlan, number: int, mesial_left: bool) -> None:
    """Before the patient: on the patient's right side the midline, and so mesial, is to the right of a tooth."""
    tooth = stored_plan(case_document(number))["teeth"][0]
    svg = strip_svg(tooth, LABELS, width=1300, height=400)
    assert (place_of(svg, "mesial") < place_of(svg, "F") < place_of(svg, "distal")) is mesial_left
    assert (place_of(svg, "MF") < place_of(svg, "F")) is mesial_left


def test_the_facial_side_is_in_the_middle_and_the_oral_station_at_both_ends(stored_plan: StoredPlan) -> None:
    for number in (46, 36):
        tooth = stored_plan(case_document(number))["teeth"][0]
        order, arcs = unrolled(tooth)
        assert order[0] == order[-1] == len(tooth["stations_deg"]) // 2
        assert sorted(order[1:]) == list(range(len(tooth["stations_deg"])))
        assert arcs == sorted(arcs)
        assert arcs[0] == pytest.approx(0) and arcs[-1] == pytest.approx(tooth["perimeter_mm"])
        assert arcs[order.index(0)] == pytest.approx(tooth["perimeter_mm"] / 2)


def test_heights_count_from_the_deepest_crest(stored_plan: StoredPlan) -> None:
    tooth = stored_plan(case_document())["teeth"][0]
    svg = strip_svg(tooth, LABELS, width=1300, height=400)
    axis = {int(said): y for said, _, y, anchor in names(svg) if anchor == "end" and said.isdigit()}
    unit = (axis[0] - axis[4]) / 4
    crest = re.search(r'<path d="([^"]*)" fill="none" stroke="black" stroke-width="4"/>', svg)
    assert crest is not None
    ends = [float(y) for y in re.findall(r" ([\d.]+)(?=C|$)", crest[1])]
    assert max(ends) == pytest.approx(axis[0] - 10, abs=1.5)  # a number stands 10 under its tick
    lowest, highest = min(tooth["levels"]["crest"]["mean"]), max(tooth["levels"]["crest"]["mean"])
    assert (max(ends) - min(ends)) / unit == pytest.approx(highest - lowest, abs=0.05)


@pytest.mark.parametrize("size", SIZES, ids=str)
@pytest.mark.parametrize("sites", [FOUR, SIX, EIGHT, TWELVE], ids=len)
@pytest.mark.parametrize("number", [15, 41])
def test_no_name_lies_on_another(stored_plan: StoredPlan, number: int, sites: tuple[str, ...], size: tuple[int, int]) -> None:
    tooth = stored_plan(case_document(number, sites))["teeth"][0]
    svg = strip_svg(tooth, LABELS, width=size[0], height=size[1])
    boxes = [_box(*name) for name in names(svg)]
    assert len(boxes) >= 8 + len(sites)
    assert [(a, b) for a, b in combinations(boxes, 2) if _overlap(a, b)] == []
    assert min(box[1] for box in boxes) >= 0 and max(box[2] for box in boxes) <= size[0]
    assert min(box[3] for box in boxes) >= 0 and max(box[4] for box in boxes) <= size[1]


def test_without_a_plan_the_plans_lines_are_left_out(stored_plan: StoredPlan) -> None:
    tooth = stored_plan(healthy_document())["teeth"][0]
    with_plan = {said for said, *_ in names(strip_svg(tooth, LABELS, width=1300, height=400))}
    without = {said for said, *_ in names(strip_svg(tooth, LABELS, width=1300, height=400, planned=False))}
    assert with_plan - without == {"cut line", "rest line", "finish line"}


def test_only_black_white_and_grey_are_used(stored_plan: StoredPlan) -> None:
    svg = strip_svg(stored_plan(case_document())["teeth"][0], LABELS, width=1300, height=400)
    colours = set(re.findall(r'(?:fill|stroke)="([^"]+)"', svg)) - {"none", "url(#bone)", "url(#tissue)"}
    assert colours == {"black", "white", "#d4d4d4", "#555"}


def test_a_name_is_never_markup(stored_plan: StoredPlan) -> None:
    svg = strip_svg(stored_plan(case_document())["teeth"][0], LABELS | {"crest": '<script>&"'}, width=1300, height=400)
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


def _box(said: str, x: float, y: float, anchor: str) -> tuple[str, float, float, float, float]:
    """The name with its box; a letter of this type is at most 0.62 of its size wide on average, bold included."""
    width = 0.62 * TYPE * len(said) if said.isdigit() or len(said) < 4 else 0.5 * TYPE * len(said)
    left = x - {"start": 0.0, "middle": width / 2, "end": width}[anchor]
    return (said, left, left + width, y - 0.7 * TYPE, y + 0.2 * TYPE)


def _overlap(a: Any, b: Any) -> bool:
    return bool(a[1] < b[2] and b[1] < a[2] and a[3] < b[4] and b[3] < a[4])

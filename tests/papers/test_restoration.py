"""The restoration sheet: the figures of the answer, drawings to scale, and a refusal where there is nothing to judge."""

import copy
import json
import re
from math import radians, tan
from typing import Any

import pytest

from collum.app.demo import demo_cases
from collum.app.plans.planning import Planner
from collum.case import from_document, to_document
from collum.papers import Answer, PaperRefused, paper
from collum.papers.restoration import restoration_drawings
from collum.papers.restoration_walls import NOT_READ, Walls, walls_of
from collum.wire.restoration.document import RouteRestorationDocument, ToothRestorationDocument
from collum.wording import text
from tests.measuring.sheets import answer_of
from tests.papers.conftest import HEAD, KEPT, OLD, full_plan, printed, shown
from tests.papers.pages import pages, words_of


def answered(name: str = "46-kept", **changes: Any) -> Answer:
    case = copy.deepcopy(OLD[name]["case"])
    case["teeth"][0] |= changes
    found = answer_of("restoration-sheet", case, full_plan(name)["teeth"][0]["number"])
    assert found is not None
    return found


def tooth_in(answer: Answer) -> ToothRestorationDocument:
    assert isinstance(answer.found, ToothRestorationDocument)
    return answer.found


def drawings_of(answer: Answer, name: str = "46-kept", walls: Walls = NOT_READ) -> dict[str, str]:
    return restoration_drawings(full_plan(name)["teeth"][0], tooth_in(answer), answer, walls)


@pytest.mark.parametrize("name", KEPT)
def test_the_figures_are_those_of_the_answer(name: str) -> None:
    plan = full_plan(name)
    found = tooth_in(answered(name))
    page = words_of(printed("restoration-sheet", plan))
    route = found.routes[0]
    assert text(f"paper.restoration.verdict.{route.verdict.replace(' ', '_')}", {"route": route.route}) in page
    for part in route.parts:
        for sentence in part.said:
            assert sentence.text in page
    assert route.stump is not None
    for gain in route.stump.gains:
        assert (
            f"{gain.said.text} {100 * (gain.weakest_share or 0):.0f} {shown(gain.gained_mm2)} {shown(gain.removed_mm3)}" in page
        )
    for one in route.retention:
        assert f"{one.low_n:.0f} to {one.high_n:.0f}" in page
    for sector in route.ferrule.sectors:
        assert sector.height_mm is not None and shown(max(sector.height_mm, 0)) in page
    for sentence in (*found.assumed, *found.not_assessed, *route.laboratory):
        assert sentence.text in page
    assert len(pages(printed("restoration-sheet", plan))) <= 3


def test_the_stump_is_drawn_to_scale() -> None:
    """Height of the facial wall and width of the neck, measured on the drawing, stand as the figures do."""
    found = tooth_in(answered())
    route = found.routes[0]
    assert route.stump is not None
    outline = _outline(drawings_of(answered())["section"])
    (x0, y0), (x1, y1), _, (x3, _) = outline
    scale = (x3 - x0) / route.facial_oral_mm
    assert (y0 - y1) / scale == pytest.approx(route.stump.height_mm[0], abs=0.02)  # a tenth of a unit in 26
    assert (x1 - x0) / (y0 - y1) == pytest.approx(_lean(route), abs=0.005)


def _ferrule_widths(drawing: str) -> list[float]:
    """The widths at the finish line of the dark parts, in units of the drawing: facial, oral, then the sides."""
    widths = []
    for path in re.findall(r'<path d="M([^"]+)Z" fill="#777"/>', drawing):
        (outer, _), _, _, (inner, _) = ((float(n) for n in point.split()) for point in path.split("L"))
        widths.append(abs(outer - inner))
    return widths


def test_the_ferrule_is_as_thick_as_the_wall_that_was_read_less_the_reduction() -> None:
    case = copy.deepcopy(OLD["46-kept"]["case"])
    tooth = case["teeth"][0]
    order = tooth["sites"]["order"]
    tooth["sites"]["step"] |= {"wall_thickness": 0.5}
    tooth["sites"]["wall_thickness"] = dict.fromkeys(order, 2.5)
    tooth.setdefault("restoration", {})["axial_reduction_mm"] = 0.9
    walls = walls_of(case, 46)
    assert walls.left_mm == pytest.approx(dict.fromkeys(("facial", "mesial", "oral", "distal"), 1.6))
    found = answered()
    route = tooth_in(found).routes[0]
    outline = _outline(drawings_of(found)["section"])
    scale = (outline[3][0] - outline[0][0]) / route.facial_oral_mm
    assert _ferrule_widths(drawings_of(found, walls=walls)["section"])[:2] == pytest.approx([1.6 * scale] * 2, abs=0.2)
    assert _ferrule_widths(drawings_of(found)["section"]) == []  # nothing was read: an outline


def test_no_post_is_drawn_where_the_walls_are_whole() -> None:
    case = next(to_document(case) for case in demo_cases() if case.patient.reference == "AQ-09")
    found = answer_of("restoration-sheet", case, 45)
    assert found is not None
    plan = json.loads(Planner(300).plan(from_document(case)).model_dump_json())["teeth"][0]
    post = re.compile(r'<path d="M[^"]+Z" fill="#777" stroke="black" stroke-width="2"/>')
    for walls, drawn in ((NOT_READ, True), (walls_of(case, 45), False)):
        assert bool(post.search(restoration_drawings(plan, tooth_in(found), found, walls)["section"])) is drawn


@pytest.mark.parametrize(
    ("thickness_mm", "missing", "whole"), [(2.0, [], True), (1.5, [], False), (2.0, ["ML"], False), (None, [], False)]
)
def test_walls_are_whole_where_enough_is_left_all_round(thickness_mm: float | None, missing: list[str], whole: bool) -> None:
    case = copy.deepcopy(OLD["46-kept"]["case"])
    tooth = case["teeth"][0] | {"missing_walls": missing, "restoration": {"axial_reduction_mm": 1.0}}
    if thickness_mm is not None:
        tooth["sites"]["step"] |= {"wall_thickness": 0.5}
        tooth["sites"]["wall_thickness"] = dict.fromkeys(tooth["sites"]["order"], thickness_mm)
    walls = walls_of({**case, "format": "collum-case/2", "teeth": [tooth]}, 46)
    assert walls.whole is whole


def test_the_ring_marks_half_and_the_weakest_direction() -> None:
    stump = tooth_in(answered()).routes[0].stump
    assert stump is not None
    drawing = drawings_of(answered())["rings"]
    radii = [float(radius) for radius in re.findall(r'<circle cx="440" cy="262" r="([\d.]+)"', drawing)]
    assert max(radii) * stump.asked_share in radii
    x, y = (float(number) for number in re.findall(r'<circle cx="([\d.]+)" cy="([\d.]+)" r="12"', drawing)[0])
    assert ((x - 440) ** 2 + (y - 262) ** 2) ** 0.5 / max(radii) == pytest.approx(stump.weakest_share, abs=0.001)


def test_mesial_lies_where_it_does_in_the_mouth() -> None:
    """On the patient's right to the right, on the left to the left, as in the other drawings."""
    for name, to_the_right in (("46-kept", True), ("21-kept-four-sites", False)):
        drawing = drawings_of(answered(name), name)["rings"]
        x = float(re.findall(r'<text x="([\d.]+)"[^>]*>mesial<', drawing)[0])
        assert (x > 440) is to_the_right


def test_a_root_filled_tooth_shows_its_window_and_a_vital_one_none() -> None:
    vital, filled = answered(), answered(vital=False, root={"length_mm": 20.0})
    assert [name for name in drawings_of(vital) if name.startswith("window")] == []
    drawings = drawings_of(filled)
    assert [name for name in drawings if name.startswith("window")] == ["window_distal"]
    for rule in tooth_in(filled).routes[0].posts[0].rules:
        if rule.length_mm is not None:
            assert text(f"restoration.rule.{rule.rule}") in drawings["window_distal"]


def test_without_a_finish_line_it_is_refused_with_the_reason() -> None:
    plan = full_plan()
    nothing = answered(vertical_root_fracture=True)
    with pytest.raises(PaperRefused, match="No procedure for this tooth has a finish line"):
        paper("restoration-sheet", plan, tooth=0, head=HEAD, case=OLD["46-kept"]["case"], answer=nothing)


def _outline(drawing: str) -> list[tuple[float, float]]:
    """Return the corners of the stump: the one grey area."""
    path = re.findall(r'<path d="M([^"]+)Z" fill="#ddd"/>', drawing)[0]
    return [(float(x), float(y)) for x, y in (corner.split() for corner in path.split("L"))]


def _lean(route: RouteRestorationDocument) -> float:

    return tan(radians(route.convergence_deg / 2))

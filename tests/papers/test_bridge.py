"""The bridge sheet: the figures of the answer, the wishes of the stored case, drawings to scale, refusals with the reason."""

import copy
import json
import re
from functools import cache
from importlib import resources
from typing import Any

import pytest

from collum.app.plans.bridge import bridges_of_plan
from collum.app.plans.planning import Planner
from collum.case import Case, read, to_document, with_wishes
from collum.papers import PaperRefused, paper
from collum.papers.bridge import bridge_drawings
from collum.papers.bridge_span import bending_drawn, life_size
from collum.wire.bridge.document import BridgeDocument
from tests.measuring.sheets import answer_of
from tests.papers.conftest import HEAD
from tests.papers.pages import missing_glyphs, pages, words_of


@cache
def stored(reference: str) -> tuple[Case, dict[str, Any]]:
    """A demo case and its plan as the record holds it."""
    file = resources.files("collum.demo_practice") / f"{reference}.toml"
    case = read(file.read_bytes(), kind="toml")
    return case, json.loads(Planner(300).plan(case).model_dump_json())


def sheet(case: Case, plan: dict[str, Any], tooth: int = 0) -> bytes:
    return drawn_of(to_document(case), plan, tooth)


def drawn_of(case: dict[str, Any], plan: dict[str, Any], tooth: int = 0) -> bytes:
    answer = answer_of("bridge-sheet", case, plan["teeth"][tooth]["number"])
    return paper("bridge-sheet", plan, tooth=tooth, head=HEAD, case=case, answer=answer)


def found_in(case: Case, plan: dict[str, Any]) -> BridgeDocument:
    found = answer_of("bridge-sheet", to_document(case), plan["teeth"][0]["number"])
    assert found is not None and isinstance(found.found, BridgeDocument)
    return found.found


@pytest.mark.parametrize("reference", ["AQ-26", "AQ-31"])
def test_the_sheet_says_what_the_answer_says(reference: str) -> None:
    case, plan = stored(reference)
    (bridge,) = bridges_of_plan(case, Planner(300).planned(case)).bridges
    pdf = sheet(case, plan)
    page = words_of(pdf)
    assert missing_glyphs(pdf) == 0 and len(pages(pdf)) <= 3
    for sentence in (*bridge.answer, *bridge.lacks, *bridge.to_weigh, *bridge.what_would_help, *bridge.not_assessed):
        assert sentence.text in page
    for connector in bridge.connectors:
        assert f"{connector.height_mm:.1f} × {connector.width_mm:.1f}" in page
        low, high = (f"{end:.0f}" for end in (min(connector.worst_stress_mpa), max(connector.worst_stress_mpa)))
        assert f"{low} to {high}" in page
    for ratio in bridge.ratios:
        assert ratio.ratio is None or f"{ratio.ratio:.2f}" in page
    for pontic in bridge.pontics:
        assert pontic.answer.text in page


def test_the_sheet_of_either_abutment_is_the_same_bridge_and_the_same_bytes_again() -> None:
    case, plan = stored("AQ-26")
    assert sheet(case, plan, 0) == sheet(case, plan, 0)
    assert words_of(sheet(case, plan, 1)) == words_of(sheet(case, plan, 0))


def test_the_sheet_shows_the_wishes_of_the_case_it_was_made_of() -> None:
    case, plan = stored("AQ-26")
    other = with_wishes(case, {"material": "metal", "connector_width_mm": 4.5})
    page = words_of(sheet(other, plan))
    assert "bridge of metal " in page and "3.0 × 4.5" in page and "Yes, by the rules judged here" in page
    assert "bridge of metal-ceramic" in words_of(sheet(case, plan))


def test_the_span_is_drawn_to_scale() -> None:
    """Connectors are as high, and the held root as long, as the figures say; the biting edges sink by the stated factor."""
    case, plan = stored("AQ-26")
    bridge = found_in(case, plan)
    drawing = bridge_drawings(bridge)["span"]
    unit = life_size(bridge) * 10  # tenths of a millimetre on paper for one in the mouth
    joints = re.findall(r'<rect [^>]*height="([\d.]+)" fill="black"', drawing)
    assert [float(height) / unit for height in joints] == pytest.approx([one.height_mm for one in bridge.connectors], abs=0.01)
    held = re.findall(r'<clipPath id="held-(\d+)"><rect [^>]*height="([\d.]+)"', drawing)
    carrying = [one for one in bridge.units if one.carries]
    assert [int(number) for number, _ in held] == [one.number for one in carrying]
    for one, (_, height) in zip(carrying, held, strict=True):
        assert one.loss_mm is not None
        assert float(height) / unit == pytest.approx(one.root_mm - one.loss_mm, abs=0.01)
    middle = re.findall(r'<path d="M([^"]+)" fill="none" stroke="black" stroke-width="5"/>', drawing)[0].split("L")
    edges = [float(point.split()[1]) / unit for point in middle]
    sunk = [bending_drawn(bridge) * bridge.loads[0].deflection_mm[i][1] for i in range(3)]
    crowns = [one.crown_mm for one in bridge.units]
    assert edges[1] - edges[0] == pytest.approx((crowns[1] - sunk[1]) - (crowns[0] - sunk[0]), abs=0.02)


def test_an_abutment_that_was_not_read_is_left_white_and_a_connector_that_lacks_is_crossed() -> None:
    case, plan = stored("AQ-31")
    assert "held-17" not in bridge_drawings(found_in(case, plan))["span"]
    small = bridge_drawings(found_in(with_wishes(case, {"connector_height_mm": 2}), plan))["span"]
    assert small.count('fill="url(#lacks)"') == 2 and small.count("<ellipse") == 1


def test_the_hollow_is_drawn_as_deep_as_it_may_be_and_mesial_lies_as_in_the_mouth() -> None:
    case, plan = stored("AQ-26")
    drawing = bridge_drawings(found_in(case, plan))["bed_24"]
    goes = re.findall(r'<path d="M([^"]+)Z" fill="url\(#goes\)"', drawing)[0].split("L")
    heights = [float(point.split()[1]) for point in goes]
    assert (heights[0] - heights[2]) / 30 == pytest.approx(3.5 - 1 - 2.3263 * 0.4, abs=0.01)  # tissue, left on bone, reserve
    mesial = float(re.findall(r'<text x="([\d.]+)"[^>]*>mesial<', drawing)[0])
    distal = float(re.findall(r'<text x="([\d.]+)"[^>]*>distal<', drawing)[0])
    assert mesial < distal  # seen from the front, on the patient's left


def test_it_is_refused_with_the_reason() -> None:
    case, plan = stored("AQ-26")
    document = to_document(case)
    without = {key: part for key, part in document.items() if key != "bridges"}
    with pytest.raises(PaperRefused, match="has no bridge"):
        drawn_of(without, plan)
    two = copy.deepcopy(document) | {"bridges": [{"teeth": [33, 35], "pontics": [34]}, {"teeth": [43, 45], "pontics": [44]}]}
    with pytest.raises(PaperRefused, match="23 stands in none"):
        drawn_of(two, plan)
    jaws = copy.deepcopy(document) | {"bridges": [{"teeth": [23, 45], "pontics": [44]}]}
    with pytest.raises(PaperRefused, match="both jaws"):
        drawn_of(jaws, plan)

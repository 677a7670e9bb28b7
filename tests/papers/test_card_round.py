"""The round on the card: every figure is the stored one, legible at a metre; without a round the reason stands in its place."""

import copy
from typing import Any

import pytest

from collum.papers.round_ring import ring_svg
from collum.wording import text
from tests.measuring.heat import paced
from tests.papers.conftest import full_plan, printed, route_of, shown
from tests.papers.pages import pages, words_of, words_with_size

SIDES = {"F": "facial", "M": "mesial", "L": "lingual", "D": "distal"}


def heat_of(**changes: Any) -> dict[str, Any]:
    return {**copy.deepcopy(paced(46).model_dump(mode="json")), **changes}


def front(heat: dict[str, Any]) -> str:
    return words_of(pages(printed("chairside-card", full_plan(), heat=heat))[0])


def test_order_seconds_ways_forms_passes_and_rests_are_the_stored_ones() -> None:
    # By hand: places at 50, 170 and 290 degrees, a stroke of 0.8 s, 2.4 s to move: starts at 0, 3.2 and 6.4 s, in whole ones.
    page = front(heat_of())
    assert "1 MF 0 s 2 L 4 s 3 DF 7 s" in page
    for row in ("1 F to M straight wire 1 8", "2 ML to DL straight wire 1 8", "3 DL to F straight wire 1 8"):
        assert row in page
    assert "made by hand" in page


def test_waits_and_later_rests_are_said_where_there_are_any() -> None:
    heat = copy.deepcopy(paced(46, passes=2).model_dump(mode="json"))
    heat["round"]["strokes"][3]["wait_s"] = 6.25
    heat["round"]["strokes"][4]["wait_s"] = 0.1  # less than what a hand can tell
    page = front(heat)
    assert page.count("wait 7 s") == 1 and page.count("wait ") == 1
    assert page.count("8, then 10") == 3


def test_the_order_of_work_is_said_and_the_earliest_second_is_that_of_rests_and_heat() -> None:
    heat = heat_of()
    sentence = {"key": "heat.group.facial.straight_wire", "parameters": {}, "text": "At 1, 2, 3: facial side, straight wire."}
    heat["groups"] = [{"hand_position": "facial", "form": "straight wire", "sectors": [0, 1, 2], "text": sentence}]
    for stroke in heat["round"]["strokes"]:
        stroke["earliest_s"] = stroke["start_s"] / 2
    page = front(heat)
    assert sentence["text"] in page
    assert "1 MF 0 s 2 L 2 s 3 DF 4 s" in page


def test_the_places_of_the_order_can_be_read_at_a_metre() -> None:
    """8 mm tall up to twelve strokes: a digit of this type is 0.65 of its size, so 35 points."""
    page = pages(printed("chairside-card", full_plan(), heat=copy.deepcopy(paced(46, passes=4).model_dump(mode="json"))))[0]
    assert sum(word.size >= 35 and word.text in ("1", "2", "3") for word in words_with_size(page)) == 12


@pytest.mark.parametrize("passes", [1, 7, 14])
def test_a_card_is_two_pages_however_many_strokes(passes: int) -> None:
    heat = paced(46, passes=passes).model_dump(mode="json")
    for stroke in heat["round"]["strokes"]:
        stroke["wait_s"] = 9.0
    found = pages(printed("chairside-card", full_plan(), heat=heat))
    assert len(found) == 2
    assert words_of(found[0]).count("wait 9 s") == 3 * passes


def test_what_is_kept_out_left_out_and_to_be_kept_in_mind_stands_there() -> None:
    kept = {"reason": "metal", "from_deg": 100, "to_deg": 120, "text": {"key": "k", "parameters": {}, "text": "Metal at ML."}}
    heat = heat_of(kept_out=[kept], reminders=[{"key": "r", "parameters": {}, "text": "Plastic suction tip close by."}])
    heat["sectors"][1]["passes"] = 0
    tongue = {"key": "heat.remark.tongue", "parameters": {}, "text": "Keep the tongue away."}
    form = {"key": "heat.form.straight_wire", "parameters": {}, "text": "Fine straight wire."}
    for place in (0, 2):
        heat["sectors"][place]["remarks"] = [form, tongue]
    page = front(heat)
    for said in ("Metal at ML.", "left out of this round", "At 1, 3: Keep the tongue away.", "Plastic suction tip close by."):
        assert said in page
    assert "Fine straight wire." not in page  # the form stands in the table


def test_without_a_round_the_reason_stands_in_its_place_and_no_order() -> None:
    why = [{"key": "a", "parameters": {}, "text": "Fewer passes: one at each place does, in 9.7 s."}]
    plan = full_plan()
    heat = heat_of(round=None, outcome="no round", answer=why)
    page = words_of(pages(printed("chairside-card", plan, heat=heat))[0])
    assert text("paper.card.round.none") in page and why[0]["text"] in page
    for word in ("order", "rest", "log.title"):
        assert text(f"paper.card.round.{word}") not in page
    for site in route_of(plan, "soft tissue only")["sites"]:  # the depths stand there all the same
        assert shown(site["stop_below_margin_mm"]) in page


def test_the_back_has_room_for_what_was_done_otherwise() -> None:
    back = words_of(pages(printed("chairside-card", full_plan()))[1])
    assert text("paper.card.round.log.title") in back


def test_the_ring_lies_as_in_the_mouth() -> None:
    right, left = ring_svg(paced(46).model_dump(), SIDES), ring_svg(paced(36).model_dump(), SIDES)
    assert 'text-anchor="start" font-size="34">mesial' in right  # to the right of who looks from outside
    assert 'text-anchor="end" font-size="34">mesial' in left
    for drawing in (right, left):
        facial = drawing[: drawing.index(">facial")].rpartition(' y="')[2]
        assert float(facial.split('"')[0]) > 0  # below


def test_no_name_is_markup_in_the_ring() -> None:
    assert "<b>" not in ring_svg(paced(46).model_dump(), {**SIDES, "F": "<b>"})

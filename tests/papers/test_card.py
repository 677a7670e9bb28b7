"""The card: every depth is the plan's, legible at a metre; a flap or a route that is not open never has one."""

import re

import pytest

from collum.papers import OPERATING, PaperKind
from collum.plan.safety import Closed
from collum.wording import text
from tests.papers.conftest import KEPT, full_plan, named, old_plan, printed, route_of, shown
from tests.papers.pages import pages, words_of, words_with_size

SOFT = "soft tissue only"


@pytest.mark.parametrize("make", [old_plan, full_plan])
@pytest.mark.parametrize("name", KEPT)
def test_every_depth_is_the_plans(name: str, make: type) -> None:
    plan = make(name)
    pdf = printed("chairside-card", plan)
    front, back = (words_of(page) for page in pages(pdf))
    tooth, route = plan["teeth"][0], route_of(plan, SOFT)
    for site in route["sites"]:
        assert site["cut"]
        at = tooth["stations_deg"].index(site["station_deg"])
        outer = tooth["levels"]["gingival_margin"]["mean_height_mm"][at] - route["cut_line_outer_height_mm"][at]
        mark = "*" if site["will_not_last"] else ""
        depths = (site["attachment_below_margin_mm"], site["bone_below_margin_mm"], site["bone_nearest_below_margin_mm"])
        row = [
            named(site, plan),
            shown(site["stop_below_margin_mm"]) + mark,
            *(shown(mm) for mm in (site["stop_below_landmark_mm"], outer, *depths)),
        ]
        assert " ".join(row) in front
        assert outer > site["stop_below_margin_mm"]
        assert f"{named(site, plan)} {shown(site['stop_below_landmark_mm'])}" in back


def test_the_front_says_when_to_stop() -> None:
    front = words_of(pages(printed("chairside-card", full_plan()))[0])
    for why in ("depth", "bone", "metal", "doubt"):
        assert text(f"paper.card.stop_{why}") in front


def test_one_site_that_will_not_last_is_marked_and_the_mark_explained() -> None:
    plan = full_plan()
    first, *others = route_of(plan, SOFT)["sites"]
    for site in others:
        site["will_not_last"] = False
    means = text("paper.card.mark_means", {"mark": text("paper.card.mark")})
    first["will_not_last"] = False
    assert means not in words_of(printed("chairside-card", plan))
    first["will_not_last"] = True
    assert means in words_of(printed("chairside-card", plan))


def test_the_back_says_what_to_measure_again_and_from_where() -> None:
    plan = full_plan()
    back = words_of(pages(printed("chairside-card", plan))[1])
    for said in ("back", "same_landmark", "after_cut", "provisional", "settled", "settled_again"):
        assert text(f"paper.card.{said}") in back
    weeks = route_of(plan, SOFT)["earliest_final_weeks"]
    assert text("paper.card.not_before", {"weeks": weeks}) in back
    assert route_of(plan, SOFT)["provisional"][0]["text"] in back


@pytest.mark.parametrize("name", ["15-short", "33-closed"])
def test_a_route_that_is_not_open_has_no_card_and_its_reason_is_named(name: str) -> None:
    plan = old_plan(name)
    route = route_of(plan, SOFT)
    assert route["verdict"] in ("short", "closed")
    with pytest.raises(Closed) as closed:
        printed("chairside-card", plan)
    (point,) = closed.value.screening.closing
    assert (point.rule, point.sentence.parameters["why"]) == ("route_not_open", route["closed_by"]["reason"]["text"])


@pytest.mark.parametrize("verdict", ["short", "closed", "not needed", "not assessed"])
def test_only_a_route_that_is_open_has_a_card(verdict: str) -> None:
    with pytest.raises(Closed) as closed:
        printed("chairside-card", full_plan(verdicts=("short", verdict, "kept", "kept")))
    assert [point.rule for point in closed.value.screening.closing][0] in ("route_not_open", "route_not_kept")


def test_a_plan_that_cuts_nothing_has_no_card() -> None:
    plan = full_plan()
    for site in route_of(plan, SOFT)["sites"]:
        site["cut"] = False
    with pytest.raises(Closed) as closed:
        printed("chairside-card", plan)
    assert [point.rule for point in closed.value.screening.closing] == ["nothing_done_current"]


def test_a_card_that_may_be_used_says_when_another_route_is_recommended() -> None:
    page = words_of(printed("chairside-card", full_plan(verdicts=("kept", "kept", "kept", "kept"))))
    assert text("paper.card.elsewhere", {"route": "restore without lengthening"}) in page
    page = words_of(printed("chairside-card", full_plan(verdicts=("short", "kept", "kept", "kept"))))
    assert "Not the recommended route" not in page


def test_what_was_not_read_prints_a_dash_and_its_reason() -> None:
    plan = full_plan()
    reason = "No crown height was read."
    for site in route_of(plan, SOFT)["sites"]:
        site |= {"stop_below_landmark_mm": None, "landmark": None}
    plan["teeth"][0]["levels"]["absent"]["occlusal_edge"] = {"key": "made", "parameters": {}, "text": reason}
    card = words_of(printed("chairside-card", plan))
    assert text("paper.dash_means", {"reason": reason}).replace("  ", " ") in card
    assert text("paper.card.from_nothing") in card


def test_the_cut_depths_can_be_read_at_a_metre() -> None:
    """8 mm tall at six sites: a digit of this type is 0.65 of its size, so 35 points."""
    plan = full_plan()
    page = pages(printed("chairside-card", plan))[0]
    depths = {shown(site["stop_below_margin_mm"]) for site in route_of(plan, SOFT)["sites"]}
    sizes = [word.size for word in words_with_size(page) if word.text in depths]
    assert sum(size >= 35 for size in sizes) == 6


@pytest.mark.parametrize("name", KEPT)
def test_the_scalpel_card_has_the_depths_of_the_same_line_and_nothing_of_current(name: str) -> None:
    plan = full_plan(name)
    found = [words_of(page) for page in pages(printed("scalpel-card", plan))]
    assert len(found) == 2
    by_current = words_of(pages(printed("chairside-card", plan))[0])
    for site in route_of(plan, SOFT)["sites"]:
        row = re.search(rf"{named(site, plan)} {re.escape(shown(site['stop_below_margin_mm']))}[*]?( [\d.≈]+){{5}}", by_current)
        assert row is not None and row.group() in found[0]
    for why in ("depth", "bone", "floor", "doubt"):
        assert text(f"paper.scalpel.stop_{why}") in found[0]
    for step in ("sound", "mark", "incise", "lift", "press", "measure", "provisional"):
        assert text(f"paper.scalpel.do_{step}") in found[0]
    for word in ("current", "electro", "wire", "round", "unit", "metal"):
        assert re.search(rf"\b{word}", " ".join(found), flags=re.IGNORECASE) is None, word


@pytest.mark.parametrize("kind", sorted(OPERATING))
def test_every_paper_of_an_operation_says_what_to_do_when_the_chair_disagrees(kind: PaperKind) -> None:
    page = words_of(printed(kind, full_plan()))
    assert text("paper.disagrees.title") in page
    for found in ("deeper", "bleeding", "seen"):
        assert text(f"paper.disagrees.do.{found}") in page
    bone = {"flap-sheet": "crest_elsewhere", "extrusion-sheet": "follows"}.get(kind, "near_bone")
    assert text(f"paper.disagrees.do.{bone}") in page
    assert "15 min is clinical teaching from memory" in page

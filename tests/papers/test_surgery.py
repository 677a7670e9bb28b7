"""The sheets of surgery: bone and suture site by site, no current, consent; how far a tooth comes out and for how long."""

from math import ceil
from typing import Any

import pytest

from collum.wording import text
from tests.papers.conftest import KEPT, case_of, full_plan, named, operated, printed, route_of, shown
from tests.papers.pages import pages, words_of

FLAP, EXTRUSION = "soft tissue and bone", "extrusion first"


def _keratinised(site: dict[str, Any], plan: dict[str, Any]) -> float | None:
    """Margin to mucogingival junction, which a flap keeps whole; the palate has none."""
    tooth = plan["teeth"][0]
    junction = tooth["levels"].get("mucogingival_junction")
    if junction is None or (tooth["number"] < 30 and "L" in site["site"]):
        return None
    at = tooth["stations_deg"].index(site["station_deg"])
    return float(tooth["levels"]["gingival_margin"]["mean_height_mm"][at] - junction["mean_height_mm"][at])


@pytest.mark.parametrize("name", KEPT)
def test_every_figure_of_the_flap_sheet_is_the_plans(name: str) -> None:
    plan = full_plan(name)
    page = words_of(printed("flap-sheet", plan))
    for site in route_of(plan, FLAP)["sites"]:
        crest = site["stop_below_landmark_mm"] + site["sutured_above_crest_mm"]
        row = (
            site["bone_reduction_mm"],
            crest,
            site["stop_below_landmark_mm"],
            site["crest_after_below_margin_mm"],
            site["stop_below_margin_mm"],
            site["sutured_above_crest_mm"],
            _keratinised(site, plan),
        )
        assert " ".join([named(site, plan), *(shown(mm) for mm in row)]) in page
        # both ways to the new crest name one place
        assert crest - site["stop_below_landmark_mm"] == pytest.approx(
            site["crest_after_below_margin_mm"] - site["stop_below_margin_mm"]
        )


def test_the_flap_sheet_keeps_current_away_and_charges_the_neighbour() -> None:
    plan = full_plan()
    page = words_of(printed("flap-sheet", plan))
    route = route_of(plan, FLAP)
    assert text("paper.flap.rule") in page
    for why in ("furcation", "root", "neighbour"):
        assert text(f"paper.flap.stop_{why}") in page
    assert text("paper.unit") not in page
    bone = route["bone_reduction_mm"]
    facing = {"mesial_mm": bone[9], "distal_mm": bone[27], "neighbour_mm": route["summary"]["bone_neighbour_mm"]}
    assert text("paper.flap.facing", facing) in page
    assert text("paper.flap.keratinised") in page
    for line in ("crest_after", "sutured_line"):
        assert text(f"paper.line.{line}") in page
    assert text("paper.seen_bone") in page


def test_the_flap_sheet_says_how_the_flap_is_made_and_has_six_lines_against_the_plan() -> None:
    plan = full_plan()
    page, back = (words_of(one) for one in pages(printed("flap-sheet", plan)))
    for row in ("incision", "papilla", "releasing", "instrument"):
        assert text(f"paper.flap.planned_{row}") in page
    assert "until day 7" in page and "Day 7 to 14" in page and text("paper.flap.taught") in page
    bone = route_of(plan, FLAP)["bone_reduction_mm"]
    assert f"Deepest place: {shown(max(bone))} mm of bone" in page
    assert text("paper.flap.again_crest") in back
    for site in route_of(plan, FLAP)["sites"]:
        assert f"{named(site, plan)} {shown(site['stop_below_landmark_mm'] + site['sutured_above_crest_mm'])}" in back


def test_the_extrusion_sheet_says_how_the_tooth_is_moved_and_what_may_fail() -> None:
    plan = full_plan()
    page = words_of(printed("extrusion-sheet", plan))
    moved = route_of(plan, EXTRUSION)["extrusion_mm"]
    assert "0.2 to 0.5 N" in page
    assert f"1.0 mm a week: {ceil(moved)} weeks for {shown(moved)} mm" in page
    assert "Every 7 to 10 days" in page and "At least 8 weeks" in page
    assert text("paper.extrusion.planned_trimming") in page and text("paper.extrusion.taught") in page
    for name in ("still", "bone", "relapse", "root", "neck"):
        assert text(f"paper.extrusion.fail_{name}") in page


def test_consent_to_bone_names_figures_ways_and_what_is_not_known() -> None:
    plan = full_plan(verdicts=("short", "in doubt", "kept", "closed"))
    route = route_of(plan, FLAP)
    page = words_of(printed("flap-sheet", plan))
    summary = route["summary"]
    amounts = {"bone_mm": summary["bone_most_mm"], "neighbour_mm": summary["bone_neighbour_mm"]}
    assert text("paper.consent.bone", amounts) in page
    assert text("paper.consent.weeks", {"weeks": summary["earliest_final_weeks"]}) in page
    assert text("paper.consent.chance", {"joint": route["joint_probability"]}) in page
    assert "Soft tissue only (in doubt); and no treatment" in page
    assert summary["survival"]["text"] in page
    for name in ("looks", "pulp", "midway", "second", "during", "who", "signature"):
        assert text(f"paper.consent.{name}") in page
    unstated = case_of(plan)
    del unstated["teeth"][0]["vital"]  # a pulp that may be alive
    assert text("paper.consent.pulp") in words_of(operated("flap-sheet", plan, unstated))
    without_pulp = words_of(operated("flap-sheet", plan, case_of(plan, vital=False)))
    assert text("paper.consent.looks") in without_pulp and "pulp" not in without_pulp


def test_where_no_landmark_was_read_the_flap_sheet_asks_for_one() -> None:
    plan = full_plan()
    for site in route_of(plan, FLAP)["sites"]:
        site |= {"stop_below_landmark_mm": None, "landmark": None}
    page = words_of(printed("flap-sheet", plan))
    assert text("paper.flap.dash_landmark").replace("  ", " ") in page
    assert text("paper.flap.crest_from_nothing") in page


@pytest.mark.parametrize("name", KEPT)
def test_every_figure_of_the_extrusion_sheet_is_the_plans(name: str) -> None:
    plan = full_plan(name)
    route = route_of(plan, EXTRUSION)
    page = words_of(printed("extrusion-sheet", plan))
    assert text("paper.extrusion.amount", {"extrusion_mm": route["extrusion_mm"]}) in page
    assert text("paper.extrusion.weeks", {"weeks": route["summary"]["earliest_final_weeks"]}) in page
    assert text("paper.extrusion.fibres") in page
    for site in route["sites"]:
        row = (
            site["bone_below_margin_mm"],
            site["crest_after_below_margin_mm"],
            site["rest_below_margin_mm"],
            site["finish_above_crest_mm"],
            site["finish_above_settled_margin_mm"],
        )
        assert " ".join([named(site, plan), *(shown(mm) for mm in row)]) in page
    found = route["summary"]["crown_to_root"]
    for name_of in ("before_ratio", "after_ratio", "after_worse_side_ratio", "norm_ratio"):
        assert f"{found[name_of]:.2f}" in page
    for line in ("crest_after", "margin_after"):
        assert text(f"paper.line.{line}") in page

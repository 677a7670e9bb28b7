"""The plan sheet: the recommended route whole, and every route beside it, each figure as stored."""

from typing import Any

import pytest

from collum.papers import PAPER_KINDS, PaperKind
from collum.wording import text
from tests.papers.conftest import KEPT, full_plan, named, old_plan, printed, route_of, route_words, shown
from tests.papers.four_routes import NAMES
from tests.papers.pages import words_of

SITE_FIGURES = {
    "restore without lengthening": (
        "rest_below_margin_mm",
        "finish_above_settled_margin_mm",
        "reserve_finish_line_to_attachment_mm",
    ),
    "soft tissue only": (
        "stop_below_margin_mm",
        "lasting_gain_mm",
        "rest_below_margin_mm",
        "finish_above_settled_margin_mm",
        "reserve_cut_to_attachment_mm",
        "reserve_cut_to_bone_mm",
        "reserve_finish_line_to_attachment_mm",
        "reserve_finish_line_to_crest_mm",
    ),
    "soft tissue and bone": (
        "bone_reduction_mm",
        "crest_after_below_margin_mm",
        "stop_below_margin_mm",
        "sutured_above_crest_mm",
        "rest_below_margin_mm",
        "lasting_gain_mm",
    ),
    "extrusion first": ("crest_after_below_margin_mm", "rest_below_margin_mm", "finish_above_settled_margin_mm"),
}


def recommending(name: str, plan_name: str = "46-kept") -> dict[str, Any]:
    """A plan that recommends this route."""
    return full_plan(plan_name, verdicts=tuple("kept" if one == name else "short" for one in NAMES))


@pytest.mark.parametrize("name", KEPT)
@pytest.mark.parametrize("route_name", NAMES)
def test_the_recommended_route_stands_whole(route_name: str, name: str) -> None:
    plan = recommending(route_name, name)
    page = words_of(printed("plan-sheet", plan))
    tooth, route = plan["teeth"][0], route_of(plan, route_name)
    assert text("paper.plan.recommended", {"route": route_name, "verdict": "met"}) in page
    for r in route["requirements"]:
        if r["unit"] == "mm" and r["required"] and r["value"] is not None:
            where = {"found": shown(r["value"]), "station_deg": r["worst_station_deg"]}
            place = text("paper.plan.found_at", where, tooth["number"])
            chance, asked = (text("paper.chance", {"share": r[which]}) for which in ("probability", "confidence"))
            assert f"{place} ≥ {shown(r['limit'])} {chance} {asked}" in page
    for site in route["sites"]:
        row = " ".join([named(site, plan), *(shown(site[field]) for field in SITE_FIGURES[route_name])])
        assert row in page
        lines = (
            "interim_below_margin_mm",
            "provisional_below_margin_mm",
            "rest_below_margin_mm",
            "finish_above_settled_margin_mm",
        )
        assert " ".join([named(site, plan), *(shown(site[field]) for field in lines)]) in page
    margin = tooth["levels"]["gingival_margin"]["mean_height_mm"]
    at = [tooth["stations_deg"].index(site["station_deg"]) for site in route["sites"]]
    for which, line in route["rest_line_if"].items():
        law = "after_flap_" if route_name == "soft tissue and bone" else ""
        said = text(f"paper.plan.{law}{which.removesuffix('_height_mm')}")
        assert f"{said} {' '.join(shown(margin[i] - line[i]) for i in at)}" in page
    assert f"reserve {shown(min(site['ledger'][-1]['amount_mm'] for site in route['sites']))}" in page
    for sentence in (*route["means"], *route["staged"], *route["provisional"], *route["trough"]):
        assert sentence["text"] in page


@pytest.mark.parametrize("as_stored", [True, False])
def test_the_settled_margin_is_said_once_where_it_is_the_lasting_gain(as_stored: bool) -> None:
    """In plans stored before both were of one forecast each has its column, and a note tells them apart."""
    plan = recommending("soft tissue only")
    route = route_of(plan, "soft tissue only")
    if not as_stored:
        for site in route["sites"]:
            site["lasting_gain_mm"] = site["rest_below_margin_mm"]
        route["rest_line"]["median_height_mm"], route["rest_line"]["mean_height_mm"] = (
            route["rest_line"]["mean_height_mm"],
            None,
        )
    page = words_of(printed("plan-sheet", plan))
    rest = text("paper.plan.rest")
    assert f"{text('paper.plan.lasting')} {rest if as_stored else text('paper.plan.finish')}" in page
    assert page.count(rest) == (2 if as_stored else 1)  # the course of treatment has it too
    assert (text("paper.plan.lasting_note_two_ways") in page) == as_stored
    assert (text("paper.plan.lasting_note") in page) != as_stored


def test_other_units_are_printed_in_their_own_form() -> None:
    """Crown to root is a ratio with an upper limit, the attached area a share, a papilla only a wish."""
    page = words_of(printed("plan-sheet", recommending("soft tissue and bone")))
    assert "crown to root 0.87, " in page and "≤ 1.00" in page
    assert f"{text('paper.requirement.papilla')} (a wish) 5.6, mesial ≤ 5.0 30 in 100" in page
    assert f"{text('paper.requirement.attached_area')} 0.37 ≥ 0.50 1 in 100 90 in 100 short by 0.17" in page
    assert "clear of the furcation, looks: margin as wished: All alike." in page


def test_all_routes_stand_side_by_side() -> None:
    plan = full_plan(verdicts=("closed", "in doubt", "kept", "short"))
    page = words_of(printed("plan-sheet", plan))
    assert text("paper.routes.title") in page
    assert text("paper.routes.recommended", {"verdict": "met"}) in page
    for route in plan["teeth"][0]["routes"]:
        assert page.count(route_words(route["name"])) >= 2
        assert route["summary"]["survival"]["text"] in page
        if route["closed_by"] is not None:
            assert route["closed_by"]["reason"]["text"] in page
            assert route["closed_by"]["least_change"]["text"] in page
    bone = route_of(plan, "soft tissue and bone")["summary"]
    extruded = route_of(plan, "extrusion first")["summary"]
    row = f"{text('paper.routes.bone')} – 0.0 {shown(bone['bone_most_mm'])} 0.0"  # a closed route was not worked out
    assert row in page
    assert f"{text('paper.routes.bone_neighbour')} – 0.0 {shown(bone['bone_neighbour_mm'])} 0.0" in page
    assert f"{text('paper.routes.extrusion')} – 0.0 0.0 {shown(extruded['extrusion_mm'])}" in page
    assert f"{text('paper.routes.weeks')} – 4 12 14" in page
    assert f"{text('paper.routes.operations')} – 1 1 2" in page
    assert "41 in 100 to 72 in 100" in page
    for summary in (bone, extruded):
        before, after, worse, norm = (
            f"{summary['crown_to_root'][name]:.2f}"
            for name in ("before_ratio", "after_ratio", "after_worse_side_ratio", "norm_ratio")
        )
        assert f"{before} → {after}" in page
        assert text("paper.routes.worse_side", {"worse": worse, "norm": norm}) in page


def test_where_no_route_is_kept_none_is_called_recommended_and_the_last_resort_stands_there() -> None:
    plan = full_plan(verdicts=("closed", "short", "closed", "closed"))
    plan["teeth"][0]["last_resort"] = [{"key": "made", "parameters": {}, "text": "Another abutment remains."}]
    page = words_of(printed("plan-sheet", plan))
    assert text("paper.plan.not_recommended") in page
    assert text("paper.plan.shown_whole", {"route": "soft tissue only", "verdict": "short"}) in page
    assert "Another abutment remains." in page
    assert "Recommended:" not in page


@pytest.mark.parametrize("name", ["15-short", "33-closed"])
def test_a_route_that_is_not_open_says_what_closes_it_once(name: str) -> None:
    plan = old_plan(name)
    route = route_of(plan, "soft tissue only")
    sheet = words_of(printed("plan-sheet", plan))
    assert sheet.count(route["closed_by"]["reason"]["text"]) == 1
    assert (text("paper.plan.sites") in sheet) is (route["verdict"] == "short")
    assert ("Definitive finish line" in sheet) is (route["verdict"] == "short")


def test_what_was_not_assessed_says_why_in_its_row() -> None:
    plan = recommending("soft tissue only")
    row = next(r for r in route_of(plan, "soft tissue only")["requirements"] if r["id"] == "ferrule")
    row |= {"value": None, "probability": None, "verdict": "not assessed", "worst_station_deg": None}
    row["reason"] = {"key": "made", "parameters": {}, "text": "No height of the sound edge was read."}
    page = words_of(printed("plan-sheet", plan))
    assert "ferrule No height of the sound edge was read. not assessed" in page


def test_a_route_without_healing_names_no_week() -> None:
    plan = recommending("restore without lengthening")
    route_of(plan, "restore without lengthening")["earliest_final_weeks"] = 0.0
    page = words_of(printed("plan-sheet", plan))
    assert "Definitive finish line: " in page and "not before week 0" not in page


@pytest.mark.parametrize(
    ("places", "words"),
    [
        ((0.12, 0.46), "planned here 0.1 to 0.5 mm above it. It may be higher where it does not show."),
        ((-0.4, -0.1), "planned here 0.1 to 0.4 mm below it."),
        ((-0.3, 0.2), "planned here from 0.3 mm below to 0.2 mm above it. It may be higher"),
        ((-0.4, 0.04), "planned here from 0.4 mm below to 0.0 mm above it."),
    ],
)
def test_the_finish_line_is_told_as_it_is_wished_and_as_it_is_planned(places: tuple[float, float], words: str) -> None:
    plan = recommending("soft tissue only")
    route = route_of(plan, "soft tissue only")
    route["finish_range_mm"] = [-0.5, 0.0]
    for i, site in enumerate(route["sites"]):
        site["finish_above_settled_margin_mm"] = places[i % 2]
    page = words_of(printed("plan-sheet", plan))
    assert "Definitive finish line: wanted at most 0.5 mm into the sulcus, from the settled, measured margin; " + words in page
    assert ("may be higher where it does not show" in page) == ("higher" in words)


def test_both_spares_say_which_state_they_are_of() -> None:
    plan = recommending("soft tissue only")
    page = words_of(printed("plan-sheet", plan))
    assert "at today's gum level." in page and "after this procedure, mm" in page
    assert text("paper.plan.ledger_note") in page
    untouched = words_of(printed("plan-sheet", recommending("restore without lengthening")))
    assert "at today's gum level, mm" in untouched and "after this procedure, mm" not in untouched


def test_the_problem_names_what_decides_without_lengthening() -> None:
    page = words_of(printed("plan-sheet", recommending("soft tissue only")))
    assert "Without lengthening: Eight tenths are lacking for restore without lengthening." in page


@pytest.mark.parametrize(
    ("kind", "route_name", "figures"),
    [
        ("plan-sheet", "soft tissue only", ("reserve_cut_to_bone_mm", "reserve_finish_line_to_crest_mm")),
        ("chairside-card", "soft tissue only", ("bone_below_margin_mm", "bone_nearest_below_margin_mm")),
        ("flap-sheet", "soft tissue and bone", ("crest_after_below_margin_mm", "sutured_above_crest_mm")),
        ("extrusion-sheet", "extrusion first", ("bone_below_margin_mm", "finish_above_crest_mm")),
    ],
)
def test_bone_that_was_not_sounded_at_a_site_is_marked_as_an_estimate(
    kind: PaperKind, route_name: str, figures: tuple[str, ...]
) -> None:
    plan = recommending(route_name)
    _, second, *_ = sites = route_of(plan, route_name)["sites"]
    assert "≈" not in words_of(printed(kind, plan))
    second["bone_read"] = False
    page = words_of(printed(kind, plan))
    means, nowhere = (" ".join(text(f"paper.{name}").split()) for name in ("estimated_means", "no_bone"))
    assert means in page
    for name in figures:
        assert f"≈{shown(second[name])}" in page
    for site in sites:
        for name in figures:
            site[name] = None
        site["bone_read"] = False
        site["bone_below_margin_mm"] = None
    page = words_of(printed(kind, plan))
    assert nowhere in page and means not in page


def test_a_crest_that_was_read_nowhere_is_drawn_under_that_name() -> None:
    plan = recommending("soft tissue only")
    for kind in PAPER_KINDS[:2]:
        assert "(not read)" not in words_of(printed(kind, plan))
    plan["teeth"][0]["levels"]["crest_read"] = False
    assert text("paper.line.crest_not_read") in words_of(printed("plan-sheet", plan))
    findings = words_of(printed("findings-sheet", plan))
    assert text("paper.findings.level_of.crest_not_read") in findings and text("paper.line.crest_not_read") in findings


def test_a_sound_edge_under_the_bone_is_said_as_such() -> None:
    plan = old_plan("15-short")
    site = min(route_of(plan, "soft tissue only")["sites"], key=lambda site: site["ledger"][-1]["amount_mm"])
    lower = site["ledger"][0]["amount_mm"] + 0.7
    for at in (0, -1):
        site["ledger"][at]["amount_mm"] -= lower
    page = words_of(printed("plan-sheet", plan))
    assert f"At {named(site, plan)} sound tooth begins 0.7 mm below the bone crest" in page


@pytest.mark.parametrize(
    ("name", "words"), [("46-kept", "in reserve at today's gum level."), ("15-short", "too little at today's gum level.")]
)
def test_the_sheet_opens_with_the_problem_at_the_tightest_site(name: str, words: str) -> None:
    plan = old_plan(name)
    worst = min(route_of(plan, "soft tissue only")["sites"], key=lambda site: site["ledger"][-1]["amount_mm"])
    brings, *takes, spare = (row["amount_mm"] for row in worst["ledger"])
    page = words_of(printed("plan-sheet", plan))
    assert f"At {named(worst, plan)}" in page
    assert f"sound tooth begins {shown(brings)} mm above bone" in page
    assert f"need {shown(-sum(takes))} mm: {shown(abs(spare))} mm {words}" in page


def test_the_sheet_lists_every_constant_with_range_status_and_source() -> None:
    plan = old_plan("46-kept")
    page = words_of(printed("plan-sheet", plan))
    bare = page.replace(" ", "")
    named_keys = {key for route in plan["teeth"][0]["routes"] for r in route["requirements"] for key in r["evidence"]}
    assert len(named_keys) > 5
    for c in plan["constants"]:
        value, low, high = (f"{c[name]:g}".replace("-", "−") for name in ("value", "low", "high"))
        unit = "" if c["unit"] == "1" else c["unit"]
        status = text(f"paper.status.{c['status']}")
        in_full = f"{c['meaning']}{value}{unit}{low}to{high}{c['citation']}{status}".replace(" ", "")
        in_short = f"{c['key']}{value}{unit}({low}to{high}){status},{c['source']}".replace(" ", "")
        assert in_full in bare or (c["key"] not in named_keys and in_short in bare), c["key"]
    assert f"{plan['seed']}, {plan['draws']} draws" in page

"""The plan for colleagues: two pages, every route with verdict, reason and price, the line in mm with its doubt."""

import pytest

from collum.wording import text
from tests.papers.conftest import KEPT, case_of, full_plan, named, old_plan, printed, route_of, route_words, shown
from tests.papers.pages import pages, words_of
from tests.papers.test_card import SOFT

KIND = "colleague-plan"


@pytest.mark.parametrize("make", [old_plan, full_plan])
@pytest.mark.parametrize("name", KEPT)
def test_it_has_two_pages_whatever_the_case_holds(name: str, make: type) -> None:
    assert len(pages(printed(KIND, make(name)))) == 2


def test_it_stays_on_two_pages_where_everything_is_long() -> None:
    plan = full_plan("33-kept-twelve-sites")
    tooth = plan["teeth"][0]
    said = {"key": "x", "parameters": {}, "text": "A doubt that needs a whole line of words to be said, as some do. " * 3}
    tooth["questions"] = [said | {"text": f"{said['text']} {i}"} for i in range(40)]
    found = pages(printed(KIND, plan))
    assert len(found) == 2
    assert said["text"].split(".")[0] in words_of(found[1])


@pytest.mark.parametrize("name", KEPT)
def test_the_line_is_the_plans_with_its_doubt(name: str) -> None:
    plan = full_plan(name, verdicts=("short", "kept", "kept", "kept"))
    tooth, route = plan["teeth"][0], route_of(plan, SOFT)
    page = words_of(pages(printed(KIND, plan))[1])
    for site in route["sites"]:
        at = tooth["stations_deg"].index(site["station_deg"])
        margin = tooth["levels"]["gingival_margin"]["mean_height_mm"][at]
        low, high = (margin - route["rest_line"][end][at] for end in ("p95_height_mm", "p05_height_mm"))
        assert low <= high
        figures = (
            site["stop_below_margin_mm"],
            site["bone_nearest_below_margin_mm"],
            site["rest_below_margin_mm"],
            site["finish_above_settled_margin_mm"],
            site["finish_above_crest_mm"],
        )
        assert f"{named(site, plan)} {' '.join(map(shown, figures))} {shown(low)} to {shown(high)}" in page


def test_every_route_has_verdict_reason_and_price() -> None:
    plan = full_plan(verdicts=("short", "in doubt", "kept", "closed"))
    page = words_of(pages(printed(KIND, plan))[1])
    for route in plan["teeth"][0]["routes"]:
        assert route_words(route["name"]) in page
        if route["closed_by"] is not None:
            assert route["closed_by"]["reason"]["text"] in page
    assert plan["teeth"][0]["recommended_because"]["text"] in page
    for title in ("routes", "chosen", "line", "open", "sources"):
        assert text(f"paper.colleague.{title}_title") in page
    assert text("paper.colleague.decided") in page


def test_what_was_asked_and_read_is_on_the_first_page() -> None:
    plan = full_plan(verdicts=("short", "kept", "kept", "kept"))
    page = words_of(pages(printed(KIND, plan))[0])
    assert text("paper.colleague.asked_crown", {"number": "46"}) in page
    recorded = case_of(plan)["teeth"][0]["sites"]
    for kind in ("probing_depth", "bone_sounding"):
        assert text(f"paper.findings.kind_of.{kind}") in page
        assert kind in recorded
    assert text("paper.colleague.shown", {"route": SOFT}) in page

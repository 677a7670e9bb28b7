"""The routes side by side: what the plan says stands there, and choosing one shows its lines and its steps."""

from typing import Any

import pytest
from playwright.sync_api import Page, Route, expect

from tests.browser.conftest import ROUTES, open_made, plan_of, premolar, settle, verdict


def choose(page: Page, route: str) -> None:
    page.locator(f'.board [data-route="{route}"] input').check()
    expect(page.locator(f'.board [data-route="{route}"]')).to_have_class("chosen")


def shown(mm: float | None) -> str:
    """A length as the board shows it: 0 of bone or movement is none."""
    return "–" if mm is None else f"{mm:.1f}"


def test_every_route_stands_with_the_figures_of_the_plan(page: Page) -> None:
    open_made(page, premolar())
    plan = plan_of(page)
    assert [route["name"] for route in plan["routes"]] == list(ROUTES)
    for route in plan["routes"]:
        row = page.locator(f'.board [data-route="{route["name"]}"]')
        assert verdict(page, route["name"]) == route["verdict"]
        facts = row.locator(".facts").inner_text()
        if route["closed_by"] is not None:
            assert route["closed_by"]["reason"]["text"] in facts
            assert route["closed_by"]["least_change"]["text"] in facts
        for sentence in route["means"]:
            assert sentence["text"] in facts
        if route["finish_line_height_mm"] is None:
            expect(row.locator(".nothing")).to_be_visible()
            continue
        summary = route["summary"]
        figures = [text.split("\n")[0] for text in row.locator(".figure").all_inner_texts()]
        ratio = summary["crown_to_root"]
        assert figures[:6] == [
            shown(summary["lasting_gain_most_mm"]),
            shown(summary["bone_most_mm"]) if summary["bone_most_mm"] > 0 else "none",
            shown(summary["extrusion_mm"]) if summary["extrusion_mm"] > 0 else "none",
            f"{ratio['before_ratio']:.2f} → {ratio['after_ratio']:.2f}",
            f"{summary['earliest_final_weeks']:g}",
            str(summary["operations"]) if summary["operations"] else "none",
        ]
    recommended = page.locator(".board .tag")
    assert recommended.count() == 1
    assert recommended.locator("xpath=ancestor::tr").get_attribute("data-route") == plan["recommended_route"]
    expect(page.locator(".recommended")).to_contain_text(plan["recommended_because"]["text"])
    expect(page.locator(f'.board [data-route="{plan["recommended_route"]}"]')).to_have_class("chosen")


@pytest.mark.parametrize(
    ("route", "line", "missing"),
    [
        ("restore without lengthening", "finish line", "cut line"),
        ("soft tissue only", "cut line", "flap margin, sutured"),
        ("soft tissue and bone", "flap margin, sutured", "cut line"),
        ("extrusion first", "margin once raised", "flap margin, sutured"),
    ],
)
def test_choosing_a_route_shows_its_lines(page: Page, route: str, line: str, missing: str) -> None:
    open_made(page, premolar())
    choose(page, route)
    names = page.locator(".strip .end").all_text_contents()
    assert line in names and missing not in names
    assert (page.locator(".strip .bone-taken").count() == 1) == (route == "soft tissue and bone")
    assert ("bone to remove" in (page.locator(".slice svg").get_attribute("aria-label") or "")) == (
        route == "soft tissue and bone"
    )
    movement = page.locator(".strip .hint", has_text="extruded by")
    assert movement.count() == (1 if route == "extrusion first" else 0)
    expect(page.locator(".course h2")).to_contain_text(route[1:])
    plan = plan_of(page)
    found = next(r for r in plan["routes"] if r["name"] == route)
    course = page.locator(".course").inner_text()
    for part in ("staged", "provisional", "trough"):
        assert all(sentence["text"] in course for sentence in found[part])
    assert all(step["reason"]["text"] in course for step in found["timing"])
    rows = page.locator("[data-requirement]")
    assert rows.count() == len(found["requirements"])


def test_routes_are_chosen_with_the_arrow_keys(page: Page) -> None:
    open_made(page, premolar())
    page.locator('.board [data-route="restore without lengthening"] input').focus()
    page.keyboard.press("Space")
    for route in ROUTES[1:]:
        page.keyboard.press("ArrowDown")
        expect(page.locator(f'.board [data-route="{route}"]')).to_have_class("chosen")


@pytest.mark.parametrize("route", ["soft tissue and bone", "extrusion first"])
def test_a_line_of_the_chosen_route_is_moved_and_judged_as_that_route(page: Page, route: str) -> None:
    open_made(page, premolar())
    choose(page, route)
    asked: list[dict[str, Any]] = []

    def read(route: Route) -> None:
        asked.append(dict(route.request.post_data_json))
        route.continue_()

    page.route("**/plan/verdict", read)  # held, because the browser shows the body of no other request
    handle = page.locator('[data-handle="cut F"]')
    words = handle.get_attribute("aria-valuetext")
    handle.focus()
    handle.press("ArrowDown")
    expect(handle).not_to_have_attribute("aria-valuetext", words or "")
    settle(page)
    assert asked and {body["route"] for body in asked} == {route}
    assert (max(asked[0]["bone_reduction_mm"] or [0]) > 0) == (route == "soft tissue and bone")
    assert (asked[0]["extrusion_mm"] > 0) == (route == "extrusion first")
    page.keyboard.press("Control+z")
    settle(page)


def test_a_verdict_is_not_shown_while_it_is_judged(page: Page) -> None:
    open_made(page, premolar())
    page.route("**/plan/verdict", lambda r: None)  # never answered
    handle = page.locator('[data-handle="cut F"]')
    handle.focus()
    handle.press("ArrowDown")
    expect(page.get_by_test_id("verdict")).to_have_text("…")
    expect(page.locator(".requirements .chance").first).to_have_text("…")
    page.unroute_all(behavior="ignoreErrors")


def test_a_tooth_that_is_not_cut_has_no_line_and_every_route_says_why(page: Page) -> None:
    open_made(page, premolar(vertical_root_fracture=True))
    assert page.locator(".strip .handle").count() == 0
    assert page.locator(".strip .end", has_text="cut line").count() == 0
    for route in ROUTES:
        row = page.locator(f'.board [data-route="{route}"]')
        assert verdict(page, route) == "closed"
        expect(row.locator(".facts")).to_contain_text("Vertical root fracture")
        expect(row.locator(".nothing")).to_be_visible()
    expect(page.locator(".last-resort")).to_contain_text("extraction")
    assert page.locator(".board .tag").count() == 0


def test_the_small_drawings_are_to_one_scale_and_show_what_each_route_moves(page: Page) -> None:
    open_made(page, premolar())

    def bar(route: str, kind: str) -> float:
        return float(page.locator(f'.board [data-route="{route}"] .bar-{kind}').get_attribute("y") or "nan")

    today = {kind: bar("restore without lengthening", kind) for kind in ("bone", "tooth")}
    assert bar("soft tissue and bone", "bone") >= today["bone"]
    assert bar("soft tissue and bone", "tooth") == today["tooth"]
    assert bar("extrusion first", "bone") == today["bone"]
    assert bar("extrusion first", "tooth") < today["tooth"]

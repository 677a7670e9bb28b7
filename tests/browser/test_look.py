"""What the eye, the finger and the screen reader meet: labels apart, nothing outside its place, no accessibility violation."""

from itertools import combinations
from typing import Any

import pytest
from playwright.sync_api import Page, expect

from tests.browser.conftest import ROUTES, WALKED, answered, keep_twice, open_case, open_made, premolar, resize, turn
from tests.browser.conftest import violations_in_both_schemes as violations

SIZES = ((1440, 900), (1024, 768), (1920, 1080))
LEAVES = ("Findings", "Plan", "Restoration", "Heat", "At the chair", "The round", "Saved plans", "Record")
FINGER_PX = 44  # the side of what a finger hits surely, as the guidelines for touch give it


def overlapping(boxes: list[dict[str, Any]]) -> list[tuple[str, str]]:
    """Return the pairs of labels that lie on one another; a little less than a line's height is leading, not ink."""
    return [
        (a["text"], b["text"])
        for a, b in combinations(boxes, 2)
        if a["right"] > b["left"] + 1
        and b["right"] > a["left"] + 1
        and a["bottom"] > b["top"] + 3
        and b["bottom"] > a["top"] + 3
    ]


def test_a_planted_overlap_is_found() -> None:
    box = {"text": "a", "left": 0, "right": 50, "top": 0, "bottom": 16}
    assert overlapping([box, {**box, "text": "b", "top": 8, "bottom": 24}]) == [("a", "b")]
    assert overlapping([box, {**box, "top": 18, "bottom": 34}]) == []


def test_no_label_lies_on_another_whatever_the_route(page: Page) -> None:
    open_made(page, premolar())
    for size in SIZES:
        resize(page, size)
        for route in ROUTES:
            page.locator(f'.board [data-route="{route}"] input').check()
            forecasts = page.get_by_label("three forecasts")
            if forecasts.count():
                forecasts.check()
            assert labels_in_disorder(page) == [], (route, size)


@pytest.mark.parametrize("reference", WALKED)
def test_no_label_lies_on_another_in_any_demo_case(page: Page, reference: str) -> None:
    open_case(page, reference)
    for size in SIZES:
        resize(page, size)
        for route in ROUTES:
            page.locator(f'.board [data-route="{route}"] input').check()
            assert labels_in_disorder(page) == [], (route, size)


def labels_in_disorder(page: Page) -> list[object]:
    """Return the labels of strip and slice that lie on one another or outside their drawing."""
    found: list[object] = []
    for drawing in (".strip", ".slice"):
        frame, boxes = page.evaluate(
            """(drawing) => {
                const box = (e) => ({ text: e.textContent, ...e.getBoundingClientRect().toJSON() });
                const frame = document.querySelector(drawing);
                return frame ? [box(frame), [...frame.querySelectorAll("svg text")].map(box)] : [null, []];
            }""",
            drawing,
        )
        found += overlapping(boxes)
        found += [
            box["text"]
            for box in boxes
            if box["left"] < frame["left"]
            or box["right"] > frame["right"] - 4
            or box["top"] < frame["top"]
            or box["bottom"] > frame["bottom"]
        ]
    return found


@pytest.mark.parametrize("leaf", LEAVES)
def test_nothing_sticks_out_sideways(page: Page, leaf: str) -> None:
    open_case(page, "AQ-31", leaf)
    if leaf == "Restoration":
        answered(page)
    for size in SIZES:
        resize(page, size)
        assert page.evaluate("document.documentElement.scrollWidth <= innerWidth"), size
        cut: list[str] = page.eval_on_selector_all(
            "button, h1, h2, th, td, li, p, legend, .field > span",
            "all => all.filter(e => e.scrollWidth > e.clientWidth + 1 && e.clientWidth > 1)"
            ".map(e => e.className + e.textContent)",
        )
        assert not cut, size


def test_every_handle_is_as_large_as_a_finger_and_has_its_own_place(page: Page) -> None:
    open_made(page, premolar())
    for size in ((1440, 900), (1024, 768)):
        resize(page, size)
        boxes = page.eval_on_selector_all(".handle .touch", "all => all.map(e => e.getBoundingClientRect().toJSON())")
        assert len(boxes) == 12
        assert all(box["width"] >= FINGER_PX and box["height"] >= FINGER_PX for box in boxes)
        places = sorted(box["left"] for box in boxes)
        assert all(b - a >= FINGER_PX / 2 for a, b in zip(places, places[1:], strict=False))


@pytest.mark.parametrize("where", ["list", *LEAVES])
def test_no_accessibility_violation(page: Page, where: str) -> None:
    if where != "list":
        open_made(page, premolar(), where)
        if where == "Saved plans":
            keep_twice(page)
            page.wait_for_selector(".compared")
        elif where == "At the chair":
            page.get_by_label("who asks").fill("DN")
            page.get_by_role("button", name="Start the visit").click()
            page.locator("[data-ask='consent']").get_by_role("radio", name="no", exact=True).click()
            page.wait_for_selector(".points li")
        elif where == "Plan":
            page.locator(".board [data-evidence]").first.click()
            page.wait_for_selector(".source dl")
        elif where == "Restoration":
            answered(page)
    assert not violations(page)


def test_the_chart_has_a_table_twin(page: Page) -> None:
    open_made(page, premolar())
    page.locator('.board [data-route="soft tissue and bone"] input').check()
    page.get_by_text("As a table").click()
    names = page.locator(".twin tbody th").all_inner_texts()
    assert sorted(names) == sorted(page.locator(".strip .end").all_text_contents())
    assert page.locator(".twin tbody td").first.inner_text()


def test_it_prints_in_black_on_white_without_what_can_only_be_pressed(page: Page) -> None:
    page.emulate_media(color_scheme="dark")
    open_made(page, premolar())
    for leaf in LEAVES:
        page.emulate_media(media="screen", color_scheme="dark")
        turn(page, leaf)
        page.emulate_media(media="print", color_scheme="dark")
        assert page.evaluate("getComputedStyle(document.body).backgroundColor") == "rgb(255, 255, 255)", leaf
        assert page.evaluate("getComputedStyle(document.body).color") == "rgb(0, 0, 0)", leaf
        for pressed in (".bar button", ".bar nav", ".board input", ".handle", ".keep"):
            assert page.locator(pressed).count() == 0 or not page.locator(pressed).first.is_visible(), leaf


def test_the_leaves_are_reached_by_keyboard_and_by_their_address(page: Page) -> None:
    open_made(page, premolar())
    page.locator(".bar nav a").first.focus()
    page.keyboard.press("Enter")
    expect(page.locator(".readings")).to_be_visible()
    assert page.url.endswith("/findings")
    page.go_back()
    expect(page.locator(".board")).to_be_visible()
    turn(page, "Saved plans")
    page.reload()
    expect(page.locator(".kept")).to_be_visible()

"""The day's way through the workbench: look, change, undo, hold, keep, print."""

import re
from pathlib import Path

import pytest
from playwright.sync_api import Page, Route, expect

from tests.browser.conftest import (
    DEMO,
    WALKED,
    Workbench,
    cell,
    chance,
    note_elsewhere,
    on_record,
    open_case,
    settle,
    turn,
    verdict,
)


@pytest.mark.parametrize("reference", WALKED)
def test_each_demo_case_shows_its_verdict(page: Page, reference: str) -> None:
    open_case(page, reference)
    expected = DEMO[reference]["expected"]
    assert verdict(page, expected["route"]) == expected["verdict"]
    words = {"kept": ["met"], "in doubt": ["probably", "open question", "unlikely"]}.get(
        expected["verdict"], [expected["verdict"]]
    )
    assert page.locator(f'tr[data-route="{expected["route"]}"] .verdict').inner_text() in words
    expect(page.locator(".not-cleared")).to_contain_text("cleared")
    expect(page.locator(".mark").first).to_be_visible()


def test_a_changed_reading_changes_the_text_and_undo_brings_it_back(page: Page) -> None:
    open_case(page, "AQ-07")
    before = chance(page, "preparation_height")
    turn(page, "Findings")
    height = cell(page, "crown_height", "DF")
    kept = height.input_value()
    height.fill("2.5")
    height.press("Enter")
    settle(page)
    assert verdict(page, "soft tissue only") != "kept"
    page.keyboard.press("Control+z")
    settle(page)
    assert height.input_value() == kept
    assert verdict(page, "soft tissue only") == "kept"
    turn(page, "Plan")
    assert chance(page, "preparation_height") == before


def test_an_edit_survives_a_reload_on_the_leaf_it_was_made_on(page: Page) -> None:
    open_case(page, "AQ-12", "Findings")
    junction = cell(page, "cej_height", "F")
    before = junction.input_value()
    junction.fill("-2.5")
    junction.press("Enter")
    settle(page)
    page.reload()
    expect(junction).to_have_value("−2.5")
    page.get_by_role("button", name="Undo").click()
    settle(page)
    assert junction.input_value() == before


def test_six_readings_are_typed_with_enter_alone(page: Page) -> None:
    open_case(page, "AQ-31", "Findings")
    cell(page, "probing_depth", "F").focus()
    for typed in ("2", "2.5", "2.5", "2", "2.5", "2.5"):
        page.keyboard.press("Control+a")
        page.keyboard.type(typed)
        page.keyboard.press("Enter")
    settle(page)
    assert cell(page, "probing_depth", "DF").input_value() == "2.5"
    expect(cell(page, "bone_sounding", "F")).to_be_focused()
    for _ in range(6):
        page.keyboard.press("Control+z")
    settle(page)


def test_an_unusual_reading_is_asked_again_and_nonsense_is_refused(page: Page) -> None:
    open_case(page, "AQ-07", "Findings")
    depth = cell(page, "probing_depth", "F")
    before = depth.input_value()
    depth.fill("9")
    depth.press("Enter")
    expect(page.locator(".asked")).to_contain_text("unusual")
    depth.press("Tab")
    expect(page.locator(".asked")).to_contain_text("unusual")
    assert page.get_by_role("button", name="Undo").is_disabled()
    depth.fill("abc")
    depth.press("Enter")
    expect(page.locator(".asked")).to_contain_text("not a reading")
    depth.press("Escape")
    assert depth.input_value() == before


def test_a_fault_is_told_and_nothing_is_lost(page: Page) -> None:
    open_case(page, "AQ-07", "Findings")
    sounding = cell(page, "bone_sounding", "F")
    sounding.fill("0.5")
    sounding.press("Enter")
    if page.locator(".asked").count():
        sounding.press("Enter")
    expect(page.locator(".faults")).to_contain_text("shorter than the probing depth")
    expect(page.locator(".saving")).to_have_attribute("data-state", "faulty")
    turn(page, "Plan")
    expect(page.locator(".board .waiting").first).to_contain_text("before the fault")
    page.keyboard.press("Control+z")
    settle(page)
    assert page.locator(".faults").count() == 0


def test_a_handle_is_dragged_held_moved_by_keys_and_released(page: Page) -> None:
    open_case(page, "AQ-12")
    page.locator('.board [data-route="soft tissue only"] input').check()
    handle = page.locator('[data-handle="cut DF"]')
    words = handle.get_attribute("aria-valuetext")
    handle.scroll_into_view_if_needed()  # four routes with their figures are above it
    box = handle.bounding_box()
    assert box is not None
    x, y = box["x"] + box["width"] / 2, box["y"] + box["height"] / 2
    page.mouse.move(x, y)
    page.mouse.down()
    page.mouse.move(x, y + 25, steps=5)
    page.mouse.up()
    expect(handle).to_have_class(re.compile(r"\bheld\b"))
    settle(page)
    assert handle.get_attribute("aria-valuetext") != words

    other = page.locator('[data-handle="cut F"]')
    other.focus()
    for _ in range(4):
        other.press("ArrowDown")
    expect(other).to_have_class(re.compile(r"\bheld\b"))
    settle(page)
    assert "mm below the margin" in (other.get_attribute("aria-valuetext") or "")
    other.press("Delete")
    settle(page)
    expect(other).not_to_have_class(re.compile(r"\bheld\b"))
    page.get_by_role("button", name="Release all lines fixed by hand").click()
    settle(page)
    assert page.locator(".handle.held").count() == 0


@pytest.mark.parametrize("leaf", ["Findings", "Plan"])
@pytest.mark.parametrize("reference", ["AQ-07", "AQ-31"])
def test_every_number_opens_its_source(page: Page, reference: str, leaf: str) -> None:
    open_case(page, reference, leaf)
    numbers = page.locator("[data-evidence]")
    assert leaf == "Findings" or numbers.count() > 20
    for i in range(numbers.count()):
        key = numbers.nth(i).get_attribute("data-evidence")
        numbers.nth(i).click()
        expect(page.locator(".source code")).to_have_text(key or "")
        expect(page.locator(".source dd").nth(2)).not_to_be_empty()
        page.keyboard.press("Escape")


def test_a_plan_is_kept_and_printed_twice_the_same(page: Page, tmp_path: Path) -> None:
    open_case(page, "AQ-07", "Saved plans")
    page.get_by_role("button", name="Save plan").click()
    papers = []
    for n in range(2):
        with page.expect_download() as download:
            page.get_by_role("button", name="Plan sheet").first.click()
        path = tmp_path / f"{n}.pdf"
        download.value.save_as(path)
        papers.append(path.read_bytes())
    assert papers[0].startswith(b"%PDF")
    assert papers[0] == papers[1]
    page.get_by_role("link", name="Collum").click()
    expect(page.locator(".list a", has_text="AQ-07").locator(".verdict")).to_have_text("met")


def test_a_paper_that_the_plan_gives_no_ground_for_is_not_offered_and_says_why(page: Page) -> None:
    open_case(page, "AQ-07", "Saved plans")
    page.get_by_role("button", name="Save plan").click()
    expect(page.locator('[data-paper="flap-sheet"]').first).to_have_text(
        "Flap sheet: not printed, Soft tissue and bone is not needed"
    )
    assert page.get_by_role("button", name="Flap sheet").count() == 0
    assert page.get_by_role("button", name="Plan sheet").count() >= 1


def test_a_new_case_opens_on_its_findings_and_bad_ones_are_told_why(page: Page) -> None:
    page.get_by_label("your code").fill("Jane Doe")
    page.get_by_label("tooth (ISO").fill("8")
    page.get_by_role("button", name="Open").click()
    expect(page.locator(".faults").first).to_be_visible()
    assert page.locator(".faults").count() == 2
    page.get_by_label("your code").fill("N-1")
    page.get_by_label("tooth (ISO").fill("30 universal")
    page.get_by_role("button", name="Open").click()
    expect(cell(page, "probing_depth", "F")).to_be_visible()
    expect(page.locator(".bar h1")).to_contain_text("46")
    assert verdict(page, "soft tissue only") in ("in doubt", "not assessed")


def test_a_change_elsewhere_of_another_field_is_taken_in_beside_what_is_typed_here(page: Page) -> None:
    open_case(page, "AQ-31", "Findings")
    note_elsewhere(page)
    junction = cell(page, "cej_height", "L")
    junction.fill("-0.0")
    junction.press("Enter")
    settle(page)
    assert page.locator(".conflict").count() == 0
    document = on_record(page)
    assert document["teeth"][0]["note"] == "elsewhere"
    assert document["teeth"][0]["sites"]["cej_height"]["L"] == 0


def test_a_request_that_came_too_soon_is_sent_again(page: Page) -> None:
    open_case(page, "AQ-07")
    refused: list[str] = []

    def once(route: Route) -> None:
        refused.append(route.request.url)
        if len(refused) == 1:
            route.fulfill(status=429, content_type="application/problem+json", body="{}")
        else:
            route.continue_()

    page.route("**/api/v1/evidence/*", once)
    page.locator(".requirements [data-evidence]").first.click()
    expect(page.locator(".source code")).to_be_visible()
    assert len(refused) == 2


def test_without_a_link_there_is_no_way_in(page: Page, workbench: Workbench) -> None:
    page.evaluate("sessionStorage.clear()")
    page.goto(workbench.origin + "/#link=used-up-or-invented")
    page.reload()
    expect(page.get_by_role("heading")).to_contain_text("needs a link")
    page.goto("about:blank")

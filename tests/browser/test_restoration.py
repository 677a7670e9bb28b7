"""The leaf of the restoration: the answer first, on the route of the plan, and it follows what is edited on the findings."""

from pathlib import Path
from typing import Any

import pytest
from playwright.sync_api import Page, expect

from tests.browser.conftest import answered, open_case, open_copy, open_made, premolar, resize, settle, turn
from tests.browser.conftest import violations_in_both_schemes as violations
from tests.browser.test_look import overlapping

FERRULE_LACKS = "AQ-38"  # no ferrule on any route, none recommended: all four are answered
CLASH = "AQ-31"  # one route is recommended, its post fits no length


def opened(page: Page, reference: str) -> None:
    open_case(page, reference, "Restoration")
    answered(page)


def said(page: Page) -> str:
    return page.locator("[data-testid=hold-verdict]").inner_text()


def test_the_answer_stands_first_with_what_lacks_and_what_would_help(page: Page) -> None:
    opened(page, FERRULE_LACKS)
    assert said(page) == "Not as planned"
    answer = page.locator(".hold-answer")
    expect(answer).to_contain_text("No procedure is recommended")
    expect(answer.locator(".columns > div").nth(0)).to_contain_text("No ferrule")
    expect(answer.locator(".columns > div").nth(1)).to_contain_text("2.0 mm more sound tooth above the finish line")
    part = page.locator('[data-part="ferrule"]')
    assert part.get_attribute("data-verdict") == "short"
    first = page.locator("main.case > *").first.get_attribute("class")
    assert first == "hold-answer"


def test_the_route_is_switched_here_and_is_the_one_of_the_plan(page: Page) -> None:
    opened(page, FERRULE_LACKS)
    before = page.locator(".hold-sections svg").get_attribute("aria-label")
    page.get_by_role("radio", name="Extrusion first").check()
    expect(page.locator(".hold-answer .first")).to_contain_text("Extrusion first")
    assert page.locator(".hold-sections svg").get_attribute("aria-label") != before
    turn(page, "Plan")
    assert page.locator('.board [data-route="extrusion first"] input').is_checked()


@pytest.mark.parametrize("reference", ["AQ-07", "AQ-09", "AQ-12", "AQ-22", FERRULE_LACKS])
def test_it_says_nothing_the_plan_denies(page: Page, reference: str) -> None:
    """On the same route a rule the plan finds short is never kept here, and the chance is the plan's."""
    opened(page, reference)
    here: list[dict[str, str]] = page.eval_on_selector_all(
        ".hold-parts > li",
        """all => all.map(e => ({ id: e.dataset.part, verdict: e.dataset.verdict,
             chance: e.querySelector(".foot > span:not(.sources)")?.textContent ?? "" }))""",
    )
    assert here
    turn(page, "Plan")
    order = ["kept", "in doubt", "short"]
    for part in here:
        row = page.locator(f'.requirements [data-requirement="{part["id"]}"]')
        plan = row.get_attribute("data-verdict")
        if plan in order and part["verdict"] in order:
            assert order.index(part["verdict"]) >= order.index(plan), part
        if part["chance"]:
            assert row.locator(".chance").inner_text() in part["chance"]


def test_more_convergence_on_the_findings_is_answered_here(page: Page) -> None:
    open_copy(page, CLASH, "Restoration")
    answered(page)
    resists = page.locator('[data-part="resistance"]')
    assert resists.get_attribute("data-verdict") == "in doubt"
    expect(page.locator('[data-fold="gains"] .inside')).to_be_visible()
    turn(page, "Findings")
    box = page.locator('.groups [data-field="restoration.convergence_deg"]')
    box.fill("24")
    box.press("Enter")
    settle(page)
    turn(page, "Restoration")
    answered(page)
    assert resists.get_attribute("data-verdict") == "short"
    expect(page.locator(".hold-sections figcaption")).to_contain_text("24° together")
    expect(page.locator(".hold-answer")).to_contain_text("Half of every wall would resist")


def test_an_older_answer_is_dropped_and_marked_while_the_new_one_comes(page: Page) -> None:
    open_copy(page, FERRULE_LACKS, "Restoration")
    answered(page)
    page.route("**/api/v1/restoration", lambda route: None)  # never answered
    turn(page, "Findings")
    page.locator('.groups [data-field="restoration.convergence_deg"]').fill("20")
    page.keyboard.press("Enter")
    settle(page)
    turn(page, "Restoration")
    expect(page.locator(".hold")).to_have_attribute("data-current", "false")
    expect(page.locator(".hold-answer .reckoning")).to_be_visible()
    page.unroute_all(behavior="ignoreErrors")


def test_no_change_cures_what_was_not_measured(page: Page) -> None:
    opened(page, "AQ-28")
    gains = page.locator('[data-fold="gains"] tbody tr')
    expect(gains.nth(0)).to_contain_text("in doubt")
    expect(gains.nth(1)).to_contain_text("enough, once measured")


def test_pins_and_pulp_are_drawn_once_walls_are_named(page: Page) -> None:
    document = premolar(vital=False)
    open_made(page, document, "Findings")
    page.locator("fieldset.field", has_text="missing walls").get_by_label("ML", exact=True).check()
    for name, width in (("facial_oral", "1.0"), ("mesiodistal", "0.8")):
        box = page.locator(f'.groups [data-field="pulp_width_mm.{name}"]')
        box.fill(width)
        box.press("Enter")
    settle(page)
    turn(page, "Restoration")
    answered(page)
    pins = page.locator('[data-fold="pins"]')
    expect(pins.locator("svg .pulp").first).to_be_attached()
    assert set(pins.locator("tbody th").all_inner_texts()) == {"ML"}


def test_why_the_old_crown_came_off_follows_what_is_entered(page: Page) -> None:
    open_made(page, premolar(vital=False), "Findings")
    for path, typed in (("old_stump.height_mm", "2"), ("old_stump.convergence_deg", "30")):
        box = page.locator(f'.groups [data-field="{path}"]')
        box.fill(typed)
        box.press("Enter")
    page.locator('.groups [data-field="old_stump.cement"]').select_option(label="zinc phosphate")
    settle(page)
    turn(page, "Restoration")
    answered(page)
    grounds = page.locator('[data-fold="old-crown"]')
    expect(grounds.locator('[data-side="for"]')).to_contain_text("It lacked resistance")
    expect(grounds.locator('[data-side="against"]')).to_contain_text("held by a permanent cement")
    grounds.locator('[data-side="for"] [data-evidence]').first.click()
    expect(page.locator(".source dl")).to_be_visible()


def test_every_drawing_has_its_table_and_every_part_opens_by_keyboard(page: Page) -> None:
    opened(page, CLASH)
    for figure in page.locator(".hold-drawn figure").all():
        figure.locator("summary").press("Enter")
        expect(figure.locator(".twin tbody tr").first).to_be_visible()
    height = page.locator(".hold-sections .twin tbody tr").first.locator("td").first.inner_text()
    expect(page.locator(".hold-sections svg .measure.height").first).to_have_text(f"height {height}")
    closed = page.eval_on_selector_all(
        ".fold h2 button[aria-expanded=false]", "all => all.map(e => e.getAttribute('aria-controls'))"
    )
    assert closed
    for name in closed:
        page.locator(f'[aria-controls="{name}"]').press("Enter")
    for inside in page.locator(".fold .inside").all():
        expect(inside).to_be_visible()
    page.locator('[data-fold="cements"] [data-evidence]').first.press("Enter")
    expect(page.locator(".source dl")).to_be_visible()
    page.keyboard.press("Escape")
    expect(page.locator(".source")).to_have_count(0)


@pytest.mark.parametrize("reference", [CLASH, FERRULE_LACKS, "AQ-07", "AQ-28"])
def test_labels_keep_apart_and_nothing_sticks_out(page: Page, reference: str) -> None:
    opened(page, reference)
    unfold(page)
    for size in ((1440, 900), (1024, 768), (768, 1024)):
        resize(page, size)
        labels_are_in_order(page)


def labels_are_in_order(page: Page) -> None:
    assert page.evaluate("document.documentElement.scrollWidth <= innerWidth")
    for drawing in page.locator(".hold svg[role=img]").all():
        boxes: list[dict[str, Any]] = drawing.evaluate(
            """svg => [...svg.querySelectorAll("text")]
                 .map(e => ({ text: e.textContent, ...e.getBoundingClientRect().toJSON() }))"""
        )
        assert overlapping(boxes) == [], drawing.get_attribute("aria-label")
        frame = drawing.evaluate("svg => svg.getBoundingClientRect().toJSON()")
        out = [box["text"] for box in boxes if box["left"] < frame["left"] - 1 or box["right"] > frame["right"] + 1]
        assert out == []


@pytest.mark.parametrize("reference", [CLASH, FERRULE_LACKS, "AQ-18"])
def test_open_to_the_end_it_violates_no_rule_of_access(page: Page, reference: str) -> None:
    opened(page, reference)
    unfold(page)
    page.evaluate("document.querySelectorAll('details').forEach(e => { e.open = true; })")
    assert violations(page) == []


def test_on_paper_every_part_stands_open_and_black(page: Page) -> None:
    opened(page, CLASH)
    page.emulate_media(media="print", color_scheme="dark")
    for inside in page.locator(".fold .inside").all():
        expect(inside).to_be_visible()
    assert not page.locator(".sources").first.is_visible()
    assert page.evaluate("getComputedStyle(document.querySelector('.hold')).color") == "rgb(0, 0, 0)"


def test_a_tooth_without_a_line_says_so_and_sends_to_the_plan(page: Page) -> None:
    opened(page, "AQ-18")
    expect(page.locator(".hold-answer")).to_contain_text("No procedure for this tooth has a finish line")
    page.get_by_role("link", name="To the plan").click()
    expect(page.locator(".board")).to_be_visible()


def test_the_sheet_of_a_kept_plan_is_printed(page: Page) -> None:
    open_case(page, CLASH, "Saved plans")
    page.get_by_role("button", name="Save plan").click()
    page.wait_for_selector(".plans tbody tr")
    with page.expect_download() as download:
        page.get_by_role("button", name="Restoration sheet").click()
    path = download.value.path()
    assert Path(path).read_bytes().startswith(b"%PDF")


def unfold(page: Page) -> None:
    page.evaluate("document.querySelectorAll('.fold h2 button[aria-expanded=false]').forEach(e => e.click())")

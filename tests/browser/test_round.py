"""Heat on the screen, and the round at the chair: closed until cleared, read from the clock, kept with the visit."""

from typing import Any

import pytest
from playwright.sync_api import Page, expect

from tests.browser.conftest import ASK, copy_of, open_case, turn, violations
from tests.making.answers import answered

VISIT = f"""async (id) => {{ {ASK}
  const {{ revision }} = await ask("GET", `/cases/${{id}}`);
  return ask("POST", `/cases/${{id}}/visits`, {{ base_revision: revision, kind: "cut", by: "DN" }}); }}"""
SAVE = f"""async ([id, base_revision, document]) => {{ {ASK}
  return ask("PUT", `/cases/${{id}}`, {{ base_revision, document }}); }}"""
PACED_MS = 60_000  # heat takes seconds on a quiet machine

pytestmark = pytest.mark.slow


def cleared_copy(page: Page) -> None:
    """Open a copy of the first demo case on the round, with a visit whose answers clear it."""
    case_id = copy_of(page, "AQ-07")
    visit = page.evaluate(VISIT, case_id)
    page.evaluate(SAVE, [case_id, visit["revision"], answered(visit["document"])])
    page.goto(f"{page.url.split('#')[0]}#case={case_id}/round")


def violations_with_head(page: Page) -> list[Any]:
    page.wait_for_selector("h1")  # after a reload the head comes with the plan
    return violations(page)


@pytest.mark.parametrize("scheme", ["light", "dark"])
def test_heat_is_drawn_said_and_free_of_violations(page: Page, scheme: Any) -> None:
    page.emulate_media(color_scheme=scheme)
    open_case(page, "AQ-07", "Heat")
    expect(page.locator(".heat-answer .first")).to_contain_text("6 strokes in", timeout=PACED_MS)
    assert page.locator(".place-of-ring.done").count() == 0
    slider = page.get_by_role("slider", name="Instant of the round")
    slider.focus()
    page.keyboard.press("End")
    assert page.locator(".place-of-ring.done").count() == 6
    expect(page.locator(".organ-name")).to_have_count(4)
    assert violations_with_head(page) == []
    page.set_viewport_size({"width": 1024, "height": 768})
    assert page.evaluate("document.documentElement.scrollWidth <= innerWidth")


def test_the_round_is_closed_in_words_until_the_answers_clear_it(page: Page) -> None:
    open_case(page, "AQ-07", "The round")
    expect(page.get_by_test_id("round-gate")).to_have_text("The round is closed.")
    assert page.get_by_role("button", name="Start the round").count() == 0
    assert violations_with_head(page) == []
    turn(page, "Plan")


def test_a_round_runs_by_the_clock_survives_a_reload_and_is_kept(page: Page) -> None:
    cleared_copy(page)
    page.get_by_label("time to take the handpiece").select_option("5")
    start = page.get_by_role("button", name="Start the round")
    expect(start).to_be_enabled(timeout=PACED_MS)
    start.click()
    expect(page.locator(".running.before")).to_be_visible()
    expect(page.locator(".sound-mark.off")).to_have_text("sound off")
    expect(page.get_by_test_id("where")).to_have_text("facial")
    assert violations_with_head(page) == []
    expect(page.locator(".running .progress")).to_contain_text("1 of 6", timeout=15_000)
    page.reload()
    page.wait_for_selector(".running")
    page.keyboard.press("Escape")
    expect(page.locator("#round-log-title")).to_contain_text("The round was stopped at")
    assert violations_with_head(page) == []
    page.get_by_label("for, s").fill("0.5")
    page.get_by_role("button", name="Add the touch").click()
    page.get_by_role("button", name="Keep it with the visit").click()
    expect(page.get_by_test_id("kept")).to_contain_text("Kept with the visit")
    expect(page.locator(".round-log .sentences")).to_contain_text("Metal was touched for 0.5 s")

"""Two kept plans of a tooth: what is different, and what it did to each route."""

from playwright.sync_api import Page, expect

from collum.vocabulary import ROUTES
from tests.browser.conftest import cell, keep_twice, open_made, premolar, settle, turn, verdict


def keep(page: Page, count: int) -> None:
    turn(page, "Saved plans")
    page.get_by_role("button", name="Save plan").click()
    expect(page.locator(".plans tbody tr")).to_have_count(count)


def test_two_plans_are_compared_and_the_moved_verdicts_explained(page: Page) -> None:
    open_made(page, premolar())
    before = {route: verdict(page, route) for route in ("soft tissue only", "soft tissue and bone")}
    keep(page, 1)
    assert page.locator(".compared").count() == 0
    turn(page, "Findings")
    for site in ("F", "MF", "ML", "L", "DL", "DF"):
        height = cell(page, "sound_height", site)
        height.fill("3.0")
        height.press("Enter")
    reduction = page.locator('[data-field="restoration.occlusal_reduction_mm"]')
    reduction.fill("1.0")
    reduction.press("Enter")
    settle(page)
    turn(page, "Plan")
    after = verdict(page, "soft tissue only")
    assert after != before["soft tissue only"]
    keep(page, 2)
    found = page.locator(".compared")
    expect(found.locator('[data-part="readings"]')).to_contain_text("height of the sound edge at DL")
    expect(found.locator('[data-part="wishes"] tbody tr')).to_have_text(["occlusal reduction, mm1.51.0"])
    assert found.locator('[data-part="constants"]').count() == 0
    assert found.locator(".effect").count() == len(ROUTES)
    soft = found.locator('[data-route="soft tissue only"]')
    assert soft.get_attribute("data-moved") == "true"
    assert soft.locator(".verdict").all_inner_texts() == [before["soft tissue only"], after]
    expect(soft.locator("table")).to_contain_text("ferrule")

    # The other way round, by picking: the same two plans, before and after changed over.
    rows = page.locator(".plans tbody tr")
    rows.nth(0).locator('input[name="before"]').check()
    assert found.count() == 0
    rows.nth(1).locator('input[name="after"]').check()
    expect(found.locator('[data-part="wishes"] tbody tr')).to_have_text(["occlusal reduction, mm1.01.5"])


def test_two_plans_of_the_same_findings_differ_in_nothing(page: Page) -> None:
    open_made(page, premolar(), "Saved plans")
    keep_twice(page)
    expect(page.locator(".causes")).to_contain_text("Nothing that was recorded is different")
    assert page.locator('.effect[data-moved="true"]').count() == 0

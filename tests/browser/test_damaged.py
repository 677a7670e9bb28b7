"""A damaged case on the list: the others are there, it is named with what of it is whole, and that can be taken out."""

import json
from pathlib import Path

from playwright.sync_api import Page, Route, expect

from tests.browser.conftest import violations_in_both_schemes

NOTE = "The record does not hold what was written."
WHAT, REMEDY = "Of this case, what was saved as save 2 does not hold what was written.", "Whole are: save 1."


def damaged_list(route: Route) -> None:
    """Answer as the server does where the second save of the first case is damaged; its first save is asked for in earnest."""
    found = route.fetch().json()
    first, *others = found["cases"]
    told = {"case_id": first["case_id"], "reference": first["reference"], "whole": [1], "what": WHAT, "remedy": REMEDY}
    route.fulfill(json={"cases": others, "damaged": [told]})


def test_a_damaged_case_is_named_beside_the_others_and_its_whole_save_taken_out(page: Page, tmp_path: Path) -> None:
    count = page.locator(".list li a").count()
    reference = page.locator(".list li a strong").first.inner_text()
    page.route("**/api/v1/cases", damaged_list)
    page.route("**/api/v1/about", lambda route: route.fulfill(json={**route.fetch().json(), "record_note": NOTE}))
    page.reload()
    damaged = page.locator("section.damaged")
    expect(damaged).to_contain_text(f"{WHAT} {REMEDY}")
    expect(damaged.get_by_role("heading")).to_have_text(reference)
    expect(page.locator("p.damaged")).to_have_text(NOTE)
    expect(page.locator(".list li a")).to_have_count(count - 1)
    assert violations_in_both_schemes(page) == []
    with page.expect_download() as download:
        damaged.get_by_role("button", name="export save 1 as a case file").click()
    assert download.value.suggested_filename == f"{reference}.json"
    download.value.save_as(tmp_path / "case.json")
    assert json.loads((tmp_path / "case.json").read_text(encoding="utf-8"))["patient"]["reference"] == reference

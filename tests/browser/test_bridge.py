"""The leaf of the bridge: the answer follows a wish at once, wishes stay with the case, drawings have tables, keys suffice."""

from pathlib import Path
from typing import Any

import pytest
from playwright.sync_api import Page, expect

from tests.browser.conftest import ASK, ROOT, open_case, settle

AXE = ROOT / "frontend" / "node_modules" / "axe-core" / "axe.min.js"
COPY = f"""async (id) => {{ {ASK}
  const {{ document }} = await ask("GET", `/cases/${{id}}`);
  document.patient.reference = "B-" + Date.now().toString(36);  // the demo case of that name stays the only one
  return (await ask("POST", "/cases", {{ document }})).case_id; }}"""

pytestmark = pytest.mark.slow


def open_copy(page: Page, reference: str = "AQ-26") -> None:
    """Open a copy of a demo case on its bridge and wait for the answer."""
    href = str(page.locator(".list a", has_text=reference).get_attribute("href"))
    case_id = page.evaluate(COPY, href.split("=")[1].split("/")[0])
    page.goto(f"{page.url.split('#')[0]}#case={case_id}/bridge")
    page.wait_for_selector("[data-testid=bridge-verdict]")


def answered(page: Page, verdict: str) -> None:
    expect(page.get_by_test_id("bridge-verdict")).to_have_attribute("data-verdict", verdict)
    page.wait_for_selector('.bridge[data-current="true"]')


def test_verdict_and_number_follow_the_material(page: Page) -> None:
    open_copy(page)
    answered(page, "short")
    expect(page.locator('[data-list="lacks"]')).to_contain_text("0.5 mm of room")
    least = page.locator('.bridge-bed [data-evidence^="pontic.room"]').first
    expect(least).to_have_text("5.0")
    page.locator('[data-wish="material"]').select_option("metal")
    answered(page, "kept")
    expect(least).to_have_text("3.0")
    expect(page.locator('[data-list="lacks"]')).to_have_count(0)
    settle(page)
    page.reload()
    answered(page, "kept")  # the wish was saved with the case
    page.get_by_role("button", name="Undo").click()
    answered(page, "short")


def test_a_number_outside_its_limits_is_said_and_changes_nothing(page: Page) -> None:
    open_copy(page)
    answered(page, "short")
    room = page.locator('[data-wish="room_mm"]')
    room.fill("21")
    room.press("Tab")
    expect(page.get_by_role("alert").filter(has_text="from 0 to 20")).to_be_visible()
    answered(page, "short")
    room.fill("6,5")
    room.press("Tab")
    answered(page, "kept")
    expect(page.get_by_role("alert")).to_have_count(0)
    height = page.locator('[data-wish="connector_height_mm"]')
    height.fill("2.5")
    height.press("Tab")
    answered(page, "short")
    expect(page.locator('[data-list="what_would_help"]')).to_contain_text("3.0 mm high")
    expect(page.locator(".bridge-joint.short")).to_have_count(2)


def test_what_was_read_under_a_pontic_is_entered_and_the_hollow_follows(page: Page) -> None:
    open_copy(page)
    answered(page, "short")
    expect(page.locator(".bed-answer")).to_contain_text("a hollow of 1.6 mm")
    middle = page.locator('[data-wish="beds.tissue_mm.middle"]')
    middle.fill("2")
    middle.press("Tab")
    expect(page.locator(".bed-answer")).to_contain_text("a hollow of 0.1 mm")
    expect(page.locator('[data-list="to_weigh"]')).to_contain_text("0.9 mm")


def test_tables_beside_the_drawings_and_sources_by_keys_alone(page: Page) -> None:
    open_copy(page)
    answered(page, "short")
    span = page.locator(".bridge-span")
    span.locator("summary").focus()
    page.keyboard.press("Enter")
    cells = span.locator(".twin tbody tr").first.locator("td").all_inner_texts()
    assert cells[0] == "abutment" and cells[2].endswith("%")
    expect(span.locator("svg .measure", has_text=cells[2])).to_have_count(1)  # drawing and table say the same
    span.get_by_test_id("load").select_option(label="hard bite on 24")
    expect(span.locator(".twin tbody tr").first.locator("td").nth(1)).to_have_text("0")
    source = page.locator('[data-evidence="bridge.connector.metal_ceramic.area_mm2"]').first
    source.focus()
    page.keyboard.press("Enter")
    expect(page.get_by_role("dialog", name="Source")).to_contain_text("9 mm2")
    page.keyboard.press("Escape")


def test_a_case_without_a_bridge_has_no_leaf_of_it(page: Page) -> None:
    open_case(page, "AQ-07")
    expect(page.locator(".bar nav").get_by_role("link", name="Bridge", exact=True)).to_have_count(0)


@pytest.mark.parametrize("scheme", ["light", "dark"])
@pytest.mark.parametrize("reference", ["AQ-26", "AQ-31"])
def test_the_leaf_is_free_of_violations_and_holds_on_a_tablet(page: Page, scheme: Any, reference: str) -> None:
    page.emulate_media(color_scheme=scheme)
    open_case(page, reference, "Bridge")
    page.wait_for_selector('.bridge[data-current="true"]')
    page.evaluate(Path(AXE).read_text(encoding="utf-8"))
    found = page.evaluate("axe.run(document, { resultTypes: ['violations'] })")
    assert [(v["id"], [n["html"][:120] for n in v["nodes"]][:3]) for v in found["violations"]] == []
    page.set_viewport_size({"width": 1024, "height": 768})
    assert page.evaluate("document.documentElement.scrollWidth") <= 1024

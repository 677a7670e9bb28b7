"""The section with its isotherms: drawn to scale, moved in time by pointer and keys, read as a table, free of violations."""

import re
from pathlib import Path
from typing import Any

import pytest
from playwright.sync_api import Page, expect

from tests.browser.conftest import ROOT, open_case

AXE = ROOT / "frontend" / "node_modules" / "axe-core" / "axe.min.js"

pytestmark = pytest.mark.slow


@pytest.fixture
def drawn(page: Page) -> Page:
    """The leaf of heat of the first demo case, its section drawn."""
    open_case(page, "AQ-07", "Heat")
    page.wait_for_selector(".heat-section svg")
    page.wait_for_selector('.heat-section[data-current="true"]')
    return page


def lines(page: Page, kind: str = "plain") -> int:
    return page.locator(f"g .isotherm.{kind}").count()


def instant(page: Page) -> float:
    found = re.search(r"at ([\d.]+) s", page.locator(".section-of").inner_text())
    assert found is not None
    return float(found[1])


def test_it_begins_cold_and_is_warm_after_the_first_stroke(drawn: Page) -> None:
    assert lines(drawn) == 0 and drawn.locator(".isotherm-name").count() == 0
    expect(drawn.locator(".heat-section tbody").first).to_contain_text("nowhere")
    drawn.get_by_role("slider", name="Instant on the section").focus()
    drawn.keyboard.press("End")
    assert lines(drawn) > 0
    expect(drawn.locator(".section-of")).to_contain_text("the round is over; warmth spreads on")
    # The chart shares the instant: every place is over there.
    assert drawn.locator(".place-of-ring.done").count() == 5
    names = drawn.locator(".isotherm-name").all_text_contents()
    assert names and all(re.fullmatch(r"\+[\d.]+°", name) for name in names)


def test_keys_and_buttons_go_from_stroke_to_stroke(drawn: Page) -> None:
    slider = drawn.get_by_role("slider", name="Instant on the section")
    slider.focus()
    seen = []
    for _ in range(3):
        drawn.keyboard.press("PageUp")
        seen.append(instant(drawn))
    assert seen == sorted(set(seen)) and seen[0] > 0
    drawn.keyboard.press("PageDown")
    assert instant(drawn) == seen[1]
    drawn.get_by_role("button", name="to the next stroke").click()
    assert instant(drawn) == seen[2]
    drawn.get_by_role("button", name="to the stroke before").click()
    assert instant(drawn) == seen[1]
    expect(drawn.get_by_role("slider", name="Instant of the round")).to_have_value(str(seen[1]))


def test_another_side_and_another_band_are_drawn_and_said(drawn: Page) -> None:
    drawn.get_by_role("slider", name="Instant on the section").focus()
    drawn.keyboard.press("End")
    unfavourable = reach(drawn)
    drawn.get_by_label("side on the right").select_option("60")
    expect(drawn.locator(".section-of")).to_contain_text("mesiofacial on the right, distolingual on the left")
    drawn.get_by_label("side on the right").select_option("180")
    drawn.get_by_label("gentle band").check()
    expect(drawn.locator(".heat-section .note")).to_contain_text("not what to expect")
    gentle = reach(drawn)
    assert gentle != unfavourable
    expect(drawn.locator(".heat-section")).not_to_contain_text("degC")


def reach(page: Page) -> list[str]:
    return page.locator(".heat-section table").first.locator("tbody tr").first.locator("td").all_inner_texts()


def test_it_is_drawn_to_one_scale(drawn: Page) -> None:
    box = drawn.evaluate(
        """() => { const of = (name) => document.querySelector(`.heat-section .${name}`).getBBox();
        const tooth = of("heat-tissue.tooth");
        return { tooth: [tooth.width, tooth.height], two: of("axis-mark").width }; }"""
    )
    millimetre = box["two"] / 2
    width, height = (side / millimetre for side in box["tooth"])
    assert 2 < width < 8 and 8 < height < 20  # half a molar's neck across, the section's reach along it


@pytest.mark.parametrize(("scheme", "width", "height"), [("light", 1440, 900), ("dark", 1024, 768), ("light", 768, 1024)])
def test_it_is_free_of_violations_and_fits(drawn: Page, scheme: Any, width: int, height: int) -> None:
    drawn.emulate_media(color_scheme=scheme)
    drawn.set_viewport_size({"width": width, "height": height})
    drawn.get_by_role("slider", name="Instant on the section").focus()
    drawn.keyboard.press("End")
    drawn.evaluate(Path(AXE).read_text(encoding="utf-8"))
    found = drawn.evaluate("axe.run(document, { resultTypes: ['violations'] })")
    assert [(v["id"], [n["html"][:120] for n in v["nodes"]][:3]) for v in found["violations"]] == []
    assert drawn.evaluate("document.documentElement.scrollWidth <= innerWidth")

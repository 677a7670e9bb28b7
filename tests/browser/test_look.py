"""What the eye and the screen reader meet: labels apart, nothing outside its place, no accessibility violation."""

from itertools import combinations
from pathlib import Path
from typing import Any

import pytest
from playwright.sync_api import Page

from tests.browser.conftest import ROOT, open_case

AXE = ROOT / "frontend" / "node_modules" / "axe-core" / "axe.min.js"
SIZES = ((1440, 900), (1024, 768), (1920, 1080))
CASES = ("AQ-07", "AQ-12", "AQ-31")


@pytest.mark.parametrize("reference", CASES)
@pytest.mark.parametrize("size", SIZES, ids=lambda s: f"{s[0]}x{s[1]}")
def test_no_label_lies_on_another(page: Page, reference: str, size: tuple[int, int]) -> None:
    page.set_viewport_size({"width": size[0], "height": size[1]})
    open_case(page, reference)
    page.get_by_label("three forecasts").check()
    page.wait_for_timeout(100)
    boxes: list[dict[str, Any]] = page.eval_on_selector_all(
        ".strip svg text", "all => all.map(e => ({ text: e.textContent, ...e.getBoundingClientRect().toJSON() }))"
    )
    assert len(boxes) > 12
    edge = page.eval_on_selector(".strip", "e => e.getBoundingClientRect().right")
    assert max(box["right"] for box in boxes) <= edge - 4
    for a, b in combinations(boxes, 2):
        apart = (
            a["right"] <= b["left"] + 1
            or b["right"] <= a["left"] + 1
            or a["bottom"] <= b["top"] + 3
            or b["bottom"] <= a["top"] + 3
        )
        assert apart, (a["text"], b["text"])


@pytest.mark.parametrize("size", SIZES, ids=lambda s: f"{s[0]}x{s[1]}")
def test_nothing_sticks_out_sideways(page: Page, size: tuple[int, int]) -> None:
    page.set_viewport_size({"width": size[0], "height": size[1]})
    open_case(page, "AQ-12")
    assert page.evaluate("document.documentElement.scrollWidth <= innerWidth")
    cut: list[str] = page.eval_on_selector_all(
        "button, h1, h2, th, td, li, p",
        "all => all.filter(e => e.scrollWidth > e.clientWidth + 1 && e.clientWidth > 0).map(e => e.className + e.textContent)",
    )
    assert not cut


@pytest.mark.parametrize("scheme", ["light", "dark"])
@pytest.mark.parametrize("where", ["list", "case"])
def test_no_accessibility_violation(page: Page, scheme: Any, where: str) -> None:
    page.emulate_media(color_scheme=scheme)
    if where == "case":
        open_case(page, "AQ-12")
        page.locator("[data-evidence]").first.click()
        page.wait_for_selector(".source dl")
    # The checker is put in by the test, past the page's own policy.
    page.evaluate(Path(AXE).read_text(encoding="utf-8"))
    found = page.evaluate("axe.run(document, { resultTypes: ['violations'] })")
    told = [(v["id"], [n["html"][:120] for n in v["nodes"]][:3]) for v in found["violations"]]
    assert not told


def test_the_chart_has_a_table_twin(page: Page) -> None:
    open_case(page, "AQ-07")
    page.get_by_text("As a table").click()
    rows = page.locator(".twin tbody tr")
    assert rows.count() >= 8
    assert page.locator(".twin tbody td").first.inner_text()


def test_it_prints_in_black_on_white(page: Page) -> None:
    open_case(page, "AQ-07")
    page.emulate_media(media="print")
    assert page.evaluate("getComputedStyle(document.body).backgroundColor") == "rgb(255, 255, 255)"
    assert page.locator(".bar button").first.is_visible() is False

"""From the key that ends an entry to the changed text of a requirement, in Chromium, on the demo practice served as always."""

import os

from benchmarks.measuring import percentile, spread
from benchmarks.serving import served
from tools import browser as finding

EDITS = 50
CASE, CELL = "AQ-07", "probing_depth F"
VALUES = ("4.5", "4.0")
WATCH = """
() => {
  window.edit = new Promise((done) => {
    const list = document.querySelector("[data-requirement]").parentElement;
    let pressed;
    addEventListener("keydown", () => { pressed = performance.now(); }, { capture: true, once: true });
    const seen = new MutationObserver(() => { seen.disconnect(); done(performance.now() - pressed); });
    seen.observe(list, { subtree: true, characterData: true, childList: true });
  });
}
"""


def key_to_text(repeats: int) -> dict[str, object]:
    """Return median and 95th percentile of 50 edits of one reading; the text is any chance or amount of a requirement."""
    from playwright.sync_api import sync_playwright

    path = finding.find()
    if path is None:
        return {"not_measured": "no Chromium"}
    sandbox = () if hasattr(os, "geteuid") and os.geteuid() else ("--no-sandbox",)
    with served() as found, sync_playwright() as playwright:
        chromium = playwright.chromium.launch(executable_path=path, args=["--disable-gpu", *sandbox])
        page = chromium.new_page(viewport={"width": 1440, "height": 900})
        page.goto(found.link)
        page.get_by_text(CASE).first.click()
        page.locator('main.case[data-waiting="false"] [data-requirement]').first.wait_for()
        cell = page.locator(f'[data-cell="{CELL}"]')
        times = []
        for edit in range(EDITS + 1):
            page.evaluate(WATCH)
            cell.fill(VALUES[edit % 2])
            cell.press("Enter")
            taken = float(page.evaluate("() => window.edit"))
            page.locator('main.case[data-waiting="false"]').wait_for()
            if edit:
                times.append(taken)
        version = chromium.version
        chromium.close()
    return {**spread(times), "p95_ms": percentile(times, 0.95), "edits": len(times), "chromium": version}

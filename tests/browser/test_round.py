"""Heat on the screen, and the round at the chair: closed until cleared, led by word, kept with the visit.

It outlives a reload, a second tab and the death of the server.
"""

import re
import subprocess
import sys
from collections.abc import Iterator
from pathlib import Path
from typing import Any

import pytest
from playwright.sync_api import Browser, Page, expect

from collum.wording import text
from tests.browser.conftest import ASK, START, WAIT_MS, copy_of, open_case, resize, turn, violations, violations_in_both_schemes
from tests.making.answers import answered, counted_aloud

VISIT = f"""async (id) => {{ {ASK}
  const {{ revision }} = await ask("GET", `/cases/${{id}}`);
  return ask("POST", `/cases/${{id}}/visits`, {{ base_revision: revision, kind: "cut", by: "DN" }}); }}"""
SAVE = f"""async ([id, base_revision, document]) => {{ {ASK}
  return ask("PUT", `/cases/${{id}}`, {{ base_revision, document }}); }}"""
COUNT = f"""async ([id, body]) => {{ {ASK}
  return ask("POST", `/cases/${{id}}/time-outs`, body); }}"""
OPEN_ROUND = f"""async (id) => {{ {ASK}
  return ask("GET", `/cases/${{id}}/round`); }}"""
TOKEN = "sessionStorage.getItem('collum-session')"

pytestmark = pytest.mark.slow


def time_out(saved: dict[str, Any]) -> dict[str, Any]:
    """Return the request that enters the time-out of the first tooth of a saved case."""
    number = saved["document"]["teeth"][0]["number"]
    said = {"procedure": "current", "tooth": number, "name": "Dr. Invented", **counted_aloud(number)}
    return {"base_revision": saved["revision"], **said}


def cleared_copy(page: Page) -> None:
    """Open a copy of the first demo case on the round, with a visit whose answers clear it."""
    case_id = copy_of(page, "AQ-07")
    visit = page.evaluate(VISIT, case_id)
    saved = page.evaluate(SAVE, [case_id, visit["revision"], answered(visit["document"])])
    page.evaluate(COUNT, [case_id, time_out(saved)])
    page.goto(f"{page.url.split('#')[0]}#case={case_id}/round")


def violations_with_head(page: Page) -> list[Any]:
    page.wait_for_selector("h1")  # after a reload the head comes with the plan
    return violations(page)


def test_heat_is_drawn_said_and_free_of_violations(page: Page) -> None:
    open_case(page, "AQ-07", "Heat")
    expect(page.locator(".heat-answer .first")).to_contain_text("one stroke each. No wait; about")
    expect(page.locator(".heat-answer .order-of-work li").first).to_have_text("At 1, 2: facial side, straight wire.")
    assert page.locator(".place-of-ring.done").count() == 0
    slider = page.get_by_role("slider", name="Instant of the round")
    slider.focus()
    page.keyboard.press("End")
    assert page.locator(".place-of-ring.done").count() == 5
    expect(page.locator(".organ-name").first).to_be_hidden()  # shares of limits are small print
    page.locator(".small-print summary").click()
    expect(page.locator(".organ-name")).to_have_count(4)
    assert violations_in_both_schemes(page) == []
    resize(page, (1024, 768))
    assert page.evaluate("document.documentElement.scrollWidth <= innerWidth")


def test_what_the_hands_take_is_entered_remembered_and_paced_with(page: Page) -> None:
    open_case(page, "AQ-07", "Heat")
    wipe = page.get_by_label("wiping the wire")
    expect(wipe).to_have_value("3")
    headline = page.locator(".heat-answer .first")
    expect(headline).to_contain_text("about 54 s")
    wipe.fill("10")
    wipe.press("Tab")
    expect(headline).to_contain_text("about 75 s")  # three wipes of five strokes: by hand 54 + 3 * 7
    page.reload()
    expect(page.get_by_label("wiping the wire")).to_have_value("10")
    page.get_by_label("wiping the wire").fill("3")
    page.get_by_label("wiping the wire").press("Tab")
    expect(page.locator(".heat-answer .first")).to_contain_text("about 54 s")


def test_the_round_is_closed_in_words_until_the_answers_clear_it(page: Page) -> None:
    open_case(page, "AQ-07", "The round")
    expect(page.get_by_test_id("round-gate")).to_have_text("The round is closed.")
    assert page.get_by_role("button", name="Start the round").count() == 0
    assert violations_with_head(page) == []
    turn(page, "Plan")


def started(page: Page) -> None:
    """Start the round of a cleared copy: its first stroke may begin at once, and is waited for."""
    cleared_copy(page)
    start = page.get_by_role("button", name="Start the round")
    expect(start).to_be_enabled()
    start.click()
    expect(page.locator(".running.ready")).to_be_visible()


def first_place(page: Page) -> str:
    """Return the name of the place of the first stroke, as the record has the round."""
    heat = page.evaluate(OPEN_ROUND, page.url.split("#case=")[1].split("/")[0])["round"]["heat"]
    centre_deg = heat["sectors"][heat["round"]["strokes"][0]["sector"]]["centre_deg"]
    return text("cli.plan.at", {"station_deg": centre_deg}, heat["number"])


def first_stroke(page: Page) -> None:
    page.keyboard.press(" ")
    expect(page.locator(".running .progress")).to_contain_text("1 of 5")
    expect(page.locator(".written")).to_have_text("written into the record")


def test_a_round_waits_for_the_word_survives_a_reload_and_is_kept(page: Page) -> None:
    started(page)
    expect(page.locator(".sound-mark.off")).to_have_text("sound off")
    expect(page.get_by_test_id("where")).to_have_text(first_place(page))
    expect(page.get_by_role("button", name="Stroke begins")).to_be_focused()
    smallest = min(button.bounding_box()["height"] for button in page.locator(".one-touch button").all())  # type: ignore[index]
    assert smallest >= 72
    first_stroke(page)
    # Later than any stroke of the plan: what the clock alone has passed is not done, and the next stroke is waited for.
    page.evaluate("""() => { const now = performance.now.bind(performance); performance.now = () => now() + 3_600_000; }""")
    expect(page.locator(".running.ready .progress")).to_contain_text("1 of 5")
    page.reload()
    page.wait_for_selector(".running")
    expect(page.locator(".running .progress")).to_contain_text("1 of 5")  # the clock alone has done nothing
    page.keyboard.press("m")
    expect(page.get_by_test_id("marked")).to_have_text("marked: metal touched at stroke 1")
    page.reload()
    page.wait_for_selector(".running")
    expect(page.get_by_test_id("marked")).to_have_text("marked: metal touched at stroke 1")
    page.keyboard.press("Escape")
    expect(page.locator("#round-log-title")).to_contain_text("The round was stopped at")
    assert page.get_by_label("stroke 1 was done").is_checked()
    assert not page.get_by_label("stroke 2 was done").is_checked()
    keep = page.get_by_role("button", name="Save it with the visit")
    expect(keep).to_be_disabled()  # a touch on metal that nobody has said the seconds of
    assert violations_with_head(page) == []
    page.get_by_label("At stroke 1, for").fill("0.5")
    page.get_by_label("At stroke 1, for").press("Tab")
    keep.click()
    expect(page.get_by_test_id("kept")).to_contain_text("Saved with the visit")
    expect(page.locator(".round-log .sentences")).to_contain_text("Metal was touched for 0.5 s")
    turn(page, "Saved plans")
    expect(page.locator(".rounds-kept")).to_contain_text("Strokes done: 1 of 5")
    page.locator(".rounds-kept summary").click()
    expect(page.locator(".rounds-kept .events tbody")).to_contain_text("metal touched")
    assert violations_with_head(page) == []


def test_two_tabs_show_one_round_and_what_is_marked_in_one_is_seen_in_the_other(page: Page) -> None:
    started(page)
    other = page.context.new_page()
    other.goto(page.url.split("#")[0])
    other.evaluate("token => sessionStorage.setItem('collum-session', token)", page.evaluate(TOKEN))
    other.goto(f"{page.url.split('#')[0]}#case={page.url.split('#case=')[1].split('/')[0]}/plan")
    other.reload()
    expect(other.get_by_test_id("open-round")).to_contain_text("is running")
    other.get_by_role("link", name="To the round", exact=True).click()
    expect(other.locator(".running")).to_be_visible()
    first_stroke(other)
    other.get_by_role("button", name="went differently").click()
    expect(page.get_by_test_id("marked")).to_contain_text("went differently")
    page.keyboard.press("Escape")
    expect(other.locator("#round-log-title")).to_contain_text("The round was stopped at")
    page.get_by_role("button", name="Save it with the visit").click()
    expect(page.get_by_test_id("kept")).to_be_visible()
    expect(other.get_by_test_id("round-gate")).to_be_visible()  # closed in the other tab: nothing to close here
    other.close()


class Served:
    """A server of its own, to be killed and started again on the same port."""

    def __init__(self, data: Path) -> None:
        self.data = data
        self.port = "0"
        self.process: subprocess.Popen[str] | None = None

    def start(self, *command: str) -> str:
        """Start it and return a link into it."""
        line = [sys.executable, "-u", "-c", START, *command, "--data", str(self.data), "--port", self.port]
        self.process = subprocess.Popen(line, stdout=subprocess.PIPE, stderr=subprocess.DEVNULL, text=True)
        assert self.process.stdout is not None
        link = next(m for text in self.process.stdout if (m := re.search(r"http://\S+?:(\d+)/#link=\S+", text)))
        self.port = link[1]
        return link[0]

    def kill(self) -> None:
        assert self.process is not None and self.process.stdout is not None
        self.process.kill()
        self.process.wait(60)
        self.process.stdout.close()


@pytest.fixture
def own_server(tmp_path: Path) -> Iterator[Served]:
    server = Served(tmp_path / "practice")
    yield server
    server.kill()


def test_a_round_outlives_the_server_and_what_was_marked_meanwhile_gets_into_the_record(
    chromium: Browser, own_server: Served
) -> None:
    context = chromium.new_context(viewport={"width": 1440, "height": 900})
    context.set_default_timeout(WAIT_MS)
    page = context.new_page()
    page.goto(own_server.start("demo", "--serve"))
    page.wait_for_selector(".list a")
    started(page)
    first_stroke(page)
    case_id = page.url.split("#case=")[1].split("/")[0]
    own_server.kill()
    page.keyboard.press("m")
    expect(page.locator(".written")).to_contain_text("not yet written")
    expect(page.locator(".running")).to_be_visible()  # the page goes on without the server
    assert violations_with_head(page) == []  # here, where it does no harm if the round ends meanwhile
    link = own_server.start("serve")
    page.goto(link)
    page.reload()
    page.wait_for_selector("main.case")
    page.goto(f"{link.split('#')[0]}#case={case_id}/plan")
    banner = page.get_by_test_id("open-round")
    expect(banner).to_be_visible()
    banner.get_by_role("link").click()
    if page.locator(".running").is_visible():
        page.keyboard.press("Escape")
    expect(page.locator("#round-log-title")).to_be_visible()
    assert page.get_by_label("stroke 1 was done").is_checked()
    page.get_by_label("At stroke 1, for").fill("0.2")
    page.get_by_label("At stroke 1, for").press("Tab")
    page.get_by_role("button", name="Save it with the visit").click()
    expect(page.get_by_test_id("kept")).to_be_visible()
    assert page.evaluate("localStorage.length") == 0
    context.close()

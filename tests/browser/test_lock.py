"""The lock in a real browser: what is typed outlives it and a crash of the tab as ciphertext; nothing of the record is left."""

import json
import os
import re
import subprocess
import sys
from collections.abc import Iterator
from contextlib import contextmanager
from pathlib import Path
from typing import Any

import pytest
from playwright.sync_api import Browser, BrowserContext, Page, expect

from tests.browser.conftest import (
    ASK,
    DEMO,
    MAKE,
    PASSPHRASE,
    ROOT,
    SAVED,
    WAIT_MS,
    cell,
    on_paper,
    set_up,
    settle,
    unlock,
    violations_in_both_schemes,
)
from tests.browser.test_round import COUNT, SAVE, VISIT, time_out
from tests.browser.test_weather import bare
from tests.making.answers import answered

OTHER = "a grey heron sleeps"
SENTINEL = "ZQX-7731"
KEPT = """() => new Promise((done) => {
  const look = () => (Object.keys(localStorage).length === 1 ? done() : setTimeout(look, 20));
  look();
})"""
STORES = "JSON.stringify([{ ...localStorage }, { ...sessionStorage }])"
START_ROUND = f"""async ([id, revision]) => {{ {ASK}
  return ask("POST", `/cases/${{id}}/round`, {{ revision, tooth: 0, lead_s: 16 }}); }}"""
HAND = "window.hand = setInterval(() => dispatchEvent(new PointerEvent('pointermove')), 300)"
# A passphrase becomes a key by one hash, and the lock comes after so many seconds without a hand.
SCRIPT = """
import hashlib
from collum.app.record.vault import Vault
from collum.records.sealing import Stretching
Stretching.key_of = lambda self, passphrase: hashlib.sha256(self.salt + passphrase.encode()).digest()
Vault.__init__.__kwdefaults__["idle_s"] = {idle_s}
from collum.cli.main import run; run()"""

pytestmark = pytest.mark.slow


@contextmanager
def serving(data: Path, idle_s: int) -> Iterator[str]:
    """A practice of its own that is to be set up; given with its first link."""
    command = [sys.executable, "-u", "-c", SCRIPT.format(idle_s=idle_s), "serve", "--data", str(data), "--port", "0"]
    variables = {**os.environ, "COLLUM_DRAWS": "300"}
    with subprocess.Popen(
        command, stdout=subprocess.PIPE, stderr=subprocess.DEVNULL, text=True, cwd=ROOT, env=variables
    ) as process:
        assert process.stdout is not None
        try:
            yield next(m[0] for line in process.stdout if (m := re.search(r"http://\S+#link=\S+", line)))
        finally:
            process.terminate()
            assert process.wait(60) == 0


@pytest.fixture(scope="module")
def first(tmp_path_factory: pytest.TempPathFactory) -> Iterator[str]:
    with serving(tmp_path_factory.mktemp("sealed") / "practice", 600) as link:
        yield link


@pytest.fixture(scope="module")
def context(chromium: Browser, first: str) -> Iterator[BrowserContext]:
    """A browser with a record that was set up."""
    made = chromium.new_context(viewport={"width": 1440, "height": 900})
    made.set_default_timeout(WAIT_MS)
    page = made.new_page()
    page.goto(first)
    expect(page.get_by_role("button", name="Bring a practice back from a backup")).to_be_visible()
    assert violations_in_both_schemes(page) == []
    made.recovery = set_up(page)  # type: ignore[attr-defined]  # read where it is used up
    expect(page.locator(".frame")).to_contain_text("unlocked by AB")
    yield made
    made.close()


@pytest.fixture
def page(context: BrowserContext, first: str) -> Iterator[Page]:
    """A further tab, let in by the first one, on the list; any script error fails the test."""
    page = context.new_page()
    troubles: list[str] = []
    page.on("pageerror", lambda error: troubles.append(str(error)))
    page.goto(first.split("#", maxsplit=1)[0])
    page.wait_for_selector("main.list")
    yield page
    page.close()
    assert troubles == []


def typing(page: Page) -> str:
    """Open a new case on its readings, with saves that do not get through; return its id."""
    document = bare()
    document["patient"]["reference"] = SENTINEL
    case_id: str = page.evaluate(MAKE, document)
    page.evaluate("id => { location.hash = `#case=${id}/findings` }", case_id)
    page.wait_for_selector("[data-cell]")
    settle(page)
    page.route("**/api/v1/cases/*", lambda route: route.abort() if route.request.method == "PUT" else route.continue_())
    return case_id


def typed(page: Page, depth: str) -> None:
    cell(page, "probing_depth", "F").fill(depth)
    cell(page, "probing_depth", "F").press("Enter")
    expect(page.locator(".saving")).to_have_attribute("data-state", "retrying")


def on_record(page: Page, case_id: str) -> Any:
    settle(page)
    return page.evaluate(SAVED, case_id)["teeth"][0]["sites"]["probing_depth"]["F"]


def test_what_was_typed_and_not_saved_is_there_and_saved_after_the_unlock(page: Page, context: BrowserContext) -> None:
    case_id = typing(page)
    other = context.pages[0]
    typed(page, "4.5")
    cell(page, "probing_depth", "L").fill("3.5")  # the hand is still in the cell
    page.get_by_role("button", name="Lock now").click()
    expect(page.get_by_role("heading", name="Locked")).to_be_visible()
    expect(other.get_by_role("heading", name="Locked")).to_be_visible()
    assert page.title() == "Locked" and SENTINEL not in page.content()
    stores = page.evaluate(STORES)
    assert case_id in stores and SENTINEL not in stores and "probing_depth" not in stores
    assert violations_in_both_schemes(page) == []
    page.unroute("**/api/v1/cases/*")
    unlock(page, OTHER)
    expect(page.get_by_role("alert")).to_contain_text("passphrase")
    unlock(page)
    page.wait_for_selector("[data-cell]")
    assert on_record(page, case_id) == 4.5
    expect(cell(page, "probing_depth", "L")).to_have_value("3.5")
    expect(other.locator(".frame")).to_contain_text("unlocked by AB")
    assert page.evaluate("Object.keys(localStorage).length") == 0


def test_what_a_tab_that_crashed_had_not_saved_is_taken_up_after_the_unlock(page: Page, context: BrowserContext) -> None:
    case_id = typing(page)
    typed(page, "4.5")
    page.evaluate(KEPT)
    further = context.new_page()
    further.goto(page.url)
    expect(cell(further, "probing_depth", "F")).not_to_have_value("4.5")  # the tab that typed it is still there
    further.get_by_role("button", name="Lock now").click()
    expect(page.get_by_role("heading", name="Locked")).to_be_visible()
    page.close()
    unlock(further)
    further.wait_for_selector("[data-cell]")
    expect(cell(further, "probing_depth", "F")).to_have_value("4.5")
    assert on_record(further, case_id) == 4.5
    assert further.evaluate("Object.keys(localStorage).length") == 0
    further.close()


def test_a_number_typed_and_not_entered_is_asked_about_and_offered_back(page: Page, context: BrowserContext) -> None:
    case_id = typing(page)
    page.unroute("**/api/v1/cases/*")
    cell(page, "probing_depth", "F").press_sequentially("4")
    with page.expect_event("dialog") as asked:
        page.once("dialog", lambda dialog: dialog.dismiss())
        page.close(run_before_unload=True)
    assert asked.value.type == "beforeunload"
    assert on_record(page, case_id) == 4  # what can be taken is sent meanwhile
    cell(page, "probing_depth", "L").press_sequentially("5")
    page.evaluate(KEPT)
    page.close()
    further = context.new_page()
    further.goto(page.url)
    expect(further.get_by_test_id("left-typed")).to_contain_text("In 1 place something was typed")
    assert violations_in_both_schemes(further) == []
    expect(cell(further, "probing_depth", "L")).to_have_value("5")
    assert "L" not in further.evaluate(SAVED, case_id)["teeth"][0]["sites"].get("probing_depth", {})
    cell(further, "probing_depth", "L").press("Enter")
    expect(further.get_by_test_id("left-typed")).to_have_count(0)
    settle(further)
    assert further.evaluate(SAVED, case_id)["teeth"][0]["sites"]["probing_depth"] == {"F": 4, "L": 5}
    assert further.evaluate("Object.keys(localStorage).length") == 0
    further.close()


def test_users_are_added_and_a_lost_passphrase_is_replaced_by_the_recovery_code(page: Page, context: BrowserContext) -> None:
    page.get_by_role("link", name="Users").click()
    page.get_by_label("code of the person").fill("CD")
    page.get_by_label("role").select_option("assistant")
    page.get_by_label("new passphrase").first.fill(OTHER)
    page.get_by_label("the same passphrase again").first.fill(OTHER + "x")
    page.get_by_role("button", name="Add", exact=True).click()
    expect(page.get_by_role("alert")).to_contain_text("differ")
    page.get_by_label("the same passphrase again").first.fill(OTHER)
    page.get_by_role("button", name="Add", exact=True).click()
    expect(page.get_by_role("status").filter(has_text="CD may unlock")).to_be_visible()
    assert violations_in_both_schemes(page) == []
    page.get_by_role("button", name="Lock now").click()
    page.get_by_label("your code").fill("CD")
    unlock(page, OTHER)
    expect(page.locator(".frame")).to_contain_text("unlocked by CD")
    assert page.get_by_role("button", name="Add", exact=True).count() == 0
    page.get_by_role("button", name="Lock now").click()
    page.get_by_role("button", name="Passphrase lost?").click()
    page.get_by_label("recovery code").fill(context.recovery)  # type: ignore[attr-defined]  # see the fixture
    page.get_by_label("your code in this practice").fill("AB")
    page.get_by_label("new passphrase").fill("quiet green harbour")
    page.get_by_label("the same passphrase again").fill("quiet green harbour")
    page.get_by_role("button", name="Open", exact=True).click()
    code = page.locator(".code").inner_text()
    assert code != context.recovery  # type: ignore[attr-defined]
    for group in page.locator("[data-group]").all():
        group.fill("0000")
    page.get_by_role("button", name="I have it on paper").click()
    expect(page.get_by_role("alert")).to_contain_text("That is not what stands in the code")
    assert violations_in_both_schemes(page) == []
    page.get_by_role("button", name="Later").click()
    expect(page.locator(".frame")).to_contain_text("unlocked by AB")
    page.get_by_role("link", name="All cases").or_(page.get_by_role("button", name="Close")).first.click()
    line = page.get_by_test_id("recovery-line")
    line.get_by_role("button", name="I have it on paper").click()
    line.get_by_label("type it from the paper").fill(code.lower())
    assert violations_in_both_schemes(page) == []
    line.get_by_role("button", name="Confirm").click()
    expect(line).to_have_count(0)
    page.get_by_role("link", name="Users").click()
    page.get_by_label("passphrase", exact=True).fill("quiet green harbour")
    page.get_by_role("button", name="Make a new code").click()
    assert on_paper(page) != code
    expect(page.get_by_role("button", name="Make a new code")).to_be_visible()
    page.get_by_role("button", name="Lock now").click()
    page.get_by_label("your code").fill("AB")
    unlock(page)
    expect(page.get_by_role("alert")).to_contain_text("passphrase")
    unlock(page, "quiet green harbour")
    page.get_by_label("present passphrase").fill("quiet green harbour")
    page.get_by_label("new passphrase").last.fill(PASSPHRASE)
    page.get_by_label("the same passphrase again").last.fill(PASSPHRASE)
    page.get_by_role("button", name="Change").click()
    expect(page.get_by_role("status").filter(has_text="Your passphrase is changed")).to_be_visible()


def test_nobody_there_locks_but_for_a_round_and_a_hand_leaves_the_round_alone(chromium: Browser, tmp_path: Path) -> None:
    context = chromium.new_context(viewport={"width": 1024, "height": 768})
    context.set_default_timeout(WAIT_MS)
    page = context.new_page()
    with serving(tmp_path / "practice", 4) as link:
        page.goto(link)
        set_up(page)
        expect(page.get_by_role("heading", name="Locked")).to_be_visible()  # nobody touched it
        unlock(page)
        page.wait_for_selector("main.list")
        page.evaluate(HAND)
        case_id = page.evaluate(MAKE, json.loads(json.dumps(DEMO["AQ-07"], default=str)))
        visit = page.evaluate(VISIT, case_id)
        saved = page.evaluate(SAVE, [case_id, visit["revision"], answered(visit["document"])])
        saved = page.evaluate(COUNT, [case_id, time_out(saved)])
        page.evaluate("id => { location.hash = `#case=${id}/round` }", case_id)
        page.evaluate(START_ROUND, [case_id, saved["revision"]])
        page.evaluate("clearInterval(window.hand)")
        expect(page.get_by_test_id("left")).to_contain_text(re.compile(r"^\s*(10|\d)\s*s"))  # of 16 seconds 5 are over
        page.get_by_role("button", name="Lock now").click()  # longer than the idle lock: nobody is away from a round
        expect(page.get_by_text("Locked. This round goes on")).to_be_visible()
        assert page.locator(".bar").count() == 0
        page.reload()  # what is left of it outlives a reload
        expect(page.locator(".running .progress")).to_contain_text("0 of 5")
        expect(page.locator(".written")).to_have_text("written into the record")
        page.keyboard.press("Escape")
        expect(page.get_by_role("heading", name="Locked")).to_be_visible()
        unlock(page)
        expect(page.locator("#round-log-title")).to_be_visible()
        assert not page.get_by_label("stroke 1 was done").is_checked()  # nobody said that it began
    context.close()

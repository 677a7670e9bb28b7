"""Typing while saves are slow, lost, late or refused, in two windows, over a new start and a full disk: all is on record."""

import re
import subprocess
import sys
from collections.abc import Iterator
from contextlib import contextmanager
from pathlib import Path
from typing import Any

from playwright.sync_api import Browser, Dialog, Page, Route, expect

from collum.app.record.instance import ask_for_link
from tests.browser.conftest import (
    MAKE,
    ROOT,
    Workbench,
    cell,
    id_of,
    on_record,
    open_made,
    premolar,
    set_up,
    settle,
    turn,
    unlock,
)
from tests.making.environment import CHEAP_COMMAND_LINE

# Every save goes through this: its answer held back or lost, or itself sent on long after it was given up.
WEATHER = """(() => {
  const real = window.fetch;
  const wait = (ms) => new Promise((wake) => setTimeout(wake, ms));
  window.weather = [];
  window.climate = {};
  window.states = [];
  window.fetch = async (request, ...rest) => {
    if (request.method !== "PUT") return real(request, ...rest);
    const { after_ms = 0, lost, late_ms } = window.weather.shift() ?? window.climate;
    if (late_ms !== undefined) {
      wait(late_ms).then(() => real(request));
      throw new TypeError("given up");
    }
    const answer = await real(request, ...rest);
    await wait(after_ms);
    if (lost) throw new TypeError("lost");
    return answer;
  };
  addEventListener("DOMContentLoaded", () => new MutationObserver(() => {
    const state = document.querySelector(".saving")?.dataset.state;
    if (state !== undefined && state !== window.states.at(-1)) window.states.push(state);
  }).observe(document, { subtree: true, childList: true, attributeFilter: ["data-state"] }));
})()"""
SITES = ("F", "MF", "ML", "L", "DL", "DF")


def bare(**sites: Any) -> dict[str, Any]:
    """A tooth with next to nothing read, so that plans are quick and every reading is one that was typed."""
    document = premolar()
    document["teeth"][0]["sites"] = {"order": list(SITES), "step": 0.5, **sites}
    return document


def under_weather(page: Page, document: dict[str, Any]) -> None:
    page.add_init_script(WEATHER)
    page.reload()
    page.wait_for_selector(".list a")
    open_made(page, document, "Findings")
    page.wait_for_selector('.readings[aria-busy="false"]')


def sites_on_record(page: Page) -> dict[str, Any]:
    return dict(on_record(page)["teeth"][0]["sites"])


def put(page: Page, kind: str, site: str, text: str) -> None:
    cell(page, kind, site).fill(text)
    cell(page, kind, site).press("Enter")


def no_notice(page: Page) -> None:
    for notice in (".conflict", ".unreached", ".faults"):
        assert page.locator(notice).count() == 0


def test_24_readings_typed_against_saves_of_two_seconds_are_on_record_and_closing_asks_before(page: Page) -> None:
    under_weather(page, bare())
    page.evaluate("window.climate = { after_ms: 2000 }")
    page.evaluate("window.states.length = 0")
    columns = {"probing_depth": "2.5", "bone_sounding": "4.5", "crown_height": "5", "sound_height": "1"}
    cell(page, "probing_depth", "F").focus()
    for reading in columns.values():
        for _ in SITES:
            page.keyboard.type(reading)
            page.keyboard.press("Enter")
            page.wait_for_timeout(200)  # the pace of the hand
    asked: list[str] = []

    def stay(dialog: Dialog) -> None:
        asked.append(dialog.type)
        dialog.dismiss()

    page.once("dialog", stay)
    page.close(run_before_unload=True)
    settle(page)
    assert asked == ["beforeunload"]
    assert sites_on_record(page) | {"order": 0, "step": 0} == {"order": 0, "step": 0} | {
        kind: dict.fromkeys(SITES, float(reading)) for kind, reading in columns.items()
    }
    assert set(page.evaluate("window.states")) == {"saving", "saved"}
    no_notice(page)
    assert page.title() == "45 \N{MIDDLE DOT} Findings \N{MIDDLE DOT} Collum"


def test_answers_late_and_lost_and_requests_that_come_out_of_order_lose_nothing(page: Page) -> None:
    under_weather(page, bare())
    page.evaluate("window.weather = [{ after_ms: 500 }, { after_ms: 700, lost: true }, { late_ms: 2600 }, { after_ms: 600 }]")
    for i, site in enumerate(SITES):
        put(page, "probing_depth", site, f"{2 + i / 2}")
        page.wait_for_timeout(500)  # longer than the hand has to rest, so that each of them is a save
    settle(page)
    assert "retrying" in page.evaluate("window.states")
    page.evaluate("window.climate = { lost: true }")
    put(page, "bone_sounding", "F", "4")
    expect(page.locator(".saving")).to_have_attribute("data-state", "retrying")
    put(page, "bone_sounding", "MF", "4.5")
    page.reload()  # in the midst of it; what was on its way is found out about, what was not is sent
    page.wait_for_selector("[data-cell]")
    settle(page)
    expect(cell(page, "bone_sounding", "MF")).to_have_value("4.5")
    sites = sites_on_record(page)
    assert sites["probing_depth"] == {site: 2 + i / 2 for i, site in enumerate(SITES)}
    assert sites["bone_sounding"] == {"F": 4, "MF": 4.5}
    no_notice(page)


def test_a_case_that_answers_late_is_not_shown_over_the_one_turned_back_to(page: Page) -> None:
    late = page.evaluate(MAKE, bare())
    open_made(page, bare(), "Findings")
    before = id_of(page)
    held: list[Route] = []
    page.route(f"**/api/v1/cases/{late}", lambda route: held.append(route))
    with page.expect_request(f"**/api/v1/cases/{late}"):
        page.evaluate("hash => { location.hash = hash }", f"case={late}")
    turn(page, "Findings")
    assert id_of(page) == before
    with page.expect_response(f"**/api/v1/cases/{late}"):
        held[0].continue_()
    put(page, "bone_sounding", "F", "4")
    settle(page)
    assert sites_on_record(page)["bone_sounding"] == {"F": 4}


def test_two_windows_are_merged_and_asked_only_where_both_changed_one_field(
    page: Page, workbench: Workbench, token: str
) -> None:
    open_made(page, bare(), "Findings")
    other = page.context.new_page()
    other.goto(workbench.origin + "/")
    other.evaluate("token => sessionStorage.setItem('collum-session', token)", token)
    other.goto(f"{workbench.origin}/?second#case={id_of(page)}/findings")
    other.wait_for_selector("[data-cell]")
    for i, site in enumerate(SITES):
        window = (page, other)[i % 2]
        put(window, "probing_depth", site, f"{2 + i / 2}")
        settle(window)
    page.locator('[data-field="state"]').select_option("inflamed")
    settle(page)
    put(other, "bone_sounding", "F", "4 4.5")
    settle(other)
    expect(other.locator('[data-field="state"]')).to_have_value("inflamed")
    assert other.locator(".conflict").count() == 0
    put(page, "bone_sounding", "F", "5")
    put(page, "bone_sounding", "L", "4")
    asked = page.get_by_test_id("clashes")
    expect(asked.get_by_role("listitem")).to_have_count(1)
    expect(asked).to_contain_text("tooth 45, bone sounding at F")
    expect(page.locator(".saving")).to_have_text("changed elsewhere")
    page.reload()
    expect(asked.get_by_role("button", name="here: 5.0")).to_be_visible()
    asked.get_by_role("button", name="in the other window: 4.0 4.5").click()
    expect(asked).to_have_count(0)
    settle(page)
    sites = sites_on_record(page)
    assert sites["bone_sounding"] == {"F": [4, 4.5], "L": 4}
    assert sites["probing_depth"] == {site: 2 + i / 2 for i, site in enumerate(SITES)}
    other.close()


@contextmanager
def serving(data: Path, port: str) -> Iterator[tuple[subprocess.Popen[str], str]]:
    """A workbench of its own, on a disk that is full while `full` stands beside its folder; given with its first link."""
    script = f"""
from pathlib import Path
from tests.browser.full_disk import fill
fill(Path({str(data.with_name("full"))!r}))
{CHEAP_COMMAND_LINE}"""
    command = [sys.executable, "-u", "-c", script, "serve", "--data", str(data), "--port", port]
    with subprocess.Popen(command, stdout=subprocess.PIPE, stderr=subprocess.DEVNULL, text=True, cwd=ROOT) as process:
        assert process.stdout is not None
        yield process, next(m[0] for line in process.stdout if (m := re.search(r"http://\S+#link=\S+", line)))
        process.kill()


def test_a_full_disk_and_a_new_start_in_the_midst_of_typing_lose_nothing(chromium: Browser, tmp_path: Path) -> None:
    data, full = tmp_path / "practice", tmp_path / "full"
    page = chromium.new_page()
    with serving(data, "0") as (_, link):
        page.goto(link)
        set_up(page)
        open_made(page, bare(), "Findings")
        put(page, "probing_depth", "F", "2")
        settle(page)
        full.touch()
        put(page, "probing_depth", "MF", "2.5")
        expect(page.locator(".unreached")).to_contain_text("The disk is full")
        expect(page.locator(".saving")).to_have_text("not saved, trying again")
        put(page, "probing_depth", "ML", "3")
        assert sites_on_record(page)["probing_depth"] == {"F": 2}
        full.unlink()
        settle(page)
        expect(page.locator(".unreached")).to_have_count(0)
        assert sites_on_record(page)["probing_depth"] == {"F": 2, "MF": 2.5, "ML": 3}
    put(page, "probing_depth", "L", "3.5")
    expect(page.locator(".unreached")).to_contain_text("The server does not answer")
    put(page, "probing_depth", "DL", "4")
    port = page.url.split(":")[2].split("/")[0]
    case = page.url.split("#")[1]
    with serving(data, port):
        fresh = ask_for_link(data)
        assert fresh is not None
        page.evaluate("hash => { location.hash = hash }", fresh.split("/")[-1])
        unlock(page)
        settle(page)
        assert page.url.split("#")[1] == case
        assert sites_on_record(page)["probing_depth"] == {"F": 2, "MF": 2.5, "ML": 3, "L": 3.5, "DL": 4}
        expect(cell(page, "probing_depth", "DL")).to_have_value("4.0")
    page.close()

"""The door in a real browser: kept once, it opens without a link; a page whose server was started anew goes on where it was."""

import http.server
import os
import re
import subprocess
import sys
import threading
from collections.abc import Iterator
from contextlib import contextmanager
from dataclasses import dataclass
from pathlib import Path
from typing import Any

import pytest
from playwright.sync_api import BrowserContext, Page, Playwright, expect

from collum.app.record.data_directory import mark_as_demo
from collum.app.record.instance import ask_for_link
from tests.browser.conftest import FLAGS, MAKE, START, cell, on_record, premolar, settle, turn
from tools import browser as finding

STORED = """async () => {
  const names = (await indexedDB.databases()).map((database) => database.name);
  const answer = (asked) => new Promise((done) => { asked.onsuccess = () => done(asked.result); });
  const opened = await answer(indexedDB.open("collum-door"));
  const rows = await answer(opened.transaction("keys").objectStore("keys").getAll());
  opened.close();
  const readable = await Promise.all(["pkcs8", "jwk"].flatMap((form) => rows.map((row) =>
    crypto.subtle.exportKey(form, row.key).then(() => true, () => false))));
  const shown = ({ key, ...rest }) => [Object.keys(rest).join(), key.type, key.extractable, key.usages.join()];
  return { names, rows: rows.map(shown), readable: readable.some((read) => read),
    local: localStorage.length, session: Object.keys(sessionStorage).sort(),
    cookies: document.cookie };
}"""
# What a page of another port can get hold of, and what comes of using it.
STEAL = """async (ours) => {
  const names = (await indexedDB.databases()).map((database) => database.name);
  const heard = [];
  const tabs = new BroadcastChannel("collum-door");
  tabs.onmessage = ({ data }) => heard.push(data);
  tabs.postMessage({ wanted: "thief" });
  const tried = [];
  for (const [path, body] of [["challenge", { browsers: [] }], ["proof", { browser: "x", nonce: "x", signature: "x" }]]) {
    for (const mode of ["cors", "no-cors"]) {
      try {
        const answer = await fetch(`${ours}/api/v1/session/${path}`, { method: "POST", mode, body: JSON.stringify(body),
          headers: { "Content-Type": "application/json", "Collum-Session": "" }, credentials: "include" });
        tried.push(answer.type === "opaque" ? "nothing readable" : await answer.text());
      } catch (error) { tried.push("refused"); }
    }
  }
  return { names, heard, tried: [...new Set(tried)].sort(), cookies: document.cookie, session: sessionStorage.length };
}"""


@dataclass
class Served:
    """A practice whose program can be ended and started anew on the same port."""

    data: Path
    port: int = 0
    process: subprocess.Popen[str] | None = None
    first: str = ""

    @property
    def origin(self) -> str:
        return f"http://127.0.0.1:{self.port}"

    def start(self) -> None:
        command = [sys.executable, "-u", "-c", START, "serve", "--data", str(self.data), "--port", str(self.port)]
        variables = {**os.environ, "COLLUM_DRAWS": "300"}
        self.process = subprocess.Popen(command, stdout=subprocess.PIPE, stderr=subprocess.DEVNULL, text=True, env=variables)
        assert self.process.stdout is not None
        self.first = self.process.stdout.readline().strip()
        found = re.match(r"http://127\.0\.0\.1:(\d+)/#link=", self.first)
        assert found is not None
        self.port = int(found[1])

    def end(self) -> None:
        assert self.process is not None
        with self.process as process:
            process.terminate()
            assert process.wait(60) == 0

    def again(self) -> None:
        self.end()
        self.start()


@pytest.fixture
def served(tmp_path: Path) -> Iterator[Served]:
    made = Served(tmp_path / "practice")
    mark_as_demo(made.data)  # open without a passphrase
    made.start()
    yield made
    made.end()


@contextmanager
def profile(playwright: Playwright, folder: Path) -> Iterator[BrowserContext]:
    """A browser with a profile that outlives it. Any script error or refused content fails the test."""
    path = finding.find()
    if path is None:
        pytest.skip("no Chromium")
    sandbox = () if hasattr(os, "geteuid") and os.geteuid() else ("--no-sandbox",)
    context = playwright.chromium.launch_persistent_context(folder, executable_path=path, args=[*FLAGS, *sandbox])
    troubles: list[str] = []
    context.add_init_script("addEventListener('securitypolicyviolation', (e) => console.error('policy', e.violatedDirective))")
    context.on("weberror", lambda error: troubles.append(str(error.error)))
    context.on("console", lambda m: troubles.append(m.text) if m.text.startswith("policy") else None)
    try:
        yield context
    finally:
        context.close()
    assert troubles == []


def opened(context: BrowserContext, address: str) -> Page:
    page = context.new_page()
    page.goto(address)
    return page


def typed(page: Page, site: str, depth: str) -> None:
    reading = cell(page, "probing_depth", site)
    reading.fill(depth)
    reading.press("Enter")


def depths(page: Page) -> dict[str, Any]:
    settle(page)
    return dict(on_record(page)["teeth"][0]["sites"]["probing_depth"])


@pytest.mark.slow
def test_once_kept_it_opens_from_anywhere_and_a_page_outlives_the_program(
    playwright: Playwright, served: Served, tmp_path: Path
) -> None:
    with profile(playwright, tmp_path / "profile") as context:
        page = opened(context, served.first)
        page.get_by_label("Name for it").fill("Surgery 1")
        page.get_by_role("button", name="Keep", exact=True).click()
        expect(page.locator('[data-door="kept"]')).to_contain_text("Surgery 1")
        stored = page.evaluate(STORED)
        assert stored == {
            "names": ["collum-door"],
            "rows": [["browser", "private", False, "sign"]],
            "readable": False,
            "local": 0,
            "session": ["collum-instance", "collum-session"],
            "cookies": "",
        }
        case_id = page.evaluate(MAKE, premolar())

        second = opened(context, f"{served.origin}/#case={case_id}/findings")  # a second tab, by a bookmark
        second.wait_for_selector("[data-cell]")
        settle(second)
        tokens = [tab.evaluate("sessionStorage.getItem('collum-session')") for tab in (page, second)]
        assert None not in tokens and tokens[0] != tokens[1]

        served.end()  # what is typed while the program is away is there when it is back, in place
        typed(second, "F", "3")
        expect(second.locator(".unreached")).to_contain_text("does not answer")
        served.start()
        expect(second.locator('[data-door="again"]')).to_contain_text("Collum was started again")
        second.get_by_role("button", name="OK").click()
        assert depths(second)["F"] == 3
        assert page.locator('[data-door="shut"]').count() == 0
        assert context.cookies() == []

    with profile(playwright, tmp_path / "profile") as context:  # the browser was closed and is started anew
        page = opened(context, served.origin)
        expect(page.locator('[data-door="kept"]')).to_contain_text("Surgery 1")
        page.get_by_role("button", name="Keep it no longer").click()
        expect(page.locator('[data-door="kept"]')).to_have_count(0)
        assert page.evaluate(STORED)["rows"] == []
        assert list((served.data / "browsers").iterdir()) == []
        page.close()
        page = opened(context, served.origin)
        expect(page.get_by_role("heading")).to_contain_text("needs a link")


@pytest.mark.slow
def test_a_page_that_is_not_kept_waits_in_place_and_goes_on_when_a_link_is_opened_in_another_tab(
    playwright: Playwright, served: Served, tmp_path: Path
) -> None:
    with profile(playwright, tmp_path / "profile") as context:
        page = opened(context, served.first)
        page.get_by_role("button", name="Not now").click()
        expect(page.locator(".doorway")).to_have_count(0)
        page.goto(f"{served.origin}/#case={page.evaluate(MAKE, premolar())}/findings")
        settle(page)
        further = opened(context, served.origin)  # helped by the tab that is open
        expect(further.locator(".list a").first).to_be_visible()
        further.close()

        served.again()
        typed(page, "F", "3")
        shut = page.locator('[data-door="shut"]')
        expect(shut).to_contain_text("Collum was started again")
        expect(shut).to_contain_text("What you typed is kept in this page")
        page.evaluate("location.hash = '#link=no-longer-good'")
        expect(shut).to_contain_text("was used before")
        opened(context, ask_for_link(served.data) or "")
        expect(page.locator('[data-door="again"]')).to_be_visible()
        assert page.url.endswith("/findings")
        assert depths(page)["F"] == 3
        turn(page, "Plan")
        page.wait_for_selector("[data-testid=verdict]")


def test_a_server_of_another_port_in_the_same_profile_gets_nothing_that_helps(
    playwright: Playwright, served: Served, tmp_path: Path
) -> None:
    received: list[str] = []

    class Theirs(http.server.BaseHTTPRequestHandler):
        def do_GET(self) -> None:
            received.append(f"{self.path}\n{self.headers}")
            self.send_response(200)
            self.send_header("Content-Type", "text/html")
            self.end_headers()
            self.wfile.write(b"<!doctype html><title>theirs</title>")

        def log_message(self, *_: object) -> None:
            pass

    with http.server.ThreadingHTTPServer(("127.0.0.1", 0), Theirs) as server:
        threading.Thread(target=server.serve_forever, daemon=True).start()
        with profile(playwright, tmp_path / "profile") as context:
            page = opened(context, served.first)
            page.get_by_label("Name for it").fill("Surgery 1")
            page.get_by_role("button", name="Keep", exact=True).click()
            expect(page.locator('[data-door="kept"]')).to_be_visible()
            token = page.evaluate("sessionStorage.getItem('collum-session')")
            theirs = opened(context, f"http://127.0.0.1:{server.server_port}/")
            found = theirs.evaluate(STEAL, served.origin)
            assert found == {
                "names": [],
                "heard": [],
                "tried": ["refused"],
                "cookies": "",
                "session": 0,
            }
        server.shutdown()
    assert received and not [request for request in received if token in request or "cookie" in request.lower()]

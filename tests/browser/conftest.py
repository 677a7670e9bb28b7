"""A real Chromium on a real server: the demo practice, started by the command a newcomer types."""

import os
import re
import subprocess
import sys
from collections.abc import Iterator
from dataclasses import dataclass, field
from pathlib import Path

import pytest
from playwright.sync_api import Browser, Page, Playwright, Route, sync_playwright

from tools import browser as finding

ROOT = Path(__file__).parents[2]
# The browser itself notes every answer of 4xx; the tests of faults provoke them.
REFUSED = re.compile(r"^Failed to load resource: .* status of 4\d\d")
START = "from collum.cli.main import run; run()"
FLAGS = (
    "--disable-gpu",
    "--disable-quic",
    "--no-first-run",
    "--disable-background-networking",
    "--disable-component-update",
    "--disable-sync",
)


@dataclass
class Workbench:
    """The server under test and how to come in; `troubles` collects what a page must never do."""

    origin: str
    data: Path
    troubles: list[str] = field(default_factory=list)
    requests: list[str] = field(default_factory=list)

    def link(self) -> str:
        found = subprocess.run(
            [sys.executable, "-c", START, "open", "--data", str(self.data), "--print"],
            capture_output=True,
            text=True,
            timeout=30,
            check=True,
        )
        return re.search(r"http://\S+#link=\S+", found.stdout)[0]  # type: ignore[index]  # it printed one


@pytest.fixture(scope="session")
def workbench(tmp_path_factory: pytest.TempPathFactory) -> Iterator[Workbench]:
    data = tmp_path_factory.mktemp("demo") / "practice"
    command = [sys.executable, "-u", "-c", START, "demo", "--data", str(data), "--serve", "--port", "0"]
    with subprocess.Popen(command, stdout=subprocess.PIPE, stderr=subprocess.DEVNULL, text=True) as process:
        assert process.stdout is not None
        link = next(m for line in process.stdout if (m := re.search(r"(http://\S+?)/#link=(\S+)", line)))
        served = Workbench(origin=link[1], data=data)
        served.first = link[0]  # type: ignore[attr-defined]  # the link of the first page
        yield served
        process.terminate()
        assert process.wait(20) == 0


@pytest.fixture(scope="session")
def playwright() -> Iterator[Playwright]:
    with sync_playwright() as started:
        yield started


@pytest.fixture(scope="session")
def chromium(playwright: Playwright) -> Iterator[Browser]:
    path = finding.find()
    if path is None:
        pytest.skip("no Chromium")
    sandbox = () if hasattr(os, "geteuid") and os.geteuid() else ("--no-sandbox",)
    browser = playwright.chromium.launch(executable_path=path, args=[*FLAGS, *sandbox])
    yield browser
    browser.close()


@pytest.fixture(scope="session")
def token(chromium: Browser, workbench: Workbench) -> str:
    """A session, opened once by the one-time link as a person does."""
    page = chromium.new_page()
    page.goto(workbench.first)  # type: ignore[attr-defined]  # set above
    page.wait_for_selector(".list a")
    found: str = page.evaluate("sessionStorage.getItem('collum-session')")
    assert "#" not in page.url
    page.close()
    return found


@pytest.fixture
def page(chromium: Browser, workbench: Workbench, token: str) -> Iterator[Page]:
    """A page with a session on the list of cases. Any script error, refused content or foreign request fails the test."""
    context = chromium.new_context(viewport={"width": 1440, "height": 900}, accept_downloads=True)
    page = context.new_page()
    troubles: list[str] = []
    page.on(
        "console",
        lambda m: (
            troubles.append(f"{m.type}: {m.text}") if m.type in ("error", "warning") and not REFUSED.search(m.text) else None
        ),
    )
    page.on("pageerror", lambda error: troubles.append(str(error)))
    page.add_init_script("addEventListener('securitypolicyviolation', (e) => console.error('policy', e.violatedDirective))")

    def watch(route: Route) -> None:
        if not route.request.url.startswith((workbench.origin, "blob:")):
            troubles.append(f"asked for {route.request.url}")
        route.continue_()

    page.route("**/*", watch)
    page.goto(workbench.origin + "/")
    page.evaluate("token => sessionStorage.setItem('collum-session', token)", token)
    page.reload()
    page.wait_for_selector(".list a")
    yield page
    context.close()
    assert not troubles


def open_case(page: Page, reference: str) -> None:
    """Open a demo case and wait for its plan."""
    page.locator(".list a", has_text=reference).click()
    page.wait_for_selector(".requirements li")
    settle(page)


def settle(page: Page) -> None:
    """Wait until the plan answers the readings and everything is saved."""
    page.wait_for_selector('main.case[data-waiting="false"]')
    page.wait_for_selector('.saving[data-state="saved"]')


def chance(page: Page, requirement: str) -> str:
    """Return the chance shown for a requirement."""
    return page.locator(f'[data-requirement="{requirement}"] .chance').inner_text()


def verdict(page: Page) -> str:
    return page.get_by_test_id("verdict").inner_text().split("\n")[0]

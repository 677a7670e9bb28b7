"""A real Chromium on a real server: the demo practice, started by the command a newcomer types."""

import os
import re
import subprocess
import sys
import tomllib
from collections.abc import Iterator
from dataclasses import dataclass, field
from pathlib import Path
from typing import Any

import pytest
from playwright.sync_api import Browser, BrowserContext, Locator, Page, Playwright, Request, expect, sync_playwright

from collum.app.record.instance import ask_for_link
from collum.case import to_document
from tests.making.environment import CHEAP_COMMAND_LINE
from tests.making.shipped import walked
from tests.making.teeth import case_of, healthy_premolar
from tools import browser as finding

ROOT = Path(__file__).parents[2]
AXE = ROOT / "frontend" / "node_modules" / "axe-core" / "axe.min.js"
ROUTES = (
    "restore without lengthening",
    "deep margin elevation",
    "partial coverage",
    "soft tissue only",
    "soft tissue and bone",
    "extrusion first",
)
DEMO = {
    path.stem: tomllib.loads(path.read_text(encoding="utf-8")) for path in (ROOT / "src/collum/demo_practice").glob("*.toml")
}
WALKED = [reference for reference in sorted(DEMO) if walked(reference)]
# The browser itself notes every answer of 4xx and a server that is away; the tests of faults provoke them.
REFUSED = re.compile(r"^Failed to load resource: (?:.* status of 4\d\d|net::ERR_CONNECTION_REFUSED)")
ASK = """const headers = { "Collum-Session": sessionStorage.getItem("collum-session"), "Content-Type": "application/json" };
const ask = async (method, path, body) => {
  for (;;) {
    const answer = await fetch(`/api/v1${path}`, { method, headers, body: body && JSON.stringify(body) });
    if (answer.ok) return answer.json();
    if (answer.status !== 429) throw new Error(`${method} ${path}: ${answer.status}`);
    await new Promise((wake) => setTimeout(wake, 100));  // a session may ask so often in a second; the page has asked too
  }
};"""
MAKE = f"""async (document) => {{ {ASK} return (await ask("POST", "/cases", {{ document }})).case_id; }}"""
PLAN = f"""async (id) => {{ {ASK}
  const {{ document }} = await ask("GET", `/cases/${{id}}`);
  return (await ask("POST", "/plan", {{ document, generation: Date.now() * 2 }})).plan.teeth[0];
}}"""
COPY = f"""async (id) => {{ {ASK}
  const {{ document }} = await ask("GET", `/cases/${{id}}`);
  document.patient.reference = "R-" + Date.now().toString(36);  // the demo case of that name stays the only one
  return (await ask("POST", "/cases", {{ document }})).case_id; }}"""
PASSPHRASE = "seven wooden spoons"
DRAWS = "1000"  # a tenth of what a practice has: what a page does with a plan does not depend on them
START = CHEAP_COMMAND_LINE
SAVED = f"""async (id) => {{ {ASK} return (await ask("GET", `/cases/${{id}}`)).document; }}"""
ELSEWHERE = f"""async (id) => {{ {ASK}
  const {{ revision, document }} = await ask("GET", `/cases/${{id}}`);
  document.teeth[0].note = "elsewhere";
  await ask("PUT", `/cases/${{id}}`, {{ base_revision: revision, document }});
}}"""
# A wait ends with its event; its bound is for what never comes, and a busy machine is no fault of the code.
WAIT_MS = 60_000
expect.set_options(timeout=WAIT_MS)
# Only before the first page of a tab, as its name tells: a test may take the session away.
SESSION = """if (window.name === "" && location.protocol === "http:") {
  window.name = "has had a session";
  sessionStorage.setItem("collum-session", "TOKEN");
}"""
KEPT_BY_PAGES = "cookies,indexeddb,local_storage,cache_storage,service_workers"
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
        link = ask_for_link(self.data)
        assert link is not None
        return link


@pytest.fixture(scope="session")
def workbench(tmp_path_factory: pytest.TempPathFactory) -> Iterator[Workbench]:
    data = tmp_path_factory.mktemp("demo") / "practice"
    command = [sys.executable, "-u", "-c", START, "demo", "--data", str(data), "--serve", "--port", "0"]
    variables = {**os.environ, "COLLUM_DRAWS": DRAWS}
    with subprocess.Popen(command, env=variables, stdout=subprocess.PIPE, stderr=subprocess.DEVNULL, text=True) as process:
        assert process.stdout is not None
        link = next(m for line in process.stdout if (m := re.search(r"(http://\S+?)/#link=(\S+)", line)))
        served = Workbench(origin=link[1], data=data)
        served.first = link[0]  # type: ignore[attr-defined]  # the link of the first page
        yield served
        process.terminate()
        assert process.wait(60) == 0


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
    page.set_default_timeout(WAIT_MS)
    page.goto(workbench.first)  # type: ignore[attr-defined]  # set above
    page.wait_for_selector(".list a")
    found: str = page.evaluate("sessionStorage.getItem('collum-session')")
    assert "#" not in page.url
    page.close()
    return found


@pytest.fixture(scope="session")
def profile(chromium: Browser, workbench: Workbench) -> Iterator[BrowserContext]:
    """The profile of all pages on the demo practice: the program is loaded and compiled once, not for each test.

    Its first page, without a script, keeps the process in which the others run.
    """
    context = chromium.new_context(viewport={"width": 1440, "height": 900}, accept_downloads=True)
    context.set_default_timeout(WAIT_MS)
    context.new_page().goto(workbench.origin + "/api/v1/none")
    yield context
    context.close()


@pytest.fixture
def page(profile: BrowserContext, workbench: Workbench, token: str) -> Iterator[Page]:
    """A page with a session on the list of cases, and nothing kept by an earlier test.

    Any script error, refused content or foreign request fails the test.
    """
    page = profile.new_page()
    clearing = profile.new_cdp_session(page)
    clearing.send("Storage.clearDataForOrigin", {"origin": workbench.origin, "storageTypes": KEPT_BY_PAGES})
    clearing.detach()
    troubles: list[str] = []
    page.on(
        "console",
        lambda m: (
            troubles.append(f"{m.type}: {m.text}") if m.type in ("error", "warning") and not REFUSED.search(m.text) else None
        ),
    )
    page.on("pageerror", lambda error: troubles.append(str(error)))
    page.add_init_script("addEventListener('securitypolicyviolation', (e) => console.error('policy', e.violatedDirective))")

    page.add_init_script(SESSION.replace("TOKEN", token))

    def watch(request: Request) -> None:
        if not request.url.startswith((workbench.origin, "blob:")):
            troubles.append(f"asked for {request.url}")

    page.on("request", watch)
    page.goto(workbench.origin + "/")
    page.wait_for_selector(".list a")
    yield page
    for opened in profile.pages[1:]:
        opened.close()
    assert not troubles


def set_up(page: Page) -> str:
    """Set up a new record as its owner does, and return its recovery code."""
    page.get_by_role("button", name="Begin a practice").click()
    page.get_by_label("your code in this practice").fill("AB")
    page.get_by_label("new passphrase").fill(PASSPHRASE)
    page.get_by_label("the same passphrase again").fill(PASSPHRASE)
    page.get_by_role("button", name="Set up").click()
    code = on_paper(page)
    page.wait_for_selector("main.list")
    return code


def on_paper(page: Page) -> str:
    """Type the groups of the recovery code that are asked for, and return it."""
    code = page.locator(".code").inner_text()
    for group in page.locator("[data-group]").all():
        group.fill(code.split("-")[int(str(group.get_attribute("data-group")))])
    page.get_by_role("button", name="I have it on paper").click()
    return code


def unlock(page: Page, passphrase: str = PASSPHRASE) -> None:
    """Type a passphrase into the lock; the code of the only user is there already."""
    page.get_by_label("passphrase", exact=True).fill(passphrase)
    page.get_by_role("button", name="Unlock", exact=True).click()


def open_case(page: Page, reference: str, leaf: str = "Plan") -> None:
    """Open a demo case on one of its leaves and wait for its plan."""
    page.locator(".list a", has_text=reference).click()
    ready(page, leaf)


def open_made(page: Page, document: dict[str, Any], leaf: str = "Plan") -> None:
    """Make a case of a document, open it and wait for its plan."""
    case_id = page.evaluate(MAKE, document)
    show(page, case_id, leaf)


def show(page: Page, case_id: str, leaf: str) -> None:
    """Open a case on one of its leaves and wait for its plan; what is on the screen meanwhile is not taken for it."""
    page.goto(f"{page.url.split('#')[0]}#case={case_id}")
    page.wait_for_selector(f'.bar nav a[href="#case={case_id}/plan"]')
    ready(page, leaf)


def copy_of(page: Page, reference: str) -> str:
    """Make a copy of a demo case that a test may change, and return its id."""
    href = str(page.locator(".list a", has_text=reference).get_attribute("href"))
    return str(page.evaluate(COPY, href.split("=")[1].split("/")[0]))


def open_copy(page: Page, reference: str, leaf: str = "Plan") -> None:
    """Open a copy of a demo case on one of its leaves and wait for its plan."""
    show(page, copy_of(page, reference), leaf)


def violations(page: Page, *only: str) -> list[Any]:
    """Return what the checker of accessibility finds on the page as it stands, by all its rules or by those named.

    It is put in past the page's own policy.
    """
    page.evaluate(AXE.read_text(encoding="utf-8"))
    rules = {"resultTypes": ["violations"]} | ({"runOnly": list(only)} if only else {})
    found = page.evaluate("rules => axe.run(document, rules)", rules)
    return [(v["id"], [n["html"][:120] for n in v["nodes"]][:3]) for v in found["violations"]]


def violations_in_both_schemes(page: Page) -> list[Any]:
    """Return what the checker finds in light, and what in dark the rules of colour find: the others do not depend on it."""
    page.emulate_media(color_scheme="light")
    found = violations(page)
    page.emulate_media(color_scheme="dark")
    return found + violations(page, "color-contrast", "link-in-text-block")


def resize(page: Page, size: tuple[int, int]) -> None:
    """Give the page another size and wait until it is drawn anew."""
    page.set_viewport_size({"width": size[0], "height": size[1]})
    page.evaluate("() => new Promise(done => requestAnimationFrame(() => requestAnimationFrame(done)))")


def ready(page: Page, leaf: str) -> None:
    """Wait for the plan and turn to a leaf."""
    page.wait_for_selector("[data-testid=verdict]")
    settle(page)
    turn(page, leaf)


def turn(page: Page, leaf: str) -> None:
    """Turn to another leaf of the open case."""
    page.locator(".bar nav").get_by_role("link", name=leaf, exact=True).click()
    page.wait_for_selector(f".bar nav a[aria-current]:text-is('{leaf}')")


def answered(page: Page) -> None:
    """Wait until the leaf of the restoration answers for the case as it stands."""
    page.wait_for_selector('.hold[data-current="true"]')


def settle(page: Page) -> None:
    """Wait until the plan answers the readings and everything is saved."""
    page.wait_for_selector('main.case[data-waiting="false"]')
    page.wait_for_selector('.saving[data-state="saved"]')


def chance(page: Page, requirement: str) -> str:
    """Return the chance shown for a requirement on the leaf of the plan."""
    return page.locator(f'[data-requirement="{requirement}"] .chance').inner_text()


def verdict(page: Page, route: str) -> str:
    """Return the verdict of a route as files have it, on the leaf of the plan or of the findings."""
    return str(page.locator(f'tr[data-route="{route}"] .verdict').get_attribute("data-verdict"))


def cell(page: Page, kind: str, site: str) -> Locator:
    return page.locator(f'[data-cell="{kind} {site}"]')


def keep_twice(page: Page) -> None:
    """Keep the plan of two revisions that hold the same findings: a change, and the change taken back."""
    page.get_by_role("button", name="Save plan").click()
    page.wait_for_selector(".plans tbody tr")
    turn(page, "Findings")
    for hygiene in ("poor", ""):
        page.locator('[data-field="patient.hygiene"]').select_option(hygiene)
        settle(page)
    turn(page, "Saved plans")
    page.get_by_role("button", name="Save plan").click()
    page.wait_for_selector(".plans tbody tr:nth-child(2)")


def plan_of(page: Page) -> dict[str, Any]:
    """Return the plan of the first tooth of the open case, asked from the server by the page's own session."""
    return dict(page.evaluate(PLAN, id_of(page)))


def id_of(page: Page) -> str:
    """Return the id of the open case."""
    return page.url.split("#case=")[1].split("/")[0]


def on_record(page: Page) -> dict[str, Any]:
    """Return the open case as the record holds it now."""
    return dict(page.evaluate(SAVED, id_of(page)))


def note_elsewhere(page: Page) -> None:
    """Save a note with the first tooth of the open case, as another window would."""
    page.evaluate(ELSEWHERE, id_of(page))


def premolar(**changes: Any) -> dict[str, Any]:
    """A healthy lower premolar broken off at the gum and under it: with bone or movement it may do, without it is short."""
    document = to_document(case_of(healthy_premolar()))
    tooth = document["teeth"][0]
    tooth["sites"]["sound_height"] = {"F": 0.0, "MF": -0.5, "ML": -0.5, "L": 0.0, "DL": -0.5, "DF": -0.5}
    tooth.update(changes)
    return document

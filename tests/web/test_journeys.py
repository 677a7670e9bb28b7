"""Threats that show over several requests (docs/security.md): texts, paths, connections, floods."""

import copy
import json
import re
import socket
import threading
from collections.abc import Callable
from typing import Any

import pytest

from collum.app.plans.planning import Planner
from collum.web.security import HEADERS, MOST_REQUESTS_PER_S
from tests.web.conftest import Served
from tests.web.making import refused, routes

PAYLOADS = (
    "<script>alert(1)</script>",
    '"><img src=x onerror=alert(1)>',
    "<svg/onload=alert(1)>",
    "<svg><script>alert&#40;1)</script>",
    "<iframe srcdoc='<script>alert(1)</script>'>",
    "<math><mi//xlink:href='data:x,<script>alert(1)</script>'>",
    "<details open ontoggle=alert(1)>",
    "<template><script>alert(1)</script></template>",
    "<style>@import 'http://evil.example/x.css'</style>",
    "<link rel=stylesheet href=http://evil.example>",
    "<base href=http://evil.example/>",
    "<form action=http://evil.example><button>",
    "<meta http-equiv=refresh content='0;url=http://evil.example'>",
    "<a href='javascript:alert(1)'>x</a>",
    "javascript:alert(1)",
    "data:text/html,<script>alert(1)</script>",
    "</script><script>alert(1)</script>",
    "--><script>alert(1)</script>",
    "]]><script>alert(1)</script>",
    "'-alert(1)-'",
    "{{constructor.constructor('alert(1)')()}}",
    "{@html '<b>x</b>'}",
    "${alert(1)}",
    "#{7*7}",
    '#read("/etc/passwd")',
    "'; DROP TABLE plan; --",
    "\u202egnp.exe",
    "\u2028alert(1)\u2029",
    "=HYPERLINK('http://evil.example')",
    "%3Cscript%3Ealert(1)%3C/script%3E",
    "\ufeff<script>alert(1)</script>",
    "𝒕𝒆𝒙𝒕 🦷 \u0301",
)


@pytest.fixture
def opened(served: Served) -> dict[str, Any]:
    """A fresh case of its own, made from the first demo case."""
    first = served.api("GET", "/cases").json()["cases"][0]["case_id"]
    document = served.api("GET", f"/cases/{first}").json()["document"]
    return dict(served.api("POST", "/cases", {"document": document}).json())


def test_s2_the_shell_may_be_opened_from_a_file_and_nothing_else(served: Served) -> None:
    led_on = {"Sec-Fetch-Site": "cross-site", "Sec-Fetch-Mode": "navigate", "Sec-Fetch-Dest": "document"}
    assert served.client.get("/", headers=led_on).status_code == 200
    for changed in (
        {"Sec-Fetch-Mode": "no-cors"},
        {"Sec-Fetch-Mode": "cors"},
        {"Sec-Fetch-Dest": "iframe"},
        {"Sec-Fetch-Dest": "script"},
    ):
        refused(served.client.get("/", headers={**led_on, **changed}), 403)
    refused(served.client.get("/assets/x.js", headers=led_on), 403)
    refused(served.api("GET", "/cases", **led_on), 403)
    refused(served.api("GET", "/cases", **{"Sec-Fetch-Site": "none"}), 403)
    assert served.client.get("/", headers={"Sec-Fetch-Site": "none"}).status_code == 200
    assert served.api("GET", "/cases", **{"Sec-Fetch-Site": "same-origin"}).status_code == 200


@pytest.mark.parametrize("link", ["", "x", "é\u0000\ud7ff", "x" * 200, "../../etc/passwd", " "])
def test_s3_links_that_are_no_links_open_nothing(served: Served, link: str) -> None:
    body = json.dumps({"link": link})
    headers = {"Collum-Session": served.token, "Origin": served.origin, "Content-Type": "application/json"}
    answer = served.client.post("/api/v1/session", content=body, headers=headers)
    assert answer.status_code in (401, 422)
    for error in refused(answer, answer.status_code):
        assert error["value"] is None  # a link is never repeated


def test_s4_no_setting_and_no_option_names_an_address(pytestconfig: pytest.Config) -> None:
    described = json.loads((pytestconfig.rootpath / "openapi.json").read_text(encoding="utf-8"))
    assert "servers" not in described
    asked = re.compile(r"--host|--bind|--address|COLLUM_HOST|0\.0\.0\.0")
    sources = sorted((pytestconfig.rootpath / "src/collum").rglob("*.py"))
    assert [file.name for file in sources if asked.search(file.read_text(encoding="utf-8"))] == []


def test_s5_the_policy_is_the_one_written_here() -> None:
    policy = dict(part.strip().split(" ", 1) for part in HEADERS["content-security-policy"].split(";"))
    assert policy == {
        "default-src": "'none'",
        "script-src": "'self'",
        "style-src": "'self'",
        "img-src": "'self' blob:",
        "font-src": "'self'",
        "connect-src": "'self'",
        "worker-src": "'self'",
        "frame-ancestors": "'none'",
        "base-uri": "'none'",
        "form-action": "'none'",
        "require-trusted-types-for": "'script'",
        "trusted-types": "svelte-trusted-html",
    }


@pytest.mark.parametrize("payload", PAYLOADS)
def test_s5_text_comes_back_as_the_text_it_was(served: Served, opened: dict[str, Any], payload: str) -> None:
    """In every text field of a case: taken as it is and given back as it is, or refused in the one shape."""
    for put in TEXT_FIELDS:
        document = copy.deepcopy(opened["document"])
        put(document, payload)
        answer = served.api("POST", "/cases", {"document": document})
        if answer.status_code == 201:
            assert answer.headers["content-type"] == "application/json"
            assert answer.json()["document"] == document
        else:
            refused(answer, 422)


def _in_note(document: dict[str, Any], text: str) -> None:
    document["note"] = text


def _in_reference(document: dict[str, Any], text: str) -> None:
    document["patient"]["reference"] = text


def _in_wish(document: dict[str, Any], text: str) -> None:
    document["patient"]["wish"] = text


def _in_tooth_note(document: dict[str, Any], text: str) -> None:
    document["teeth"][0]["note"] = text


def _in_old_crown(document: dict[str, Any], text: str) -> None:
    document["teeth"][0]["old_crown"] = {"failures": 1, "reason": text}


def _in_requirement(document: dict[str, Any], text: str) -> None:
    document["teeth"][0]["requirements"] = [{"id": "ferrule", "limit": 2.0, "reason": text}]


def _in_key(document: dict[str, Any], text: str) -> None:
    document[text] = 1


TEXT_FIELDS = (_in_note, _in_reference, _in_wish, _in_tooth_note, _in_old_crown, _in_requirement, _in_key)


def test_s6_the_server_connects_to_nobody(served: Served, monkeypatch: pytest.MonkeyPatch) -> None:
    reached: list[object] = []
    connect = socket.socket.connect

    def noted(self: socket.socket, address: Any) -> None:
        reached.append(address)
        connect(self, address)

    monkeypatch.setattr(socket.socket, "connect", noted)
    asked: list[object] = []
    monkeypatch.setattr(socket, "getaddrinfo", lambda *found, **_: asked.append(found) or [])
    case = served.api("GET", "/cases").json()["cases"][0]["case_id"]
    document = served.api("GET", f"/cases/{case}").json()["document"]
    assert served.api("POST", "/plan", {"document": document, "generation": 1}).status_code == 200
    stored = served.api("POST", f"/cases/{case}/plans", {"revision": 1}).json()
    for path in ("/about", "/evidence", "/schema/case", f"/plans/{stored['plan_id']}/papers/plan-sheet"):
        assert served.api("GET", path).status_code == 200
    assert served.client.get("/").status_code == 200
    assert [address for address in reached if address != ("127.0.0.1", served.port)] == []
    assert asked == []


@pytest.mark.parametrize(
    "name", ["..", "../practice.db", "%2e%2e%2fpractice.db", "practice.db", "%00", "..%5c", "C:%5c", "*", "'"]
)
def test_s8_an_id_is_looked_up_and_never_opened(served: Served, name: str) -> None:
    for method, path in routes():
        if "nowhere" in path and method == "GET":
            answer = served.api("GET", path.replace("nowhere", name))
            assert answer.status_code in (200, 404, 405, 422)  # 422: the number of a save is no number
            assert answer.status_code != 200 or answer.json().keys() & {"cases", "evidence"}  # `..` is resolved by the client
            assert answer.status_code != 405 or name == ".."


def test_s15_a_flood_leaves_the_page_answering(served: Served, monkeypatch: pytest.MonkeyPatch) -> None:
    """One session has both threads of the planner at work and more in wait; another one is answered all the while."""
    case = served.api("GET", "/cases").json()["cases"][0]["case_id"]
    document = served.api("GET", f"/cases/{case}").json()["document"]
    lines = {"cut_line_height_mm": [0.0] * 36, "finish_line_height_mm": [0.0] * 36, "hold": None, "route": "soft tissue only"}
    tokens = [served.new_token() for _ in range(5)]
    begun, released = threading.Barrier(3), threading.Event()
    seen: list[int] = []

    def first_held(work: Callable[..., Any]) -> Callable[..., Any]:
        def held(*given: Any, **named: Any) -> Any:
            if not released.is_set():
                begun.wait(60)
                assert released.wait(60)
            return work(*given, **named)

        return held

    monkeypatch.setattr(Planner, "plan", first_held(Planner.plan))
    monkeypatch.setattr(Planner, "judge", first_held(Planner.judge))

    def flood(path: str, token: str, body: dict[str, Any]) -> None:
        seen.append(served.api("POST", path, {**body, "generation": 1}, **{"Collum-Session": token}).status_code)

    plan = ("/plan", {"document": document})
    verdict = ("/plan/verdict", {"document": document, "tooth": 0, **lines})
    floods = zip((plan, plan, plan, verdict, verdict), tokens, strict=True)
    threads = [threading.Thread(target=flood, args=(path, token, body)) for (path, body), token in floods]
    try:
        for thread in threads:
            thread.start()
        begun.wait(60)  # a plan and a verdict are in work
        token = served.new_token()
        for _ in range(MOST_REQUESTS_PER_S // 2):
            assert served.client.get("/").status_code == 200
            assert served.api("GET", "/about", **{"Collum-Session": token}).status_code == 200
        assert seen == []
    finally:
        released.set()
        for thread in threads:
            thread.join(60)
    assert seen == [200] * len(threads)

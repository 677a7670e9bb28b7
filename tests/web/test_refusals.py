"""The one error shape: every route with every kind of wrong request, and what the refusal says."""

import json
import logging
from typing import Any, get_args

import httpx
import pytest

from collum.app.plans.planning import Planner
from collum.app.plans.typesetter import PaperNotMade, TypesettingProcess
from collum.records import StorageError
from collum.web.bodies import MOST_BODY_BYTES
from collum.web.problems import CODES, Code
from tests.web.conftest import Served
from tests.web.making import refused, routes

# Their bodies are no JSON: see test_preparation.py, test_backups.py, test_attachments.py and test_person_archive.py.
FILES = ("/preparation", "/restore/file", "/cases/nowhere/attachments", "/cases/import")
AS_ID = {"/cases/import": "/cases/nowhere"}  # other methods take its last word for the id of a case
WRITING = [(method, path) for method, path in routes() if method in ("POST", "PUT") and path not in FILES]
LINE = [0.0] * 36
VERDICT: dict[str, Any] = {
    "document": {},
    "tooth": 0,
    "route": "soft tissue only",
    "cut_line_height_mm": LINE,
    "finish_line_height_mm": LINE,
    "hold": None,
    "generation": 1,
}
BODIES: dict[str, bytes] = {
    "nothing": b"",
    "no JSON": b"{",
    "two values": b"{}{}",
    "not UTF-8": b'{"document": "\xff"}',
    "list": b"[]",
    "text": b'"x"',
    "number": b"1",
    "null": b"null",
    "missing": b"{}",
    "unknown key": b'{"unknown": 1}',
    "key twice": b'{"document": {}, "document": {}}',
    "not a number": b'{"document": {"a": NaN}, "generation": 1}',
    "infinite": b'{"document": {"a": -Infinity}, "generation": 1}',
    "too deep": b'{"document":' + b'{"a":' * 40 + b"1" + b"}" * 41,
    "bottomless": b"[" * 200_000,
    "too many": json.dumps({"document": [0] * 60_000}).encode(),
    "wrong types": b'{"document": 5, "generation": "x", "link": 5, "revision": 1.5, "base_revision": true, "tooth": "0"}',
}


@pytest.mark.parametrize(("method", "path"), WRITING)
def test_a_wrong_body_is_refused_in_the_one_shape(served: Served, method: str, path: str) -> None:
    for name, body in BODIES.items():
        refused(_sent(served, method, path, body), 422, of=name)


@pytest.mark.parametrize(("method", "path"), WRITING)
def test_a_whole_number_no_database_takes_is_refused(served: Served, method: str, path: str) -> None:
    keys = (
        "base_revision",
        "revision",
        "generation",
        "seed",
        "tooth",
        "passes",
        "station_deg",
        "lead_s",
        "weight_kg",
        "mg_per_kg",
    )
    for name, number in {"2**53": 2**53, "2**63": 2**63, "2**64": 2**64, "10**400": 10**400}.items():
        body = {**dict.fromkeys(keys, number), "document": {"teeth": [{"number": number}]}, "marks": [{"at_s": number}]}
        refused(_sent(served, method, path, json.dumps(body).encode()), 422, of=name)


@pytest.mark.parametrize("number", ["99999999999999999999", "-9223372036854775809", "1" * 400])
def test_a_whole_number_in_a_query_that_no_database_takes_is_refused(served: Served, number: str) -> None:
    for path in (f"/plans/nowhere/papers/plan-sheet?tooth={number}", f"/plans/a/compare/b?tooth={number}"):
        refused(served.api("GET", path), 422)


@pytest.mark.parametrize(("method", "path"), WRITING)
def test_a_huge_body_is_refused_in_the_one_shape(served: Served, method: str, path: str) -> None:
    refused(_sent(served, method, path, b'{"document": "' + b"x" * MOST_BODY_BYTES + b'"}'), 413)


@pytest.mark.parametrize(("method", "path"), routes())
def test_a_wrong_method_is_refused_in_the_one_shape(served: Served, method: str, path: str) -> None:
    taken = {other for other, same in routes() if same in (path, AS_ID.get(path))}
    for wrong in sorted({"DELETE", "PATCH", "PUT", "POST"} - taken):
        refused(_sent(served, wrong, path, b"{}"), 405)


@pytest.mark.parametrize(("method", "path"), routes())
def test_a_query_nobody_asked_for_is_refused_in_the_one_shape(served: Served, method: str, path: str) -> None:
    errors = refused(_sent(served, method, f"{path}?token=x", b"{}" if method != "GET" else None), 422)
    assert errors[0]["where"] == "query.token"


@pytest.mark.parametrize(("method", "path"), routes())
def test_without_a_session_every_route_is_closed_but_those_that_lead_to_one(served: Served, method: str, path: str) -> None:
    answer = _sent(served, method, path, b"{}" if method != "GET" else None, token="")
    refused(answer, 422 if path in ("/session", "/session/challenge", "/session/proof") else 401)


@pytest.mark.parametrize("path", ["/cases/nowhere", "/cases/nowhere/plans", "/plans/nowhere", "/evidence/nowhere", "/nowhere"])
def test_what_is_not_there_is_not_found(served: Served, path: str) -> None:
    refused(_sent(served, "GET", path, None), 404)


@pytest.mark.parametrize("path", ["/nowhere", "/assets/nowhere.js", "/index.html", "/api", "/docs", "/favicon.ico"])
def test_outside_the_interface_too(served: Served, path: str) -> None:
    refused(served.client.get(path), 404)


@pytest.mark.parametrize(
    ("change", "where", "allowed"),
    [
        ({"tooth": -1}, "tooth", "at least 0"),
        ({"tooth": 1.5}, "tooth", "a whole number"),
        ({"tooth": "0"}, "tooth", "a whole number"),
        ({"cut_line_height_mm": [0.0] * 35}, "cut_line_height_mm", "at least 36 entries"),
        ({"cut_line_height_mm": [0.0] * 37}, "cut_line_height_mm", "at most 36 entries"),
        ({"finish_line_height_mm": [*[0.0] * 35, "x"]}, "finish_line_height_mm[35]", "a finite number"),
        ({"finish_line_height_mm": [*[0.0] * 35, 1e300]}, "finish_line_height_mm[35]", "at most 40"),
        ({"finish_line_height_mm": "x"}, "finish_line_height_mm", "a list"),
        ({"route": "by hand"}, "route", "soft tissue only"),
        ({"hold": {"line": "cut", "station_deg": 360, "height_mm": 0}}, "hold.station_deg", "below 360"),
        ({"hold": {"line": "rest", "station_deg": 0, "height_mm": 0}}, "hold.line", "'cut' or 'finish'"),
        ({"hold": 5}, "hold", "a JSON object"),
        ({"document": []}, "document", "a JSON object"),
        ({"<script>": 1}, "<script>", "see the API description"),
    ],
)
def test_a_fault_says_where_it_stands_and_what_is_allowed(
    served: Served, change: dict[str, Any], where: str, allowed: str
) -> None:
    errors = refused(served.api("POST", "/plan/verdict", {**VERDICT, **change}), 422)
    assert [error["where"] for error in errors] == [where]
    assert allowed in errors[0]["allowed"]


def test_lines_of_what_is_not_planned_are_refused(served: Served) -> None:
    document = _demo_document(served)
    assert served.api("POST", "/plan/verdict", {**VERDICT, "document": document}).status_code == 200
    errors = refused(served.api("POST", "/plan/verdict", {**VERDICT, "document": document, "tooth": 1}), 422)
    assert errors[0]["where"] == "tooth"
    document["teeth"][0]["role"] = "neighbour"
    refused(served.api("POST", "/plan/verdict", {**VERDICT, "document": document}), 422)


def test_a_crash_gives_an_id_here_and_its_place_in_the_log(
    served: Served, monkeypatch: pytest.MonkeyPatch, caplog: pytest.LogCaptureFixture, capfd: pytest.CaptureFixture[str]
) -> None:
    def crash(*_: object, **__: object) -> None:
        raise RuntimeError("ZQX-7731 at /some/path")

    monkeypatch.setattr(Planner, "plan", crash)
    with caplog.at_level(logging.DEBUG):
        answer = served.api("POST", "/plan", {"document": _demo_document(served), "generation": 1})
    refused(answer, 500)
    told = answer.text + caplog.text + "".join(capfd.readouterr())
    written = "".join(path.read_text() for path in served.data.rglob("*.jsonl"))
    assert answer.json()["id"] in written and "RuntimeError" in written
    assert "ZQX-7731" not in told + written and "Traceback" not in told + written


def test_a_paper_that_was_not_made_is_told_in_words_with_the_id_of_the_log(
    served: Served, monkeypatch: pytest.MonkeyPatch
) -> None:
    def ends(*_: object, **__: object) -> None:
        raise PaperNotMade

    case_id = served.api("GET", "/cases").json()["cases"][0]["case_id"]
    with monkeypatch.context() as patched:
        patched.setattr(TypesettingProcess, "__call__", ends)
        answer = served.api("GET", f"/cases/{case_id}/safety/checklist")
    (error,) = refused(answer, 500)
    assert "ask for the paper again" in error["page"]
    assert answer.json()["id"] in "".join(path.read_text() for path in served.data.rglob("*.jsonl"))
    assert served.api("GET", f"/cases/{case_id}/safety/checklist").content.startswith(b"%PDF")


def test_storage_trouble_is_told_in_the_one_shape(served: Served, monkeypatch: pytest.MonkeyPatch) -> None:
    def full(*_: object, **__: object) -> None:
        raise StorageError("full")

    monkeypatch.setattr("collum.records.Store.newest_revisions", full)
    (error,) = refused(_sent(served, "GET", "/cases", None), 503)
    assert error["page"].startswith("The disk is full. Nothing was written. Make room")


def test_a_copy_without_its_pages_says_what_to_do(served: Served, monkeypatch: pytest.MonkeyPatch) -> None:
    monkeypatch.setattr("collum.web.static_files._files", dict)
    errors = refused(served.client.get("/"), 404)
    assert "not built" in errors[0]["what"] and "make run" in errors[0]["allowed"]


def test_every_code_is_closed_in_the_description_and_explained_in_the_guide(pytestconfig: pytest.Config) -> None:
    guide = (pytestconfig.rootpath / "docs/guide/http-api.md").read_text(encoding="utf-8")
    assert set(get_args(Code)) == set(CODES)
    assert [code for code, status in CODES.items() if f"| `{code}` | {status} |" not in guide] == []


def test_every_route_stands_in_the_guide(pytestconfig: pytest.Config) -> None:
    guide = (pytestconfig.rootpath / "docs/guide/http-api.md").read_text(encoding="utf-8")
    kept = json.loads((pytestconfig.rootpath / "openapi.json").read_text(encoding="utf-8"))
    wanted = [f"`{method.upper()} {path.removeprefix('/api/v1')}`" for path, item in kept["paths"].items() for method in item]
    assert [route for route in wanted if route not in guide] == []


def _demo_document(served: Served) -> dict[str, Any]:
    first = served.api("GET", "/cases").json()["cases"][0]["case_id"]
    return dict(served.api("GET", f"/cases/{first}").json()["document"])


def _sent(served: Served, method: str, path: str, body: bytes | None, token: str | None = None) -> httpx.Response:
    """Send a request; a token of its own each time, so that the limit of requests in a second plays no part."""
    headers = {"Collum-Session": served.new_token() if token is None else token, "Origin": served.origin}
    if body is not None:
        of_file = method == "POST" and path.split("?")[0] in FILES
        headers["Content-Type"] = "application/octet-stream" if of_file else "application/json"
    return served.client.request(method, f"/api/v1{path}", content=body, headers=headers)

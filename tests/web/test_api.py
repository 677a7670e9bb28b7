"""The routes: one error shape, conflicts, and the same numbers as the plan."""

import copy
import itertools
import json
from typing import Any

import pytest

from collum.app.planning import Planner
from collum.case import from_document
from collum.web.openapi import openapi
from tests.web.conftest import Served
from tests.web.test_gate import PROBLEM

PAYLOADS = (
    "<script>alert(1)</script>",
    '"><img src=x onerror=alert(1)>',
    "javascript:alert(1)",
    "{{7*7}}",
    "${7*7}",
    "'; DROP TABLE plan; --",
    '#read("/etc/passwd")',
    "<svg/onload=alert(1)>",
    "\u202egnp.exe",
    "=1+1",
)


@pytest.fixture
def opened(served: Served) -> dict[str, Any]:
    """A fresh case of its own, made from the first demo case."""
    first = served.api("GET", "/cases").json()["cases"][0]["case_id"]
    document = served.api("GET", f"/cases/{first}").json()["document"]
    return served.api("POST", "/cases", {"document": document}).json()  # type: ignore[no-any-return]  # JSON


def faulty(answer: Any, status: int) -> list[dict[str, Any]]:
    assert answer.status_code == status, answer.text
    body = answer.json()
    assert set(body) >= PROBLEM
    assert answer.headers["content-type"].startswith("application/problem+json")
    assert body["status"] == status
    for error in body["errors"]:
        assert set(error) == {"where", "what", "allowed", "value"}
    for word in ("Traceback", "/src/", "site-packages", "SELECT", "sqlite"):
        assert word not in answer.text
    return list(body["errors"])


def requests_of() -> list[tuple[str, str]]:
    return [(method.upper(), path) for path, item in openapi()["paths"].items() for method in item]


@pytest.mark.parametrize(("method", "path"), requests_of())
def test_every_route_answers_nonsense_in_the_one_shape(served: Served, method: str, path: str) -> None:
    path = path.removeprefix("/api/v1").replace("{case_id}", "none").replace("{plan_id}", "none").replace("{key}", "none")
    path = path.replace("{kind}", "none")
    token = served.new_token()
    header = {"Collum-Session": token}
    if method in ("POST", "PUT"):
        bodies: tuple[object, ...] = ([], "x", 1, {}, {"unknown": 1}, {"document": 5, "generation": "x"}, {"link": 5})
        for body in bodies:
            assert faulty(served.api(method, path, body, **header), 422)
        broken = served.client.request(
            method,
            f"/api/v1{path}",
            content="{",
            headers={**header, "Origin": served.origin, "Content-Type": "application/json"},
        )
        faulty(broken, 422)
    elif "none" in path:
        faulty(served.api(method, path, **header), 422 if "papers" in path else 404)
    wrong = {"GET": "DELETE", "POST": "DELETE", "PUT": "PATCH"}[method]
    faulty(served.api(wrong, path, {}, **header), 405)


def test_an_unknown_path_answers_in_the_one_shape(served: Served) -> None:
    faulty(served.api("GET", "/nothing/here"), 404)
    faulty(served.client.get("/nothing"), 404)


def test_a_crash_gives_an_id_and_nothing_else(served: Served, monkeypatch: pytest.MonkeyPatch) -> None:
    def crash(*_: object, **__: object) -> None:
        raise RuntimeError("secret ZQX-7731 at /some/path")

    monkeypatch.setattr(Planner, "plan", crash)
    document = served.api("GET", f"/cases/{served.api('GET', '/cases').json()['cases'][0]['case_id']}").json()["document"]
    answer = served.api("POST", "/plan", {"document": document, "generation": 10**9})
    faulty(answer, 500)
    assert "ZQX-7731" not in answer.text
    written = "".join(p.read_text() for p in served.data.rglob("*.jsonl"))
    assert answer.json()["id"] in written
    assert "ZQX-7731" not in written


def test_faults_of_a_case_are_all_told_where_they_stand(served: Served, opened: dict[str, Any]) -> None:
    document = copy.deepcopy(opened["document"])
    tooth = document["teeth"][0]
    site = tooth["sites"]["order"][0]
    tooth["sites"]["probing_depth"][site] = 99
    document["patient"]["phenotype"] = "fat"
    errors = faulty(served.api("POST", "/plan", {"document": document, "generation": 10**9 + 1}), 422)
    assert {e["where"] for e in errors} == {
        "patient.phenotype",
        f"teeth[0].sites.probing_depth.{site}",
    }


def test_a_save_from_an_old_revision_is_refused_with_the_newer_one(served: Served, opened: dict[str, Any]) -> None:
    path = f"/cases/{opened['case_id']}"
    first = copy.deepcopy(opened["document"])
    first["note"] = "first"
    second = copy.deepcopy(opened["document"])
    second["note"] = "second"
    saved = served.api("PUT", path, {"base_revision": opened["revision"], "document": first})
    assert saved.status_code == 200
    answer = served.api("PUT", path, {"base_revision": opened["revision"], "document": second})
    faulty(answer, 409)
    assert answer.json()["newest"]["revision"] == saved.json()["revision"]
    assert answer.json()["newest"]["document"]["note"] == "first"
    assert served.api("GET", path).json()["document"]["note"] == "first"


def test_a_plan_over_http_is_the_plan_of_the_use_case(served: Served, opened: dict[str, Any]) -> None:
    answer = served.api("POST", "/plan", {"document": opened["document"], "generation": 2 * 10**9})
    assert answer.json()["plan"] == Planner().plan(from_document(opened["document"])).model_dump()


def test_the_verdict_of_the_same_lines_equals_the_plan_to_the_last_digit(served: Served, opened: dict[str, Any]) -> None:
    plan = served.api("POST", "/plan", {"document": opened["document"], "generation": 3 * 10**9}).json()["plan"]
    route = plan["teeth"][0]["routes"][0]
    body = {
        "document": opened["document"],
        "tooth": 0,
        "route": route["name"],
        "cut_line": route["cut_line"],
        "finish_line": route["finish_line"],
        "hold": None,
        "generation": 7,
    }
    judged = served.api("POST", "/plan/verdict", body).json()
    assert judged["generation"] == 7
    assert judged["route"]["verdict"] == route["verdict"]
    for mine, theirs in zip(judged["route"]["requirements"], route["requirements"], strict=True):
        assert mine["probability"] == theirs["probability"]
        assert mine["worst_station_probability"] == theirs["worst_station_probability"]


def test_a_held_height_bends_the_line_smoothly_through_it(served: Served, opened: dict[str, Any]) -> None:
    plan = served.api("POST", "/plan", {"document": opened["document"], "generation": 4 * 10**9}).json()["plan"]
    route = plan["teeth"][0]["routes"][0]
    at = 24
    height = route["cut_line"][at] - 0.4
    body = {
        "document": opened["document"],
        "tooth": 0,
        "route": route["name"],
        "cut_line": route["cut_line"],
        "finish_line": route["finish_line"],
        "hold": {"line": "cut", "station_deg": 240.0, "height_mm": height},
        "generation": 8,
    }
    bent = served.api("POST", "/plan/verdict", body).json()["route"]["cut_line"]
    assert bent[at] == pytest.approx(height, abs=1e-6)
    moved = [a - b for a, b in zip(bent, route["cut_line"], strict=True)]
    steps = [abs(a - b) for a, b in itertools.pairwise(moved)]
    assert max(steps) < 0.15
    assert abs(moved[6]) < 0.01  # the other side of the tooth stays


def test_more_error_in_one_reading_changes_bands_chances_and_worst_place(served: Served, opened: dict[str, Any]) -> None:
    plans = []
    for n, error in enumerate((0.3, 1.5)):
        document = copy.deepcopy(opened["document"])
        sites = document["teeth"][0]["sites"]
        soundings = sites["bone_sounding"]
        site = sites["order"][-1]
        first = soundings[site][0] if isinstance(soundings[site], list) else soundings[site]
        number = first["value"] if isinstance(first, dict) else first
        soundings[site] = {"value": number, "error": error}
        answer = served.api("POST", "/plan", {"document": document, "generation": 5 * 10**9 + n})
        plans.append(answer.json()["plan"]["teeth"][0])
    sure, unsure = plans
    station = sure["stations_deg"].index(sure["sites_deg"][-1])
    assert unsure["levels"]["crest"]["sd"][station] > sure["levels"]["crest"]["sd"][station] + 0.1
    rows = [{r["id"]: r for r in p["routes"][0]["requirements"]} for p in plans]
    assert rows[0]["clear_of_crest"]["probability"] != rows[1]["clear_of_crest"]["probability"]
    assert [rows[0][k]["worst_station_deg"] for k in rows[0]] != [rows[1][k]["worst_station_deg"] for k in rows[0]]


def test_a_page_that_counts_anew_is_answered(served: Served, opened: dict[str, Any]) -> None:
    for generation in (9 * 10**9, 1):
        answer = served.api("POST", "/plan", {"document": opened["document"], "generation": generation})
        assert answer.json()["generation"] == generation


def test_a_stored_plan_prints_the_same_bytes_again(served: Served, opened: dict[str, Any]) -> None:
    plans = f"/cases/{opened['case_id']}/plans"
    made = served.api("POST", plans, {"revision": opened["revision"]})
    assert made.status_code == 201
    plan_id = made.json()["plan_id"]
    for kind in ("chairside-card", "plan-sheet"):
        papers = [served.api("GET", f"/plans/{plan_id}/papers/{kind}") for _ in range(2)]
        assert papers[0].content == papers[1].content
        assert papers[0].content.startswith(b"%PDF")
        assert papers[0].headers["content-type"] == "application/pdf"
    assert served.api("GET", plans).json()["plans"][0]["plan_id"] == plan_id
    faulty(served.api("GET", f"/plans/{plan_id}/papers/plan-sheet?tooth=9"), 404)
    faulty(served.api("POST", plans, {"revision": 99}), 404)


@pytest.mark.parametrize("payload", PAYLOADS)
def test_text_comes_back_as_the_text_it_was(served: Served, opened: dict[str, Any], payload: str) -> None:
    document = copy.deepcopy(opened["document"])
    document["note"] = payload
    document["patient"]["wish"] = payload
    document["teeth"][0]["note"] = payload
    answer = served.api("PUT", f"/cases/{opened['case_id']}", {"base_revision": opened["revision"], "document": document})
    assert answer.status_code == 200
    assert answer.json()["document"]["note"] == payload
    assert answer.headers["content-type"] == "application/json"


def test_the_description_of_the_interface_is_the_one_that_is_kept(pytestconfig: pytest.Config) -> None:
    kept = json.loads((pytestconfig.rootpath / "openapi.json").read_text())
    made = json.loads(json.dumps(openapi()))
    assert made["paths"].keys() >= kept["paths"].keys()
    assert made == kept

"""Scans at the HTTP door: the answer of the use case, the one error shape, and limits before anything is parsed."""

import json
import threading
from typing import Any

import httpx
import pytest

from collum.app.plans.preparation import judge_bytes
from collum.core.preparation.made import PreparationDesign, preparation_mesh
from collum.plan.preparation import Wanted
from collum.web import bodies, scan_routes
from tests.making.mesh_files import obj
from tests.web.conftest import Served
from tests.web.making import refused

DESIGN = PreparationDesign(
    facial_oral_mm=9, mesiodistal_mm=7, height_mm=4.5, convergence_facial_oral_deg=12, convergence_mesiodistal_deg=16
)
MESH = preparation_mesh(DESIGN, around=48, levels=6)
SCAN = obj(MESH.vertices_mm, MESH.faces)


def sent(served: Served, content: Any, query: str = "", **headers: str) -> httpx.Response:
    given = {"Collum-Session": served.token, "Origin": served.origin, "Content-Type": "application/octet-stream", **headers}
    return served.client.post(f"/api/v1/preparation{query}", content=content, headers=given, timeout=60)


@pytest.mark.slow
def test_the_answer_is_that_of_the_use_case(served: Served) -> None:
    answer = sent(served, SCAN, "?axis=0,0,1&facial=1,0,0&tooth=45")
    assert answer.status_code == 200, answer.text[:300]
    expected = judge_bytes(SCAN, Wanted(path=(0, 0, 1), facial=(1, 0, 0), tooth=45)).model_dump(mode="json")
    assert {**answer.json(), "took": None} == {**expected, "took": None}
    assert answer.json()["format"] == "collum-preparation/2"


@pytest.mark.slow
def test_the_plan_of_a_saved_case_stands_beside_it(served: Served) -> None:
    cases = served.api("GET", "/cases").json()["cases"]
    case = next(case for case in cases if case["reference"] == "AQ-12")
    answer = sent(served, SCAN, f"?facial=1,0,0&tooth={case['teeth'][0]}&case_id={case['case_id']}")
    assert answer.json()["beside_plan"]["case_reference"] == "AQ-12"
    other = sent(served, SCAN, f"?facial=1,0,0&tooth=11&case_id={case['case_id']}")
    assert other.status_code == 200 and other.json()["beside_plan"] is None
    refused(sent(served, SCAN, "?tooth=45&case_id=nowhere"), 404)


@pytest.mark.slow
@pytest.mark.parametrize(
    ("content", "where", "what"),
    [
        (b"", "file", "holds nothing"),
        (SCAN[:200], "line 7", "none that is known"),
        (obj(MESH.vertices_mm / 1000, MESH.faces), "surface", "measures"),
    ],
)
def test_a_file_that_is_no_preparation_is_refused_in_the_one_shape(
    served: Served, content: bytes, where: str, what: str
) -> None:
    errors = refused(sent(served, content), 422)
    assert errors[0]["where"] == where and what in errors[0]["what"]


@pytest.mark.parametrize(
    ("query", "where"),
    [
        ("?axis=0,0", "query.axis"),
        ("?axis=0,0,0", "query.axis"),
        ("?facial=1,nan,0", "query.facial"),
        ("?facial=%3Cscript%3E", "query.facial"),
        ("?tooth=49", "query.tooth"),
        ("?tooth=19", "query.tooth"),
        ("?unit=m", "query.unit"),
        ("?path=0,0,1", "query.path"),
    ],
)
def test_what_is_told_beside_the_file_is_checked_first(served: Served, query: str, where: str) -> None:
    assert refused(sent(served, SCAN, query), 422)[0]["where"] == where


def test_only_bytes_that_are_named_as_such_are_taken(served: Served) -> None:
    for kind in ("application/json", "model/stl", "multipart/form-data; boundary=x", "text/plain"):
        refused(sent(served, SCAN, **{"Content-Type": kind}), 415)
    refused(served.api("POST", "/plan", {}, **{"Content-Type": "application/octet-stream"}), 415)
    refused(sent(served, SCAN, Origin="http://elsewhere"), 403)
    refused(sent(served, SCAN, **{"Collum-Session": "nobody"}), 401)


def test_s7_a_scan_over_its_size_is_refused_before_and_while_it_comes(served: Served, monkeypatch: pytest.MonkeyPatch) -> None:
    monkeypatch.setattr("collum.web.bodies.MOST_BYTES", 1000)
    refused(sent(served, b"x" * 1001), 413)
    refused(sent(served, iter([b"x" * 600, b"x" * 600])), 413)


def test_s15_a_scan_that_does_not_come_is_let_go(served: Served, monkeypatch: pytest.MonkeyPatch) -> None:
    monkeypatch.setattr(bodies.scan_of.__wrapped__, "__kwdefaults__", {"within_s": 0.2})  # type: ignore[attr-defined]
    refuse, waited = bodies.problem, threading.Event()

    def refusing(*given: Any, **named: Any) -> Any:
        waited.set()
        return refuse(*given, **named)

    def slowly() -> Any:
        yield b"solid"
        assert waited.wait(60)
        yield b"late"

    monkeypatch.setattr(bodies, "problem", refusing)
    refused(sent(served, slowly()), 408)


@pytest.mark.slow
def test_while_a_scan_is_judged_the_page_is_answered(served: Served, monkeypatch: pytest.MonkeyPatch) -> None:
    """The reading runs elsewhere: it goes on only once another request has been answered."""
    judge, begun, answered = scan_routes.judge_file, threading.Event(), threading.Event()

    def judging(*given: Any) -> Any:
        begun.set()
        assert answered.wait(60)
        return judge(*given)

    monkeypatch.setattr(scan_routes, "judge_file", judging)
    found: list[int] = []
    thread = threading.Thread(target=lambda: found.append(sent(served, SCAN).status_code))
    thread.start()
    assert begun.wait(60)
    with httpx.Client(base_url=served.origin, timeout=60) as other:
        answer = other.get("/api/v1/about", headers={"Collum-Session": served.token})
    answered.set()
    thread.join(60)
    assert answer.status_code == 200 and json.loads(answer.content)["demo"] and found == [200]

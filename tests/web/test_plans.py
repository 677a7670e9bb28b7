"""Cases and plans over HTTP: conflicts, the same numbers as the use case gives, and doubt that is more than decoration."""

import copy
import hashlib
import itertools
import json
import sqlite3
from contextlib import closing
from typing import Any

import pytest

from collum.app.logs import log_file
from collum.app.plans.planning import Planner
from collum.app.practice import Practice
from collum.case import from_document, to_document
from collum.plan.lengthening.procedures.bone_surgery import BoneSurgery
from tests.making.environment import FixedEnvironment
from tests.making.teeth import broken_premolar, case_of
from tests.web.conftest import Served
from tests.web.making import refused

ROUNDED_MM = 0.0


@pytest.fixture
def opened(served: Served) -> dict[str, Any]:
    """A fresh case of its own, made from the first demo case."""
    return dict(served.api("POST", "/cases", {"document": demo(served, "AQ-07")}).json())


def demo(served: Served, reference: str) -> dict[str, Any]:
    """Return the document of a demo case."""
    cases = served.api("GET", "/cases").json()["cases"]
    case_id = next(case["case_id"] for case in cases if case["reference"] == reference)
    return dict(served.api("GET", f"/cases/{case_id}").json()["document"])


def planned(served: Served, document: dict[str, Any], **more: object) -> dict[str, Any]:
    """Return the plan of the first tooth."""
    answer = served.api("POST", "/plan", {"document": document, "generation": 1, **more})
    assert answer.status_code == 200, answer.text[:300]
    return dict(answer.json()["plan"]["teeth"][0])


def judged(served: Served, document: dict[str, Any], route: dict[str, Any], **more: object) -> dict[str, Any]:
    """Return the route judged for the lines of `route`."""
    lines = {
        "cut_line_height_mm": route["cut_line_height_mm"],
        "finish_line_height_mm": route["finish_line_height_mm"],
        "route": route["name"],
    }
    body = {"document": document, "tooth": 0, **lines, "hold": None, "generation": 7, **more}
    answer = served.api("POST", "/plan/verdict", body)
    assert answer.status_code == 200, answer.text[:300]
    assert answer.json()["generation"] == 7
    return dict(answer.json()["route"])


def test_s2_asking_changes_nothing(served: Served, opened: dict[str, Any]) -> None:
    case_id = opened["case_id"]
    plan_id = served.api("POST", f"/cases/{case_id}/plans", {"revision": 1}).json()["plan_id"]

    def record() -> str:
        with closing(sqlite3.connect(f"file:{served.data / 'practice.db'}?mode=ro", uri=True)) as connection:
            return hashlib.sha256("\n".join(connection.iterdump()).encode()).hexdigest()

    before = record()
    paths = [
        f"/cases/{case_id}",
        f"/cases/{case_id}/plans",
        f"/plans/{plan_id}",
        "/cases",
        "/about",
        "/schema/case",
        "/evidence",
    ]
    papers = [f"/plans/{plan_id}/papers/plan-sheet", f"/cases/{case_id}/safety/checklist", f"/cases/{case_id}/safety"]
    for path in [*paths, *papers, "/evidence/plan.limit.ferrule_mm", "/safety/rules", "/doses"]:
        assert served.api("GET", path).status_code == 200, path
    refused(served.api("GET", f"/plans/{plan_id}/papers/chairside-card"), 403)
    assert record() == before
    served.api("PUT", f"/cases/{case_id}", {"base_revision": 1, "document": {**opened["document"], "note": "other"}})
    assert record() != before


def test_all_faults_of_a_case_are_told_where_they_stand(served: Served, opened: dict[str, Any]) -> None:
    document = copy.deepcopy(opened["document"])
    tooth = document["teeth"][0]
    site = tooth["sites"]["order"][0]
    tooth["sites"]["probing_depth"][site] = 99
    document["patient"]["phenotype"] = "fat"
    wanted = {"patient.phenotype", f"teeth[0].sites.probing_depth.{site}"}
    saving = ("PUT", f"/cases/{opened['case_id']}", {"base_revision": 1, "document": document})
    planning = ("POST", "/plan", {"document": document, "generation": 1})
    for asked in (saving, planning, ("POST", "/cases", {"document": document})):
        assert {error["where"] for error in refused(served.api(*asked), 422)} == wanted
    assert served.api("GET", f"/cases/{opened['case_id']}").json()["revision"] == 1


def test_s14_a_save_from_an_old_revision_is_refused_with_the_newer_one(served: Served, opened: dict[str, Any]) -> None:
    path = f"/cases/{opened['case_id']}"
    first, second = ({**opened["document"], "note": note} for note in ("first", "second"))
    saved = served.api("PUT", path, {"base_revision": opened["revision"], "document": first})
    assert saved.status_code == 200
    answer = served.api("PUT", path, {"base_revision": opened["revision"], "document": second})
    refused(answer, 409)
    assert answer.json()["newest"] == saved.json() == served.api("GET", path).json()
    again = served.api("PUT", path, {"base_revision": saved.json()["revision"], "document": second})
    assert again.json()["document"]["note"] == "second"


def test_a_plan_over_http_is_the_plan_of_the_use_case(served: Served, opened: dict[str, Any]) -> None:
    answer = served.api("POST", "/plan", {"document": opened["document"], "generation": 5})
    assert answer.json() == {"generation": 5, "plan": Planner().plan(from_document(opened["document"])).model_dump()}


def test_a_route_that_fails_is_not_assessed_and_the_others_stand(served: Served, monkeypatch: pytest.MonkeyPatch) -> None:
    def fails(*_given: object, **_named: object) -> None:
        raise ZeroDivisionError("planted")

    monkeypatch.setattr(BoneSurgery, "plan", fails)
    tooth = planned(served, to_document(case_of(broken_premolar())))
    failed = next(route for route in tooth["routes"] if route["name"] == "soft tissue and bone")
    fault_id = failed["explanation"][0]["parameters"]["id"]
    noted = [json.loads(line) for line in log_file(FixedEnvironment(data_directory=served.data)).read_text().splitlines()]
    assert [line["kind"] for line in noted if line.get("id") == fault_id] == ["ZeroDivisionError"]
    assert failed["verdict"] == "not assessed" and fault_id in failed["explanation"][0]["text"]
    others = [route for route in tooth["routes"] if route is not failed and route["verdict"] != "closed"]
    assert all(route["finish_line_height_mm"] is not None for route in others)
    assert tooth["recommended_route"] is None


@pytest.mark.parametrize("reference", ["AQ-07", "AQ-12"])
def test_a_verdict_of_the_plans_lines_is_the_plans(served: Served, reference: str) -> None:
    """Chances and verdicts to the last digit; lengths to the rounding of the lines that were sent."""
    document = demo(served, reference)
    route = planned(served, document)["routes"][0]
    again = judged(served, document, route)
    assert [r["verdict"] for r in again["requirements"]] == [r["verdict"] for r in route["requirements"]]
    for key in ("probability", "worst_station_probability", "worst_station_deg"):
        assert [r[key] for r in again["requirements"]] == [r[key] for r in route["requirements"]]
    assert (again["verdict"], again["joint_probability"]) == (route["verdict"], route["joint_probability"])
    for line in ("cut_line_height_mm", "finish_line_height_mm", "lasting_gain_mm"):
        assert again[line] == pytest.approx(route[line], abs=ROUNDED_MM)
    assert again["rest_line"]["p05_height_mm"] == pytest.approx(route["rest_line"]["p05_height_mm"], abs=ROUNDED_MM)


def test_judging_the_same_lines_twice_gives_the_same_bytes(served: Served, opened: dict[str, Any]) -> None:
    route = planned(served, opened["document"])["routes"][0]
    assert judged(served, opened["document"], route) == judged(served, opened["document"], route)


def test_a_held_height_bends_the_line_smoothly_through_it(served: Served, opened: dict[str, Any]) -> None:
    route = planned(served, opened["document"])["routes"][0]
    at = 24
    height = route["cut_line_height_mm"][at] - 0.4
    hold = {"line": "cut", "station_deg": 240.0, "height_mm": height}
    bent = judged(served, opened["document"], route, hold=hold)["cut_line_height_mm"]
    assert bent[at] == pytest.approx(height, abs=1e-6)
    moved = [a - b for a, b in zip(bent, route["cut_line_height_mm"], strict=True)]
    assert max(abs(a - b) for a, b in itertools.pairwise(moved)) < 0.15
    assert abs(moved[6]) < 0.01  # the other side of the tooth stays


def test_more_error_in_one_reading_changes_bands_chances_worst_place_and_verdict(served: Served) -> None:
    """AQ-12 was sounded in a hurry at one corner; with the usual error the same figure would keep the route.

    Under one seed, so that the draws play no part.
    """
    hurried = demo(served, "AQ-12")
    quiet = copy.deepcopy(hurried)
    sounding = quiet["teeth"][0]["sites"]["bone_sounding"]["ML"]
    assert sounding["error"] == 0.9
    quiet["teeth"][0]["sites"]["bone_sounding"]["ML"] = sounding["value"]
    sure, unsure = (planned(served, document, seed=1) for document in (quiet, hurried))
    station = sure["stations_deg"].index(sure["sites_deg"][sure["sites"].index("ML")])
    bands = [
        p["levels"]["crest"]["p95_height_mm"][station] - p["levels"]["crest"]["p05_height_mm"][station] for p in (sure, unsure)
    ]
    assert unsure["levels"]["crest"]["sd_mm"][station] > sure["levels"]["crest"]["sd_mm"][station] + 0.2
    assert bands[1] > bands[0] + 0.6
    cut = [next(route for route in plan["routes"] if route["name"] == "soft tissue only") for plan in (sure, unsure)]
    rows = [{row["id"]: row for row in route["requirements"]} for route in cut]
    for rule in ("clear_of_crest", "definitive_finish_line"):
        assert rows[1][rule]["probability"] < rows[0][rule]["probability"]
    # The plan is made anew and moves its lines towards the rule that misses, so the fall is shared among the rules.
    worst = [min(row["probability"] for row in of.values() if row["probability"] is not None) for of in rows]
    assert worst[1] < worst[0] - 0.02
    at_worst = [of["definitive_finish_line"]["worst_station_probability"] for of in rows]
    assert at_worst[1] < at_worst[0] - 0.02
    assert [route["verdict"] for route in cut] == ["kept", "in doubt"]


def test_one_reading_a_tenth_off_is_another_input_and_other_numbers(served: Served, opened: dict[str, Any]) -> None:
    document = copy.deepcopy(opened["document"])
    sites = document["teeth"][0]["sites"]
    sites["probing_depth"]["F"] = {"value": 4.1, "error": 0.3}
    plans = []
    for value in (4.0, 4.5):
        sites["probing_depth"]["F"] = value
        plans.append(served.api("POST", "/plan", {"document": document, "generation": 1}).json()["plan"])
    assert plans[0]["input_sha256"] != plans[1]["input_sha256"]
    assert plans[0]["teeth"][0]["levels"] != plans[1]["teeth"][0]["levels"]
    assert {plan["draws"] for plan in plans} == {10_000}


def test_a_page_that_counts_anew_is_answered(served: Served, opened: dict[str, Any]) -> None:
    """With the generation and the seed it gave."""
    for generation in (9 * 10**9, 1):
        answer = served.api("POST", "/plan", {"document": opened["document"], "generation": generation, "seed": 2**53 - 1})
        assert (answer.json()["generation"], answer.json()["plan"]["seed"]) == (generation, 2**53 - 1)


def test_a_sheet_of_surgery_is_refused_where_the_plan_does_not_open_its_route(served: Served, opened: dict[str, Any]) -> None:
    opened["document"]["teeth"][0]["vertical_root_fracture"] = True
    body = {"base_revision": opened["revision"], "document": opened["document"]}
    saved = served.api("PUT", f"/cases/{opened['case_id']}", body).json()
    made = served.api("POST", f"/cases/{opened['case_id']}/plans", {"revision": saved["revision"]}).json()
    for kind in ("flap-sheet", "extrusion-sheet"):
        errors = refused(served.api("GET", f"/plans/{made['plan_id']}/papers/{kind}"), 403)
        assert any("is closed in this plan" in error["what"] for error in errors if error["where"] == "plan")


def test_a_stored_plan_prints_the_same_bytes_again(served: Served, opened: dict[str, Any]) -> None:
    plans = f"/cases/{opened['case_id']}/plans"
    made = served.api("POST", plans, {"revision": opened["revision"]})
    assert made.status_code == 201
    plan_id = made.json()["plan_id"]
    for kind in ("plan-sheet", "findings-sheet"):
        papers = [served.api("GET", f"/plans/{plan_id}/papers/{kind}") for _ in range(2)]
        assert papers[0].content == papers[1].content
        assert papers[0].content.startswith(b"%PDF")
        assert papers[0].headers["content-type"] == "application/pdf"
    assert served.api("GET", plans).json()["plans"] == [made.json()]
    kept = served.api("GET", f"/plans/{plan_id}").json()
    assert kept["plan"] == Planner().plan(from_document(opened["document"])).model_dump()
    refused(served.api("GET", f"/plans/{plan_id}/papers/plan-sheet?tooth=9"), 404)
    refused(served.api("POST", plans, {"revision": 99}), 404)


def test_a_paper_is_that_of_the_tooth_and_the_kind_asked_for(served: Served, monkeypatch: pytest.MonkeyPatch) -> None:
    asked: list[tuple[str, str, int]] = []

    def paper(_practice: Practice, plan_id: str, kind: str, *, tooth: int) -> bytes:
        asked.append((plan_id, kind, tooth))
        return b"%PDF"

    monkeypatch.setattr(Practice, "paper", paper)
    for query in ("", "?tooth=0", "?tooth=3"):
        assert served.api("GET", f"/plans/a/papers/findings-sheet{query}").content == b"%PDF"
    assert asked == [("a", "findings-sheet", tooth) for tooth in (0, 0, 3)]


def test_two_kept_plans_are_compared(served: Served, opened: dict[str, Any]) -> None:
    case_id = opened["case_id"]
    first = served.api("POST", f"/cases/{case_id}/plans", {"revision": 1}).json()["plan_id"]
    changed = copy.deepcopy(opened["document"])
    changed["teeth"][0]["sites"]["crown_height"]["DF"] = 2.0
    served.api("PUT", f"/cases/{case_id}", {"base_revision": 1, "document": changed})
    second = served.api("POST", f"/cases/{case_id}/plans", {"revision": 2}).json()["plan_id"]
    number = changed["teeth"][0]["number"]
    found = served.api("GET", f"/plans/{first}/compare/{second}?tooth={number}").json()
    assert found["tooth_number"] == number
    assert [change["what"] for change in found["readings"]] == ["sites.crown_height.DF"]
    moved = [route for route in found["routes"] if route["verdict"]["before"] != route["verdict"]["after"]]
    assert moved and moved[0]["requirements"]
    refused(served.api("GET", f"/plans/{first}/compare/{second}?tooth=11"), 404)
    refused(served.api("GET", f"/plans/{first}/compare/nowhere"), 404)

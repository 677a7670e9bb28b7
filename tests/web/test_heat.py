"""Heat and the round at the HTTP door: paced apart from plans, started only behind the gate, kept with the visit."""

from typing import Any

import pytest

from collum.app.chair import kept_heat as chair
from collum.app.plans.planning import PlannedCase
from collum.core.heat.pacing_task import HandTimes
from collum.plan.heat import HeatWishes
from tests.making.answers import answered
from tests.measuring.heat import heat_by_hand
from tests.web.conftest import Served
from tests.web.making import count_aloud, refused

Opened = dict[str, Any]


@pytest.fixture
def by_hand(monkeypatch: pytest.MonkeyPatch) -> list[int]:
    """Let heat be given by hand; each time it is asked for is counted."""
    asked: list[int] = []

    def counted(*given: Any) -> Any:
        asked.append(1)
        return heat_by_hand(*given)

    monkeypatch.setattr(chair, "heat_of_plan", counted)
    return asked


@pytest.fixture
def opened(served: Served, by_hand: list[int]) -> Opened:
    """A fresh case of its own, made from the first demo case, with a visit that was opened now."""
    first = served.api("GET", "/cases").json()["cases"][0]["case_id"]
    document = served.api("GET", f"/cases/{first}").json()["document"]
    made = served.api("POST", "/cases", {"document": document}).json()
    visit = {"base_revision": made["revision"], "kind": "cut", "by": "DN"}
    return dict(served.api("POST", f"/cases/{made['case_id']}/visits", visit).json())


@pytest.fixture
def cleared(served: Served, opened: Opened) -> Opened:
    """The case with every question answered so that the gate is open."""
    return count_aloud(served.api, save(served, opened, answered(opened["document"])))


def save(served: Served, opened: Opened, document: dict[str, Any]) -> Opened:
    body = {"base_revision": opened["revision"], "document": document}
    answer = served.api("PUT", f"/cases/{opened['case_id']}", body)
    assert answer.status_code == 200, answer.text[:300]
    return dict(answer.json())


def start(served: Served, case: Opened, **changes: Any) -> Any:
    return served.api("POST", f"/cases/{case['case_id']}/round", {"revision": case["revision"], "tooth": 0, **changes})


def keep(served: Served, case: Opened, round_id: str, *events: dict[str, Any]) -> Any:
    body = {"round_id": round_id, "events": list(events)}
    return served.api("POST", f"/cases/{case['case_id']}/round/log", body)


def mark(served: Served, case: Opened, round_id: str, *marks: dict[str, Any]) -> Any:
    return served.api("POST", f"/cases/{case['case_id']}/round/marks", {"round_id": round_id, "marks": list(marks)})


def rounds(served: Served, case: Opened) -> Any:
    return served.api("GET", f"/cases/{case['case_id']}/rounds").json()["rounds"]


STROKES = tuple({"kind": "stroke", "sector": i, "at_s": 3.2 * i, "lasted_s": 0.8} for i in range(3))


def test_heat_of_a_draft_comes_back_with_its_generation(served: Served, opened: Opened) -> None:
    body = {"document": opened["document"], "tooth": 0, "passes": 2, "generation": 7}
    answer = served.api("POST", "/heat", body).json()
    assert (answer["generation"], answer["heat"]["format"]) == (7, "collum-heat/1")
    (tooth,) = answer["heat"]["teeth"]
    assert (tooth["number"], tooth["passes_asked"], len(tooth["round"]["strokes"])) == (46, 2, 6)


def test_what_heat_does_not_rest_on_is_not_computed_again(served: Served, opened: Opened, by_hand: list[int]) -> None:
    def ask(document: dict[str, Any], **more: Any) -> dict[str, Any]:
        heat = served.api("POST", "/heat", {"document": document, "tooth": 0, "generation": 1, **more}).json()["heat"]
        return dict(heat)

    by_hand.clear()
    first = ask(opened["document"])
    again = ask(count_aloud(served.api, save(served, opened, answered(opened["document"])))["document"])
    assert len(by_hand) <= 1  # a test before may have asked for the same
    assert again["teeth"] == first["teeth"]
    assert (first["safety_cleared"], again["safety_cleared"]) == (False, True)
    assert first["input_sha256"] != again["input_sha256"]
    assert len(ask(opened["document"], passes=3)["teeth"][0]["round"]["strokes"]) == 9


@pytest.mark.parametrize(("tooth", "passes"), [(31, 1), (-1, 1), (0, 0), (0, 10)])
def test_a_tooth_that_is_not_planned_and_passes_out_of_range_are_refused(
    served: Served, opened: Opened, tooth: int, passes: int
) -> None:
    body = {"document": opened["document"], "tooth": tooth, "passes": passes, "generation": 1}
    (error,) = refused(served.api("POST", "/heat", body), 422)
    assert error["where"] == ("passes" if tooth == 0 else "tooth")


def test_a_tooth_without_a_round_has_no_section(served: Served, opened: Opened) -> None:
    body = {"document": opened["document"], "tooth": 0, "passes": 8, "generation": 3, "station_deg": 0, "band": "low"}
    assert served.api("POST", "/heat/section", body).json() == {"generation": 3, "section": None}
    for wrong in ({"station_deg": 360}, {"band": "worst"}, {"tooth": 31}):
        refused(served.api("POST", "/heat/section", body | wrong), 422)


def test_no_round_starts_before_the_gate_is_open(served: Served, opened: Opened) -> None:
    assert len(refused(start(served, opened), 403)) == 51  # 50 questions, and who does what
    assert served.api("GET", f"/cases/{opened['case_id']}/round").json() == {"round": None}
    for more in ({"cleared": True}, {"force": True}):
        refused(start(served, opened, **more), 422)


def test_a_round_starts_from_an_instant_and_is_not_counted(served: Served, cleared: Opened) -> None:
    begun = start(served, cleared, lead_s=5.0)
    assert begun.status_code == 201
    found = begun.json()
    assert found["now_s"] == -5 and found["began_at"].startswith("2026-")
    assert (found["state"]["next_sector"], found["state"]["strokes_left"], found["halted"]) == (0, 3, [])
    # The clock of this server stands still, so a second look finds the same instant however many looks there were.
    assert served.api("GET", f"/cases/{cleared['case_id']}/round").json()["round"]["now_s"] == -5


def test_an_answer_that_closes_the_gate_halts_a_running_round_in_words(served: Served, cleared: Opened) -> None:
    assert start(served, cleared).status_code == 201
    save(served, cleared, answered(cleared["document"], {"cardiac_device": "yes"}))
    found = served.api("GET", f"/cases/{cleared['case_id']}/round").json()["round"]
    assert found["state"] is None
    assert len(found["halted"]) == 1 and "heart" in found["halted"][0].lower()


def test_a_second_start_is_refused_and_says_what_to_do(served: Served, cleared: Opened) -> None:
    assert start(served, cleared).status_code == 201
    again = start(served, cleared)
    (error,) = refused(again, 409)
    assert again.json()["type"] == "round_open"
    assert error["allowed"] == "close it first, with what was done"


def test_an_old_revision_and_a_tooth_without_a_round_start_nothing(served: Served, cleared: Opened) -> None:
    refused(start(served, {**cleared, "revision": cleared["revision"] - 1}), 409)
    (error,) = refused(start(served, cleared, passes=8), 422)
    assert error["what"] == "no round is planned: made by hand"
    refused(start(served, cleared, tooth=9), 422)
    refused(start(served, {**cleared, "case_id": "nowhere"}), 404)


def test_what_happens_is_written_once_and_seen_by_every_page(served: Served, cleared: Opened) -> None:
    round_id = start(served, cleared).json()["round_id"]
    stroke = {"key": "begun 0", "kind": "stroke", "at_s": 0.0, "sector": 0, "lasted_s": 0.8}
    metal = {"key": "m", "kind": "metal", "at_s": 1.5, "sector": 1}
    for _ in range(2):
        assert mark(served, cleared, round_id, stroke, metal).status_code == 201
    marks = served.api("GET", f"/cases/{cleared['case_id']}/round").json()["round"]["marks"]
    assert [(one["kind"], one["lasted_s"]) for one in marks] == [("stroke", 0.8), ("metal", None)]
    refused(mark(served, cleared, "00000000-0000-0000-0000-000000000000", stroke), 404)
    refused(mark(served, cleared, round_id, {**metal, "kind": "cleared"}), 422)
    refused(mark(served, cleared, round_id, {**metal, "key": "n", "sector": 7}), 422)


def test_what_was_done_is_kept_with_the_visit_and_stays_readable(served: Served, cleared: Opened) -> None:
    begun = start(served, cleared).json()
    touch = {"kind": "metal", "at_s": 3.5, "sector": 1, "lasted_s": 0.5}
    late = {"kind": "stroke", "sector": 2, "at_s": 6.4, "lasted_s": 1.4}
    log = (STROKES[0], STROKES[1], touch, late)
    kept = keep(served, cleared, begun["round_id"], *log)
    assert kept.status_code == 201, kept.text[:300]
    state = kept.json()["round"]["state"]
    assert (state["phase"], state["strokes_left"], state["touches_s"]) == ("done", 0, [0.5])
    assert [one["kind"] for one in state["deviations"]] == ["metal, pulp at risk", "too slow"]
    assert state["deviations"][0]["text"]["text"].startswith("Metal was touched for 0.5 s")
    assert kept.json()["case"] == cleared
    assert kept.json()["round"]["visit_opened_at"] == cleared["document"]["visits"][0]["opened_at"]
    assert keep(served, cleared, begun["round_id"], *log).json() == kept.json()  # sent again: the answer was lost
    refused(keep(served, cleared, begun["round_id"], *STROKES), 409)  # it is over, and was otherwise
    again = start(served, cleared).json()["round_id"]
    assert keep(served, cleared, again, *STROKES).json()["round"]["state"]["deviations"] == []
    assert [one["round_id"] for one in rounds(served, cleared)] == [again, begun["round_id"]]
    assert [(event["kind"], event["at_s"]) for event in rounds(served, cleared)[1]["log"]] == [
        (event["kind"], event["at_s"]) for event in log
    ]
    refused(served.api("GET", "/cases/nowhere/rounds"), 404)


def test_a_round_ends_though_the_note_of_its_visit_is_full_and_the_case_went_on(served: Served, cleared: Opened) -> None:
    round_id = start(served, cleared).json()["round_id"]
    visits = [{**cleared["document"]["visits"][0], "note": "x" * 2000}]
    saved = save(served, cleared, {**cleared["document"], "visits": visits})
    ended = keep(served, cleared, round_id, *STROKES)
    assert (ended.status_code, ended.json()["case"]) == (201, saved)
    assert served.api("GET", f"/cases/{cleared['case_id']}").json() == saved
    assert start(served, saved).status_code == 201  # the next one is not in the way of anything


@pytest.mark.parametrize(
    "events",
    [
        [{"kind": "stroke", "at_s": 1.0}],
        [{"kind": "stroke", "at_s": 1.0, "sector": 5, "lasted_s": 0.8}],
        [STROKES[1], STROKES[0]],
        [{"kind": "stopped", "at_s": 1.0}, STROKES[2]],
    ],
    ids=["no place", "no such place", "back in time", "after the stop"],
)
def test_what_cannot_be_a_log_is_refused_and_the_round_stays_open(
    served: Served, cleared: Opened, events: list[dict[str, Any]]
) -> None:
    refused(keep(served, cleared, "nowhere", *events), 404)
    round_id = start(served, cleared).json()["round_id"]
    (error,) = refused(keep(served, cleared, round_id, *events), 422)
    assert error["where"] == "events"
    assert rounds(served, cleared)[0]["log"] is None


def test_what_the_hands_take_is_remembered_and_paced_with(
    served: Served, opened: Opened, monkeypatch: pytest.MonkeyPatch
) -> None:
    asked: list[HeatWishes] = []

    def noted(made: PlannedCase, wishes: HeatWishes) -> Any:
        asked.append(wishes)
        return heat_by_hand(made, wishes)

    monkeypatch.setattr(chair, "heat_of_plan", noted)
    usual = served.api("GET", "/hands").json()
    assert usual == {"position_s": 8, "wipe_s": 3, "change_s": 20, "fixed": []}
    slow = {"position_s": 12.5, "wipe_s": 0, "change_s": 45}
    kept = served.api("PUT", "/hands", slow)
    assert kept.status_code == 200 and kept.json() == served.api("GET", "/hands").json() == {**slow, "fixed": []}
    assert served.api("POST", "/heat", {"document": opened["document"], "tooth": 0, "generation": 1}).status_code == 200
    assert asked[-1].hands == HandTimes(**slow)
    (error,) = refused(served.api("PUT", "/hands", {**slow, "wipe_s": 61}), 422)
    assert error["where"] == "wipe_s"
    served.api("PUT", "/hands", {name: usual[name] for name in slow})


@pytest.mark.slow
def test_heat_of_a_demo_case_is_paced_for_real(served: Served) -> None:
    first = served.api("GET", "/cases").json()["cases"][0]["case_id"]
    document = served.api("GET", f"/cases/{first}").json()["document"]
    body = {"document": document, "tooth": 0, "passes": 1, "generation": 1}  # asked for by no test that paces by hand
    tooth = served.api("POST", "/heat", body).json()["heat"]["teeth"][0]
    assert tooth["outcome"] == "paced"
    assert {organ["organ"] for organ in tooth["round"]["organs"]} == {"bone", "ligament", "pulp", "soft_tissue"}
    assert all(organ["high"] <= 1 for organ in tooth["round"]["organs"])
    asked = {**body, "station_deg": 60, "generation": 2}
    section = served.api("POST", "/heat/section", asked).json()["section"]
    assert (section["format"], section["station_deg"], section["band"]) == ("collum-heat-section/1", 60, "high")
    assert {organ["organ"] for organ in section["organs"]} == {organ["organ"] for organ in tooth["round"]["organs"]}
    (error,) = refused(served.api("POST", "/heat/section", {**asked, "station_deg": 45, "generation": 3}), 422)
    assert error["where"] == "station_deg" and error["allowed"].startswith("one of 0, 30, 60")

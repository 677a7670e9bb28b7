"""Safety at the HTTP door: the whole way to a card, every refusal in the one shape, and the ways round it."""

import copy
from typing import Any

import pytest

from collum.app.chair import kept_heat as chair
from collum.evidence.safety_rules import RULES
from tests.making.answers import answered
from tests.measuring.heat import heat_by_hand
from tests.web.conftest import Served
from tests.web.making import count_aloud, refused

Opened = dict[str, Any]


@pytest.fixture
def opened(served: Served) -> Opened:
    """A fresh case of its own, made from the first demo case, with a visit that was opened now."""
    first = served.api("GET", "/cases").json()["cases"][0]["case_id"]
    document = served.api("GET", f"/cases/{first}").json()["document"]
    made = served.api("POST", "/cases", {"document": document}).json()
    body = {"base_revision": made["revision"], "kind": "cut", "by": "DN"}
    answer = served.api("POST", f"/cases/{made['case_id']}/visits", body)
    assert answer.status_code == 201
    return dict(answer.json())


def save(served: Served, opened: Opened, document: dict[str, Any]) -> Opened:
    body = {"base_revision": opened["revision"], "document": document}
    answer = served.api("PUT", f"/cases/{opened['case_id']}", body)
    assert answer.status_code == 200, answer.text[:300]
    return dict(answer.json())


def stored_plan(served: Served, opened: Opened) -> str:
    answer = served.api("POST", f"/cases/{opened['case_id']}/plans", {"revision": opened["revision"]})
    return str(answer.json()["plan_id"])


def card(served: Served, plan_id: str, revision: int) -> Any:
    return served.api("POST", f"/plans/{plan_id}/cards", {"tooth": 0, "revision": revision})


@pytest.fixture
def paced_by_hand(monkeypatch: pytest.MonkeyPatch) -> None:
    """Let heat be given by hand, without the seconds it takes; tests/web/test_heat.py asks for the real one."""
    monkeypatch.setattr(chair, "heat_of_plan", heat_by_hand)


@pytest.mark.usefixtures("paced_by_hand")
def test_from_the_questions_to_the_card(served: Served, opened: Opened) -> None:
    rules = served.api("GET", "/safety/rules").json()
    assert [rule["id"] for rule in rules["rules"]] == [rule.id for rule in RULES]
    assert {role["id"] for role in rules["roles"]} == {"operator", "suction", "plate"}
    before = served.api("GET", f"/cases/{opened['case_id']}/safety").json()
    assert (before["cleared"], before["unanswered"]) == (False, 50)
    saved = save(served, opened, answered(opened["document"], {"masks": "no", "allergy": "yes"}))
    plan_id = stored_plan(served, saved)
    errors = refused(card(served, plan_id, saved["revision"]), 403)
    assert [error["where"] for error in errors] == ["visits[0].room.masks", "visits[0].time_outs (tooth 46)"]
    body = {"base_revision": saved["revision"], "rule": "masks", "tooth": None, "name": "D. Nurse", "reason": "none here"}
    overridden = served.api("POST", f"/cases/{saved['case_id']}/overrides", body)
    assert overridden.status_code == 201
    revision = count_aloud(served.api, overridden.json())["revision"]
    safety = served.api("GET", f"/cases/{opened['case_id']}/safety").json()
    assert safety["cleared"] and {point["rule"] for point in safety["points"]} == {"masks", "allergy"}
    issued = card(served, plan_id, revision)
    assert issued.status_code == 201
    assert (issued.json()["number"], issued.json()["revision"]) == (46, revision)
    paper = served.api("GET", f"/plans/{plan_id}/papers/chairside-card")
    assert paper.status_code == 200 and paper.content.startswith(b"%PDF")
    checklist = served.api("GET", f"/cases/{opened['case_id']}/safety/checklist")
    assert checklist.headers["content-type"] == "application/pdf" and checklist.content.startswith(b"%PDF")


def test_the_draft_is_screened_as_it_will_be(served: Served, opened: Opened) -> None:
    document = answered(opened["document"], {"cochlear_implant": "yes"})
    draft = served.api("POST", "/safety", {"document": document}).json()
    save(served, opened, document)
    kept = served.api("GET", f"/cases/{opened['case_id']}/safety").json()
    assert draft == kept
    (point,) = draft["points"]
    assert [one["rule"] for one in draft["teeth"][0]["points"]] == ["time_out"]
    assert (point["rule"], point["outcome"], point["closes"], point["overridable"]) == ("cochlear_implant", "stop", True, False)
    assert point["citation"] and point["status"] == "read"
    assert draft["alternative"]["text"].startswith("Instead of current, a scalpel")


@pytest.mark.usefixtures("paced_by_hand")
def test_what_was_confirmed_for_other_lines_opens_no_card_of_the_new_plan(served: Served, opened: Opened) -> None:
    saved = count_aloud(served.api, save(served, opened, answered(opened["document"])))
    assert served.api("GET", f"/cases/{opened['case_id']}/safety").json()["cleared"]
    changed = copy.deepcopy(saved["document"])
    changed["teeth"][0]["held"] = {"cut": {"F": -1.0}}
    draft = served.api("POST", "/safety", {"document": changed}).json()
    rules = {rule["id"] for rule in served.api("GET", "/safety/rules").json()["rules"] if rule["of_plan"]}
    points = [*draft["points"], *draft["teeth"][0]["points"]]
    assert {point["rule"] for point in points} == rules and {point["outcome"] for point in points} == {"outdated"}
    saved = save(served, saved, changed)
    errors = refused(card(served, stored_plan(served, saved), saved["revision"]), 403)
    assert len(errors) == len(rules) == draft["unanswered"] == 11
    assert {error["allowed"] for error in errors} == {"an answer for the plan as it is now"}
    saved = count_aloud(served.api, save(served, saved, answered(saved["document"])))
    assert saved["document"]["visits"][0]["given_for"]["right_patient"] == draft["plan_mark"]
    assert card(served, stored_plan(served, saved), saved["revision"]).status_code == 201


def test_every_stop_keeps_the_card_closed_here_too(served: Served, opened: Opened) -> None:
    stops = [rule for rule in RULES if rule.outcome == "stop"]
    saved = save(served, opened, answered(opened["document"], {rule.id: rule.on for rule in stops}))
    found = refused(card(served, stored_plan(served, saved), saved["revision"]), 403)
    errors = [error for error in found if error["where"] != "plan"]  # the route of the plan is closed by them too
    named = {error["where"].split(" ")[0].rpartition(".")[2] for error in errors}
    assert named == {"time_outs" if rule.id == "time_out" else rule.id for rule in stops}
    assert all("no override" in error["allowed"] for error in errors)
    body = {"base_revision": saved["revision"], "rule": "cochlear_implant", "tooth": None, "name": "X", "reason": "y"}
    refused(served.api("POST", f"/cases/{saved['case_id']}/overrides", body), 403)


def test_the_card_is_refused_directly_by_path_and_by_an_old_revision(served: Served, opened: Opened) -> None:
    saved = count_aloud(served.api, save(served, opened, answered(opened["document"])))
    plan_id = stored_plan(served, saved)
    errors = refused(served.api("GET", f"/plans/{plan_id}/papers/chairside-card"), 403)
    assert [error["what"] for error in errors] == ["No card was opened for this plan in this visit."]
    other_tab = save(served, saved, answered(saved["document"], {"pregnant": "yes"}))
    stale = card(served, plan_id, saved["revision"])
    refused(stale, 409)
    assert stale.json()["newest"]["revision"] == other_tab["revision"]
    refused(card(served, plan_id, other_tab["revision"]), 403)


def test_no_request_says_cleared(served: Served, opened: Opened) -> None:
    saved = save(served, opened, answered(opened["document"], {"cardiac_device": "yes"}))
    plan_id = stored_plan(served, saved)
    for more in ({"cleared": True}, {"safety_cleared": True}, {"force": True}):
        body = {"tooth": 0, "revision": saved["revision"], **more}
        refused(served.api("POST", f"/plans/{plan_id}/cards", body), 422)
        refused(served.api("POST", "/safety", {"document": saved["document"], **more}), 422)
    refused(served.api("GET", f"/plans/{plan_id}/papers/chairside-card?force=true"), 422)


def test_a_save_that_dates_a_visit_or_answers_for_a_rule_is_refused(served: Served, opened: Opened) -> None:
    body = {"base_revision": opened["revision"], "document": answered(opened["document"], opened_at="2099-01-01T00:00:00Z")}
    errors = refused(served.api("PUT", f"/cases/{opened['case_id']}", body), 422)
    assert errors[0]["where"] == "visits[0].opened_at"
    override = {"rule": "masks", "name": "X", "reason": "y", "at": "2026-05-01T08:00:00Z"}
    body["document"] = answered(opened["document"], {"masks": "no"}, overrides=[override])
    errors = refused(served.api("PUT", f"/cases/{opened['case_id']}", body), 422)
    assert errors[0]["where"] == "visits[0].overrides"


@pytest.mark.parametrize(
    ("body", "where"),
    [
        ({"base_revision": 1, "kind": "", "by": "DN"}, "kind"),
        ({"base_revision": 1, "kind": "cut", "by": "Mrs. Smith"}, "by"),
        ({"base_revision": 1, "kind": "cut"}, "by"),
    ],
)
def test_a_visit_needs_who_and_what(served: Served, opened: Opened, body: dict[str, Any], where: str) -> None:
    errors = refused(served.api("POST", f"/cases/{opened['case_id']}/visits", body), 422)
    assert [error["where"] for error in errors] == [where]


def test_stale_visits_and_overrides_are_refused_and_unknown_ones_not_found(served: Served, opened: Opened) -> None:
    case = f"/cases/{opened['case_id']}"
    refused(served.api("POST", f"{case}/visits", {"base_revision": 1, "kind": "cut", "by": "DN"}), 409)
    refused(served.api("POST", f"{case}/visits", {"base_revision": 99, "kind": "cut", "by": "DN"}), 404)
    override = {"base_revision": opened["revision"], "rule": "no_such_rule", "tooth": None, "name": "X", "reason": "y"}
    refused(served.api("POST", f"{case}/overrides", override), 422)
    refused(card(served, "nowhere", 1), 404)
    saved = save(served, opened, answered(opened["document"]))
    plan_id = stored_plan(served, saved)
    refused(served.api("POST", f"/plans/{plan_id}/cards", {"tooth": 9, "revision": saved["revision"]}), 404)


def test_doses_are_added_up_against_limits_that_can_be_entered(served: Served) -> None:
    agents = {agent["agent"]: agent for agent in served.api("GET", "/doses").json()["agents"]}
    assert agents["lidocaine"]["conflict"]["text"].startswith("Sources disagree")
    given = {"weight_kg": 50, "given": [{"agent": "lidocaine", "ml": 11.0, "mg_per_ml": None}]}
    first = served.api("POST", "/doses/sum", given).json()
    assert (first["share"], first["over"]) == (1.0, False)  # 50 kg x 4.4 mg/kg = 220 mg = 11 ml of 20 mg/ml
    assert first["said"][-1]["text"].startswith("Measure the margin before injecting.")
    stronger = {"weight_kg": 50, "given": [{"agent": "lidocaine", "ml": 11.0, "mg_per_ml": 40.0}]}
    twice = served.api("POST", "/doses/sum", stronger).json()
    assert (twice["share"], twice["over"]) == (2.0, True)  # what was given counts, not what is usual
    limit = {"agent": "lidocaine", "mg_per_kg": 4.0, "most_mg": 300, "source": "local rule", "by": "DN"}
    entered = served.api("POST", "/doses/limits", limit)
    assert entered.status_code == 201 and entered.json()["text"]["text"].startswith("local rule, entered by DN on 2026-05-01")
    assert served.api("POST", "/doses/sum", given).json()["over"] is True
    for change in ({"mg_per_kg": 0}, {"mg_per_kg": 99}, {"agent": "cocaine"}, {"source": ""}):
        refused(served.api("POST", "/doses/limits", {**limit, **change}), 422)
    for body in ({**given, "weight_kg": 0}, {**given, "given": []}, {"given": given["given"]}):
        refused(served.api("POST", "/doses/sum", body), 422)


@pytest.mark.parametrize("procedure", ["current", "bone", "movement"])
def test_a_saved_case_is_screened_for_the_procedure_that_is_asked(served: Served, opened: Opened, procedure: str) -> None:
    answer = served.api("GET", f"/cases/{opened['case_id']}/safety?procedure={procedure}")
    assert answer.json()["procedure"] == procedure
    asked = served.api("POST", "/safety", {"document": opened["document"], "procedure": procedure})
    assert asked.json()["procedure"] == procedure


def test_a_limit_sent_again_with_its_key_is_entered_once(served: Served) -> None:
    limit = {"agent": "articaine", "mg_per_kg": 5.0, "most_mg": 300, "source": "local rule", "by": "DN", "key": "of one form"}
    first, again = (served.api("POST", "/doses/limits", given).json() for given in (limit, {**limit, "most_mg": 200}))
    assert first == again and first["most_mg"] == 300
    agents = {agent["agent"]: agent for agent in served.api("GET", "/doses").json()["agents"]}
    assert len(agents["articaine"]["limits"]) == 2  # the record's first and this one
    served.api("POST", "/doses/limits", {**limit, "key": "of another form"})
    agents = {agent["agent"]: agent for agent in served.api("GET", "/doses").json()["agents"]}
    assert len(agents["articaine"]["limits"]) == 3


def test_visits_opened_in_one_second_are_told_apart_and_an_answer_by_name_counts_in_the_last(
    served: Served, opened: Opened
) -> None:
    """The clock of this server stands still."""
    for expected in (2, 3):
        body = {"base_revision": opened["revision"], "kind": "again", "by": "DN"}
        answer = served.api("POST", f"/cases/{opened['case_id']}/visits", body)
        assert answer.status_code == 201, answer.text
        opened = answer.json()
        assert len({visit["opened_at"] for visit in opened["document"]["visits"]}) == expected
    saved = save(served, opened, answered(opened["document"], {"other_instrument": "no"}))
    override = {"base_revision": saved["revision"], "rule": "other_instrument", "tooth": None, "name": "D", "reason": "r"}
    assert served.api("POST", f"/cases/{opened['case_id']}/overrides", override).status_code == 201
    gate = served.api("GET", f"/cases/{opened['case_id']}/safety").json()
    assert [point["rule"] for point in gate["points"] if point["closes"]] == []


def test_the_letter_is_printed_where_there_is_something_to_ask(served: Served, opened: Opened) -> None:
    path = f"/cases/{opened['case_id']}/safety/letter"
    refused(served.api("GET", path), 422)
    save(served, opened, answered(opened["document"], {"pregnant": "yes"}))
    assert served.api("GET", path).content.startswith(b"%PDF")


@pytest.mark.parametrize("device", ["cardiac_device", "other_stimulator", "cochlear_implant"])
def test_the_letter_is_printed_for_an_implanted_device_and_a_drug_that_is_not_known(
    served: Served, opened: Opened, device: str
) -> None:
    path = f"/cases/{opened['case_id']}/safety"
    saved = save(served, opened, answered(opened["document"], {device: "yes", "blood_thinner": "unknown"}))
    points = {point["rule"]: point for point in served.api("GET", path).json()["points"]}
    assert points[device]["to_physician"] and points["blood_thinner"]["to_physician"]
    assert served.api("GET", f"{path}/letter").content.startswith(b"%PDF")
    save(served, saved, answered(saved["document"], {"jaw_irradiated": "yes", "allergy": "yes"}))
    assert not any(point["to_physician"] for point in served.api("GET", path).json()["points"])
    refused(served.api("GET", f"{path}/letter"), 422)


def test_what_is_typed_into_an_override_is_text(served: Served, opened: Opened) -> None:
    saved = save(served, opened, answered(opened["document"], {"masks": "no"}))
    for payload in ("<script>alert(1)</script>", '#read("/etc/passwd")', "{{masks}} {0}"):
        body = {"base_revision": saved["revision"], "rule": "masks", "tooth": None, "name": payload, "reason": payload}
        answer = served.api("POST", f"/cases/{saved['case_id']}/overrides", body)
        assert answer.status_code == 201
        assert answer.json()["document"]["visits"][0]["overrides"][-1]["reason"] == payload
        saved = copy.deepcopy(answer.json())
        document = answered(saved["document"], {"masks": "yes"})
        saved = save(served, saved, document)
        saved = save(served, saved, answered(saved["document"], {"masks": "no"}, overrides=[]))

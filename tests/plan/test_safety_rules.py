"""Every rule on both sides: the answer that brings its outcome, the one that brings nothing, unknown and unanswered."""

from dataclasses import replace
from datetime import UTC, datetime
from typing import Any

import pytest

from collum.app.speaking import words
from collum.case import CaseFaults, from_document, plan_mark
from collum.evidence import reference
from collum.evidence.safety_rules import CLOSING, RULES, SafetyRule
from collum.plan.safety import Point, Screening, screen
from collum.plan.safety.document import reminders
from tests.making.answers import answered, harmless
from tests.making.case_documents import case_document

OPENED = "2026-05-01T08:00:00Z"
NOW = datetime(2026, 5, 1, 9, 0, tzinfo=UTC)
# The clinical rules that have to be stops, written here a second time so that none can be softened unseen.
STOPS = {
    *("cardiac_device", "other_stimulator", "cochlear_implant", "added_oxygen", "jaw_irradiated", "consent"),
    *("implant_beside", "metal_not_isolated", "acute_infection", "suspicious_tissue"),
    *("bone_exposed", "thin_over_bone", "unkeratinised"),
    *("right_patient", "plate_contact", "plate_place", "no_chair_metal", "jewellery_out", "plastic_tools", "oxygen_off"),
    *("nothing_flammable", "time_out"),
}
ASKED_OF_A_PHYSICIAN = {
    *("poor_healing", "diabetes_uncontrolled", "bleeding_disorder", "endocarditis_risk", "heart_or_pressure", "pregnant"),
    *("anaesthetic_reaction", "bone_drugs"),
}


def screened(answers: dict[str, str | None] | None = None, document: dict[str, Any] | None = None, **visit: Any) -> Screening:
    case = from_document(answered(document or case_document(), answers, opened_at=OPENED, **visit))
    return screen(case, now=NOW)


def of(screening: Screening, rule: str) -> Point | None:
    return next((point for point in screening.all_points if point.rule == rule), None)


def closing(rule: SafetyRule) -> str:
    return rule.on


def test_the_stops_and_what_is_asked_of_a_physician_are_the_ones_written_here() -> None:
    assert {rule.id for rule in RULES if rule.outcome == "stop"} == STOPS
    assert {rule.id for rule in RULES if rule.outcome == "ask"} == ASKED_OF_A_PHYSICIAN


def test_harmless_answers_clear_and_leave_no_point() -> None:
    found = screened()
    assert found.cleared
    assert found.all_points == ()


@pytest.mark.parametrize("rule", RULES, ids=lambda rule: rule.id)
def test_the_answer_of_a_rule_has_its_outcome_and_closes_as_it_says(rule: SafetyRule) -> None:
    found = screened({rule.id: closing(rule)})
    point = of(found, rule.id)
    assert point is not None
    assert (point.outcome, point.closes) == (rule.outcome, rule.outcome in CLOSING)
    assert found.cleared is (rule.outcome not in CLOSING)
    assert point.sentence.key == f"safety.reason.{rule.id}"
    assert [p.rule for p in found.all_points] == [rule.id]


@pytest.mark.parametrize("rule", RULES, ids=lambda rule: rule.id)
def test_the_other_answer_brings_nothing(rule: SafetyRule) -> None:
    assert of(screened({rule.id: harmless(rule)}), rule.id) is None


@pytest.mark.parametrize("rule", RULES, ids=lambda rule: rule.id)
def test_unanswered_closes_and_is_never_no(rule: SafetyRule) -> None:
    found = screened({rule.id: None})
    point = of(found, rule.id)
    assert point is not None and point.outcome == "unanswered" and point.closes and not point.overridable
    assert not found.cleared


@pytest.mark.parametrize("rule", [rule for rule in RULES if "unknown" in rule.answers], ids=lambda rule: rule.id)
def test_not_known_counts_as_the_answer_that_closes_or_brings_more(rule: SafetyRule) -> None:
    unknown, sure = (of(screened({rule.id: answer}), rule.id) for answer in ("unknown", closing(rule)))
    assert unknown is not None and sure is not None
    assert (rule.not_known is not None) is (rule.id == "blood_thinner")
    assert unknown.outcome == (rule.not_known or sure.outcome)
    assert unknown.closes is (sure.closes or rule.id == "blood_thinner")


def test_what_hinders_clotting_and_is_not_known_is_asked_of_the_physician_by_our_own_choice() -> None:
    found = screened({"blood_thinner": "unknown"})
    point = of(found, "blood_thinner")
    assert not found.cleared and point is not None and point.to_physician
    assert (point.outcome, point.sentence.key) == ("ask", "safety.not_known.blood_thinner")
    assert (point.source, point.status) == ("collum_decision", "choice")
    override = {"rule": "blood_thinner", "name": "D. Nurse", "reason": "none, the physician wrote", "at": OPENED}
    assert screened({"blood_thinner": "unknown"}, overrides=[override]).cleared
    known = of(screened({"blood_thinner": "yes"}), "blood_thinner")
    assert known is not None and (known.outcome, known.status, known.to_physician) == ("precaution", "memory", False)


def test_what_goes_to_the_physician_is_what_is_asked_and_every_implanted_device() -> None:
    asked = {rule.id for rule in RULES if (point := of(screened({rule.id: closing(rule)}), rule.id)) and point.to_physician}
    assert asked == ASKED_OF_A_PHYSICIAN | {"cardiac_device", "other_stimulator", "cochlear_implant"}


@pytest.mark.parametrize("rule", [rule for rule in RULES if rule.group == "room"], ids=lambda rule: rule.id)
def test_only_what_may_not_apply_is_taken_as_not_applying(rule: SafetyRule) -> None:
    if not rule.optional:
        with pytest.raises(CaseFaults):
            screened({rule.id: "not applicable"})
        return
    found = screened({rule.id: "not applicable"})
    assert found.cleared
    point = of(found, rule.id)
    assert (None if point is None else point.outcome) == rule.otherwise


def test_a_unit_without_a_plate_is_a_precaution() -> None:
    point = of(screened({"plate_contact": "not applicable"}), "plate_contact")
    assert point is not None and point.outcome == "precaution"


@pytest.mark.parametrize("rule", RULES, ids=lambda rule: rule.id)
def test_a_named_override_opens_what_may_be_answered_for_and_never_a_stop(rule: SafetyRule) -> None:
    tooth = {"tooth": 46} if rule.group in ("tooth", "place") else {}
    override = {"rule": rule.id, "name": "D. Nurse", "reason": "for a reason", "at": "2026-05-01T08:30:00Z", **tooth}
    if rule.of_plan:
        override["given_for"] = plan_mark(from_document(case_document()))
    if not rule.overridable:
        with pytest.raises(CaseFaults):
            screened({rule.id: closing(rule)}, overrides=[override])
        return
    found = screened({rule.id: closing(rule) if rule.not_known is None else "unknown"}, overrides=[override])
    point = of(found, rule.id)
    assert found.cleared and point is not None
    assert point.override is not None and point.override.name == "D. Nurse"


@pytest.mark.parametrize("rule", [rule for rule in RULES if rule.outcome == "stop"], ids=lambda rule: rule.id)
def test_an_override_of_a_stop_that_got_into_the_record_is_no_override(rule: SafetyRule) -> None:
    case = from_document(answered(case_document(), {rule.id: closing(rule)}, opened_at=OPENED))
    override: dict[str, Any] = {"rule": rule.id, "name": "D. Nurse", "reason": "for a reason", "at": OPENED}
    if rule.group in ("tooth", "place"):
        override["tooth"] = 46
    forced = replace(case, visits=({**case.visits[0], "overrides": [override]},))
    assert not screen(forced, now=NOW).cleared


@pytest.mark.parametrize("missing", ["name", "reason", "at", "rule"])
def test_an_override_without_one_of_its_parts_is_refused(missing: str) -> None:
    override = {"rule": "masks", "name": "D. Nurse", "reason": "for a reason", "at": "2026-05-01T08:30:00Z"}
    del override[missing]
    with pytest.raises(CaseFaults):
        screened({"masks": "no"}, overrides=[override])


@pytest.mark.parametrize(("at", "counts"), [("2026-05-01T07:59:59Z", False), (OPENED, True), ("2026-05-01T08:00:01Z", True)])
def test_an_override_of_an_earlier_visit_does_not_count(at: str, counts: bool) -> None:
    override = {"rule": "masks", "name": "D. Nurse", "reason": "for a reason", "at": at}
    assert screened({"masks": "no"}, overrides=[override]).cleared is counts


def test_an_override_of_another_rule_or_tooth_does_not_count() -> None:
    override = {"rule": "masks", "name": "D. Nurse", "reason": "for a reason", "at": OPENED}
    assert not screened({"tip_clean": "no"}, overrides=[override]).cleared
    assert not screened({"masks": "no"}, overrides=[{**override, "tooth": 46}]).cleared


def test_an_override_does_not_answer_a_question() -> None:
    override = {"rule": "masks", "name": "D. Nurse", "reason": "for a reason", "at": OPENED}
    assert not screened({"masks": None}, overrides=[override]).cleared


@pytest.mark.parametrize(
    ("recorded", "rule"),
    [
        ({"implant_beside": True}, "implant_beside"),
        ({"apical_state": "acute"}, "acute_infection"),
        ({"metal": {"F": True}}, "metal_near"),
    ],
)
def test_what_the_case_records_counts_whatever_was_answered(recorded: dict[str, Any], rule: str) -> None:
    found = screened({rule: "no"}, case_document(**recorded))
    point = of(found, rule)
    assert point is not None and point.answer == "yes"
    assert found.cleared is not point.closes


@pytest.mark.parametrize("recorded", [{"implant_beside": False}, {"apical_state": "sound"}, {"metal": {"F": False}}])
def test_what_the_case_records_as_absent_leaves_the_answer(recorded: dict[str, Any]) -> None:
    assert screened(None, case_document(**recorded)).cleared
    assert not screened({"implant_beside": "yes"}, case_document(**recorded)).cleared


def test_a_recorded_stop_in_free_words_needs_somebody_to_answer_for_it() -> None:
    document = case_document()
    document["patient"]["stops"] = ["something implanted"]
    found = screened(None, document)
    point = of(found, "recorded_stops")
    assert not found.cleared and point is not None and "something implanted" in str(point.sentence.parameters["stops"])
    override = {"rule": "recorded_stops", "name": "D. Nurse", "reason": "a dental implant, other side", "at": OPENED}
    assert screened(None, document, overrides=[override]).cleared


def test_recorded_drugs_are_repeated_and_close_nothing() -> None:
    document = case_document()
    document["patient"]["drugs"] = ["a blood thinner", "a tablet"]
    found = screened(None, document)
    point = of(found, "recorded_drugs")
    assert found.cleared and point is not None and point.sentence.parameters == {"drugs": "a blood thinner, a tablet"}


def test_a_point_names_its_place_in_the_file() -> None:
    point = of(screened({"implant_beside": "yes"}), "implant_beside")
    assert point is not None and point.where == "visits[0].teeth[0].answers.implant_beside (tooth 46)"
    point = of(screened({"masks": "no"}), "masks")
    assert point is not None and point.where == "visits[0].room.masks"


def test_an_answer_the_rule_does_not_know_is_a_fault_of_the_file() -> None:
    for rule, answer in (("masks", "unknown"), ("cardiac_device", "not applicable"), ("smoking", "maybe")):
        with pytest.raises(CaseFaults):
            screened({rule: answer})


@pytest.mark.parametrize("vital", [True, None, False])
def test_of_a_pulp_that_is_not_there_nothing_is_said(vital: bool | None) -> None:
    document = case_document()
    document["teeth"][0]["vital"] = vital
    if vital is None:
        del document["teeth"][0]["vital"]
    found = screened({"metal_near": "yes", "metal_not_isolated": "yes", "bleeding_disorder": "yes"}, document)
    spoken = [words(point.sentence) for point in found.all_points] + [words(sentence) for sentence in reminders(found)]
    assert any("pulp" in line for line in spoken) is (vital is not False)
    near = of(found, "metal_near")
    assert near is not None and near.outcome == "precaution"
    assert (near.source, near.status) == ("krejci1982" if vital is not False else "robertson1978", "read")
    assert any("metal" in line and "neighbour" in line for line in spoken) is (vital is False)


def test_every_rule_names_a_work_and_how_it_is_known() -> None:
    for rule in RULES:
        assert reference(rule.source).citation
        assert (rule.source == "collum_decision") is (rule.status == "choice"), rule.id
        assert (rule.source == "clinical_teaching") is (rule.status == "memory"), rule.id
    assert len({rule.id for rule in RULES}) == len(RULES) == 45

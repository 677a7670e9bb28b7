"""Every rule on both sides: the answer that brings its outcome, the one that brings nothing, unknown and unanswered."""

from dataclasses import replace
from datetime import UTC, datetime
from typing import Any

import pytest

from collum.app.speaking import words
from collum.case import CaseFaults, from_document, plan_mark
from collum.case.visit import Override
from collum.evidence import reference
from collum.evidence.safety_rules import CLOSING, CONDITIONS, OVERRIDABLE, OVERRIDES_READ, RULES, Procedure, SafetyRule
from collum.plan.safety import Point, Screening, screen
from collum.wire.safety.document import reminders
from tests.making.answers import answered, harmless
from tests.making.case_documents import case_document

OPENED = "2026-05-01T08:00:00Z"
NOW = datetime(2026, 5, 1, 9, 0, tzinfo=UTC)
# The clinical rules that have to be stops, written here a second time so that none can be softened unseen.
STOPS = {
    *("other_stimulator", "cochlear_implant", "added_oxygen", "jaw_irradiated", "consent"),
    *("bone_drugs", "blood_thinner", "guardian"),  # of which nothing is stated
    *("implant_beside", "metal_not_isolated", "acute_infection", "suspicious_tissue"),
    *("bone_exposed", "thin_over_bone", "unkeratinised"),
    *("right_patient", "plate_contact", "plate_place", "no_chair_metal", "jewellery_out", "plastic_tools", "oxygen_off"),
    *("nothing_flammable", "time_out"),
}
ASKED_OF_A_PHYSICIAN = {
    *("cardiac_device", "poor_healing", "bleeding_disorder", "heart_or_pressure", "pregnant", "anaesthetic_reaction"),
}
# What the letter asks beside these: cautions on which the physician has a word.
IN_THE_LETTER = {
    *("diabetes_uncontrolled", "endocarditis_risk", "other_stimulator", "cochlear_implant", "bone_drugs", "blood_thinner"),
}
# What each fact brings where bone is worked, or a tooth is moved with cutting of fibres; what is not here concerns neither.
OF_SURGERY = {
    **dict.fromkeys(("blade_ready", "field_ready", "bleeding_ready", "emergency_ready"), ("justify", "justify")),
    "fainting": ("precaution", "precaution"),
    "mouth_opening": ("precaution", "precaution"),
    "guardian": ("stop", "stop"),
    "growing": ("ask", "ask"),
    "jaw_irradiated": ("stop", "stop"),
    "poor_healing": ("ask", "ask"),
    "diabetes_uncontrolled": ("ask", "justify"),
    "bleeding_disorder": ("ask", "ask"),
    "endocarditis_risk": ("justify", "justify"),
    "heart_or_pressure": ("stop", "ask"),
    "pregnant": ("stop", "ask"),
    "anaesthetic_reaction": ("ask", "ask"),
    "allergy": ("precaution", "precaution"),
    "smoking": ("precaution", "precaution"),
    "asthma": ("precaution", None),
    "consent": ("stop", "stop"),
    "bone_drugs": ("stop", "stop"),
    "blood_thinner": ("stop", "precaution"),
    "overgrowth_drug": ("note", None),
    "acute_infection": ("stop", "stop"),
    "suspicious_tissue": ("stop", None),
    "right_patient": ("stop", "stop"),
    "margin_measured": ("justify", None),
    "time_out": ("stop", "stop"),
}
SURGERY: tuple[Procedure, ...] = ("bone", "movement")
PLATE = ("plate_contact", "plate_place", "plate_skin", "plate_watched")


def screened(
    answers: dict[str, str | None] | None = None,
    document: dict[str, Any] | None = None,
    procedure: Procedure = "current",
    **visit: Any,
) -> Screening:
    case = from_document(answered(document or case_document(), answers, opened_at=OPENED, **visit))
    return screen(case, procedure, now=NOW)


def of(screening: Screening, rule: str) -> Point | None:
    return next((point for point in screening.all_points if point.rule == rule), None)


def closing(rule: SafetyRule) -> str:
    return rule.on


def first_of(rule: SafetyRule) -> Procedure:
    """Return a procedure that a rule concerns, and whose paper needs no other instrument of the record."""
    return next(procedure for procedure in rule.outcomes if procedure != "scalpel")


def test_the_stops_and_what_is_asked_of_a_physician_are_the_ones_written_here() -> None:
    assert {rule.id for rule in RULES if rule.outcome == "stop"} == STOPS
    assert {rule.id for rule in RULES if rule.outcome == "ask"} == ASKED_OF_A_PHYSICIAN


def test_harmless_answers_clear_and_leave_no_point() -> None:
    found = screened()
    assert found.cleared
    assert found.all_points == ()


@pytest.mark.parametrize("rule", RULES, ids=lambda rule: rule.id)
def test_the_answer_of_a_rule_has_its_outcome_and_closes_as_it_says(rule: SafetyRule) -> None:
    procedure = first_of(rule)
    found = screened({rule.id: closing(rule)}, procedure=procedure)
    point, outcome = of(found, rule.id), rule.outcomes[procedure]
    assert point is not None
    assert (point.outcome, point.closes) == (outcome, outcome in CLOSING)
    assert found.cleared is (outcome not in CLOSING)
    assert point.sentence.key == f"safety.reason.{rule.id}{'_current' if rule.id == 'growing' else ''}"
    assert [p.rule for p in found.all_points] == [rule.id]


@pytest.mark.parametrize("rule", RULES, ids=lambda rule: rule.id)
def test_the_other_answer_brings_nothing(rule: SafetyRule) -> None:
    assert of(screened({rule.id: harmless(rule)}), rule.id) is None


@pytest.mark.parametrize("rule", RULES, ids=lambda rule: rule.id)
def test_unanswered_closes_and_is_never_no(rule: SafetyRule) -> None:
    found = screened({rule.id: None}, procedure=first_of(rule))
    point = of(found, rule.id)
    assert point is not None and point.outcome == "unanswered" and point.closes and not point.overridable
    assert not found.cleared


@pytest.mark.parametrize("rule", [rule for rule in RULES if "unknown" in rule.answers], ids=lambda rule: rule.id)
def test_not_known_counts_as_the_answer_that_closes_or_brings_more(rule: SafetyRule) -> None:
    unknown, sure = (of(screened({rule.id: answer}), rule.id) for answer in ("unknown", closing(rule)))
    assert unknown is not None and sure is not None
    assert (rule.not_known is not None) is (rule.id == "blood_thinner")
    assert unknown.outcome == sure.outcome
    assert unknown.closes is sure.closes


def test_what_hinders_clotting_and_is_not_known_closes_what_moves_too() -> None:
    found = screened({"blood_thinner": "unknown"}, procedure="movement")
    point = of(found, "blood_thinner")
    assert not found.cleared and point is not None and point.to_physician
    assert (point.outcome, point.sentence.key) == ("ask", "safety.not_known.blood_thinner")
    assert (point.source, point.status) == ("collum_decision", "choice")
    override = {"rule": "blood_thinner", "name": "D. Nurse", "reason": "none, the physician wrote", "at": OPENED}
    assert not screened({"blood_thinner": "unknown"}, procedure="movement", overrides=[override]).cleared
    known = of(screened({"blood_thinner": "yes"}, procedure="movement"), "blood_thinner")
    assert known is not None and (known.outcome, known.status, known.to_physician) == ("precaution", "memory", True)


def test_what_goes_to_the_physician_is_what_is_asked_and_every_implanted_device() -> None:
    asked = {rule.id for rule in RULES if (point := of(screened({rule.id: closing(rule)}), rule.id)) and point.to_physician}
    assert asked == ASKED_OF_A_PHYSICIAN | IN_THE_LETTER


@pytest.mark.parametrize("procedure", SURGERY)
@pytest.mark.parametrize("rule", RULES, ids=lambda rule: rule.id)
def test_a_fact_acts_on_the_procedures_it_concerns_and_on_no_other(rule: SafetyRule, procedure: Procedure) -> None:
    expected = OF_SURGERY.get(rule.id, (None, None))[SURGERY.index(procedure)]
    for answer in (closing(rule), None):
        found = screened({rule.id: answer}, procedure=procedure)
        brought = expected if answer is not None else None if expected is None else "unanswered"
        assert [(point.rule, point.outcome) for point in found.all_points] == ([] if brought is None else [(rule.id, brought)])
        assert found.cleared is (brought not in (*CLOSING, "unanswered"))


@pytest.mark.parametrize("rule", [rule for rule in RULES if rule.group == "room"], ids=lambda rule: rule.id)
def test_the_plate_alone_may_not_apply_and_as_a_whole(rule: SafetyRule) -> None:
    if rule.id not in PLATE:
        with pytest.raises(CaseFaults):
            screened({rule.id: "not applicable"})
        return
    found = screened({rule.id: "not applicable"})
    assert not found.cleared
    if rule.id == "plate_contact":
        assert [(p.rule, p.outcome) for p in found.closing] == [(part, "contradicted") for part in PLATE[1:]]
    else:
        assert [(p.rule, p.outcome) for p in found.closing] == [(rule.id, "unanswered")]


@pytest.mark.parametrize("part", [None, "not applicable"], ids=["left out", "as older files have it"])
def test_a_unit_without_a_plate_is_one_answer_and_a_precaution(part: str | None) -> None:
    found = screened({"plate_contact": "not applicable", **dict.fromkeys(PLATE[1:], part)})
    assert found.cleared
    assert [(p.rule, p.outcome) for p in found.all_points] == [("plate_contact", "precaution")]


@pytest.mark.parametrize("answer", ["yes", "no"])
@pytest.mark.parametrize("part", PLATE[1:])
def test_a_plate_that_does_not_apply_and_is_answered_for_closes(part: str, answer: str) -> None:
    none = {"plate_contact": "not applicable", **dict.fromkeys(PLATE[1:])}
    found = screened({**none, part: answer})
    assert [(p.rule, p.outcome, p.overridable) for p in found.closing] == [(part, "contradicted", False)]


@pytest.mark.parametrize("procedure", ["current", *SURGERY])
@pytest.mark.parametrize("rule", RULES, ids=lambda rule: rule.id)
def test_a_name_opens_a_caution_and_never_a_stop_or_what_a_physician_has_to_answer(
    rule: SafetyRule, procedure: Procedure
) -> None:
    tooth = {"tooth": 46} if rule.group in ("tooth", "place") else {}
    override = {"rule": rule.id, "name": "D. Nurse", "reason": "for a reason", "at": "2026-05-01T08:30:00Z", **tooth}
    override["procedure"] = procedure
    if rule.of_plan:
        override["given_for"] = plan_mark(from_document(case_document()))
    brought = rule.outcome_for(procedure)
    if rule.id not in OVERRIDES_READ:
        with pytest.raises(CaseFaults):
            screened({rule.id: closing(rule)}, procedure=procedure, overrides=[override])
        return
    found = screened({rule.id: closing(rule)}, procedure=procedure, overrides=[override])
    assert found.cleared is (brought in (*OVERRIDABLE, "precaution", "note", None))
    if brought in OVERRIDABLE:
        for other in {"current", *SURGERY} - {procedure}:
            moved = screened({rule.id: closing(rule)}, procedure=procedure, overrides=[{**override, "procedure": other}])
            assert not moved.cleared, "a name for another procedure opened this one"


@pytest.mark.parametrize("rule", [rule for rule in RULES if rule.outcome == "stop"], ids=lambda rule: rule.id)
def test_an_override_of_a_stop_that_got_into_the_record_is_no_override(rule: SafetyRule) -> None:
    case = from_document(answered(case_document(), {rule.id: closing(rule)}, opened_at=OPENED))
    override: dict[str, Any] = {"rule": rule.id, "name": "D. Nurse", "reason": "for a reason", "at": OPENED}
    if rule.group in ("tooth", "place"):
        override["tooth"] = 46
    forced = replace(case, visits=(replace(case.visits[0], overrides=(Override(**override),)),))
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


@pytest.mark.parametrize("procedure", ["current", *SURGERY])
def test_a_recorded_stop_in_free_words_closes_every_operation_and_has_no_override(procedure: Procedure) -> None:
    document = case_document()
    document["patient"]["stops"] = ["something implanted"]
    override = {"rule": "recorded_stops", "name": "D. Nurse", "reason": "no", "at": OPENED, "procedure": procedure}
    found = screened(None, document, procedure, overrides=[override])
    (point,) = found.closing
    assert (point.rule, point.outcome, point.overridable) == ("recorded_stops", "stop", False)
    assert "something implanted" in str(point.sentence.parameters["stops"])


@pytest.mark.parametrize("answer", ["no", "yes", "unknown", None])
@pytest.mark.parametrize("rule", [rule for rule in RULES if rule.id in CONDITIONS], ids=lambda rule: rule.id)
def test_a_recorded_condition_counts_whatever_was_answered(rule: SafetyRule, answer: str | None) -> None:
    document = case_document()
    document["patient"]["history"] = {rule.id: {}}
    for procedure, brought in rule.outcomes.items():
        point = of(screened({rule.id: answer}, document, procedure), rule.id)
        assert point is not None
        not_known = rule.not_known if answer == "unknown" and brought != "stop" else None
        assert point.outcome == (not_known or brought)
        assert (point.contradiction is not None) is (answer == "no")


def test_a_recorded_device_concerns_current_alone() -> None:
    document = case_document()
    document["patient"]["history"] = {"cardiac_device": {}}
    cleared = {procedure: screened(None, document, procedure).cleared for procedure in ("current", *SURGERY)}
    assert cleared == {"current": False, "bone": True, "movement": True}


@pytest.mark.parametrize(
    ("drugs", "rules"),
    [
        (["Alendronate 70 mg"], {"bone_drugs"}),
        (["zoledronic acid, yearly"], {"bone_drugs"}),
        (["Rivaroxaban"], {"blood_thinner"}),
        (["ciclosporin"], {"poor_healing", "overgrowth_drug"}),
    ],
)
def test_a_recorded_drug_with_a_known_name_answers_its_questions(drugs: list[str], rules: set[str]) -> None:
    document = case_document()
    document["patient"]["drugs"] = drugs
    found = screened(None, document)
    contradicted = {point.rule for point in found.all_points if point.contradiction is not None}
    assert contradicted == rules
    assert (of(found, "recorded_drugs") or pytest.fail()).outcome == "note"
    assert not found.cleared


def test_a_drug_that_nobody_has_classified_closes_until_somebody_has() -> None:
    document = case_document()
    document["patient"]["drugs"] = ["a tablet"]
    point = of(screened(None, document), "recorded_drugs")
    assert point is not None and (point.outcome, point.sentence.parameters) == ("stop", {"drugs": "a tablet"})
    mark = plan_mark(from_document(document))
    override = {"rule": "recorded_drugs", "name": "D. Nurse", "reason": "for sleep", "at": OPENED, "given_for": mark}
    assert not screened(None, document, overrides=[override]).cleared
    read = {"entry": "a tablet", "as_fact": "no concern", "by": "D. Nurse", "date": OPENED[:10]}
    document["patient"]["classified"] = [read]
    assert screened(None, document).cleared
    document["patient"]["classified"] = [{**read, "as_fact": "pregnant"}]
    assert [point.rule for point in screened(None, document).closing] == ["pregnant"]
    document["patient"]["classified"] = [read]
    document["patient"]["drugs"].append("another tablet")
    assert not screened(None, document).cleared


@pytest.mark.parametrize("recorded", [{"growing": True}, {"age_band": "under 18"}])
def test_growth_is_a_caution_for_current_and_asked_for_surgery(recorded: dict[str, Any]) -> None:
    document = case_document()
    document["patient"] |= recorded
    outcomes = {p: (of(screened(None, document, p), "growing") or pytest.fail()).outcome for p in ("current", *SURGERY)}
    assert outcomes == {"current": "justify", "bone": "ask", "movement": "ask"}


def test_what_smokes_by_the_record_smokes() -> None:
    document = case_document()
    for smoking, said in (("10 or more a day", True), ("under 10 a day", True), ("former", False), ("never", False)):
        document["patient"]["smoking"] = smoking
        assert (of(screened(None, document), "smoking") is not None) is said


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
    spoken = [words(point.sentence) for point in found.all_points] + [
        words(sentence) for sentence in reminders(found, (found.procedure,))
    ]
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
    assert len({rule.id for rule in RULES}) == len(RULES) == 54

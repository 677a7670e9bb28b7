"""Answers that speak of the cut hold for one plan: with other readings, wishes or lines they are asked again."""

import copy
from collections.abc import Callable
from datetime import UTC, datetime
from typing import Any

import pytest

from collum.case import CaseFaults, from_document, plan_mark, planned_on
from collum.evidence.safety_rules import RULES
from collum.plan.safety import Screening, screen, state_of
from tests.making.answers import answered
from tests.making.case_documents import case_document

Document = dict[str, Any]
OPENED = "2026-05-01T08:00:00Z"
NOW = datetime(2026, 5, 1, 9, 0, tzinfo=UTC)
# What speaks of the cut, of what it removes, of what was read for it or agreed to: written here a second time.
OF_PLAN = {
    *("consent", "right_patient", "margin_measured", "time_out"),
    *("implant_beside", "metal_not_isolated", "metal_near", "suspicious_tissue"),
    *("bone_exposed", "thin_over_bone", "unkeratinised"),
}


def cleared() -> Document:
    return answered(case_document(), opened_at=OPENED)


def screened(document: Document) -> Screening:
    return screen(from_document(document), now=NOW)


def asked_again(document: Document) -> set[str]:
    found = screened(document)
    assert all(point.closes and not point.overridable for point in found.closing if point.outcome == "outdated")
    assert found.cleared is not bool(found.closing)
    return {point.rule for point in found.closing if point.outcome == "outdated"}


def probing(document: Document) -> None:
    document["teeth"][0]["sites"]["probing_depth"][3] = 5.0


def wish(document: Document) -> None:
    document["teeth"][0]["restoration"] = {"occlusal_reduction_mm": 1.5}


def line(document: Document) -> None:
    document["teeth"][0]["held"] = {"cut": {"F": -1.2}}


def limit(document: Document) -> None:
    document["teeth"][0]["requirements"] = [{"id": "clear_of_bone", "limit": 1.5, "reason": "thin plate"}]


def person(document: Document) -> None:
    document["patient"]["reference"] = "MADE-02"


def note(document: Document) -> None:
    document["note"] = "seen again"
    document["visits"][0]["note"] = "the round was done"


def other_answers(document: Document) -> None:
    document["visits"][0]["room"]["masks"] = "no"
    document["visits"][0]["room"]["masks"] = "yes"
    document["visits"][0]["plate_contact_cm2"] = 90.0


def spelling(document: Document) -> None:
    document["teeth"][0] = dict(reversed(document["teeth"][0].items()))


def marked(document: Document) -> tuple[Document, ...]:
    """Return the parts of the visit that hold answers with the mark of a plan."""
    return document["visits"][0], document["visits"][0]["teeth"][0]


def test_the_rules_that_speak_of_the_cut_are_the_ones_written_here() -> None:
    assert {rule.id for rule in RULES if rule.of_plan} == OF_PLAN


@pytest.mark.parametrize("change", [probing, wish, line, limit, person])
def test_what_was_answered_for_another_plan_is_asked_again(change: Callable[[Document], None]) -> None:
    document = cleared()
    before = copy.deepcopy(document)
    assert screened(document).cleared
    change(document)
    assert asked_again(document) == OF_PLAN
    found = screened(document)
    assert {point.sentence.key for point in found.closing} == {"safety.open.outdated"}
    assert (state_of(found).key, state_of(found).parameters) == ("safety.state.outdated", {"open": 11, "outdated": 11})
    assert screened(before).cleared, "back as it was, it counts again"


@pytest.mark.parametrize("change", [note, other_answers, spelling])
def test_notes_visits_and_the_way_a_file_is_written_ask_nothing_again(change: Callable[[Document], None]) -> None:
    document = cleared()
    change(document)
    assert screened(document).cleared


def test_an_answer_given_for_the_new_plan_counts_and_the_others_stay_open() -> None:
    document = cleared()
    probing(document)
    mark = screened(document).plan
    document["visits"][0]["given_for"]["right_patient"] = mark
    document["visits"][0]["teeth"][0]["given_for"]["thin_over_bone"] = mark
    assert asked_again(document) == OF_PLAN - {"right_patient", "thin_over_bone"}
    for part in marked(document):
        part["given_for"] = dict.fromkeys(part["given_for"], mark)
    assert asked_again(document) == {"time_out"}
    for entry in document["visits"][0]["time_outs"]:
        entry["given_for"] = mark
    assert screened(document).cleared


def test_an_answer_without_the_mark_of_a_plan_counts_for_none() -> None:
    document = cleared()
    del document["visits"][0]["given_for"], document["visits"][0]["teeth"][0]["given_for"]
    assert asked_again(document) == OF_PLAN - {"time_out"}  # which is not entered without one
    assert {point.sentence.key for point in screened(document).closing} == {"safety.open.of_no_plan"}


def test_a_mark_alone_answers_nothing() -> None:
    document = cleared()
    del document["visits"][0]["room"]["right_patient"]
    assert [(p.rule, p.outcome) for p in screened(document).closing] == [("right_patient", "unanswered")]


def test_a_recorded_stop_stays_a_stop_whatever_plan_was_answered_for() -> None:
    document = answered(case_document(implant_beside=True), {"implant_beside": "no"}, opened_at=OPENED)
    probing(document)
    found = {point.rule: point.outcome for point in screened(document).closing}
    assert found["implant_beside"] == "stop"


def test_who_answered_for_a_rule_of_the_cut_did_so_for_one_plan() -> None:
    mark = plan_mark(from_document(case_document()))
    override = {"rule": "margin_measured", "name": "D. Nurse", "reason": "by the landmark", "at": OPENED, "given_for": mark}
    document = answered(case_document(), {"margin_measured": "no"}, opened_at=OPENED, overrides=[override])
    assert screened(document).cleared
    probing(document)
    again = screened(document).plan
    for part in marked(document):
        part["given_for"] = dict.fromkeys(part["given_for"], again)
    for entry in document["visits"][0]["time_outs"]:
        entry["given_for"] = again
    assert [(p.rule, p.outcome) for p in screened(document).closing] == [("margin_measured", "justify")]
    document["visits"][0]["overrides"].append({**override, "given_for": again})
    assert screened(document).cleared


@pytest.mark.parametrize("mark", ["", "0123456789abcde", "0123456789ABCDEF", "0123456789abcdef0"])
def test_a_mark_that_is_none_is_a_fault_of_the_file(mark: str) -> None:
    document = cleared()
    document["visits"][0]["given_for"]["consent"] = mark
    with pytest.raises(CaseFaults) as refused:
        from_document(document)
    assert [fault.where for fault in refused.value.faults] == ["visits[0].given_for.consent"]


def test_no_mark_is_taken_for_an_answer_that_speaks_of_no_cut() -> None:
    document = cleared()
    document["visits"][0]["given_for"]["masks"] = plan_mark(from_document(case_document()))
    with pytest.raises(CaseFaults):
        from_document(document)


def test_another_version_of_the_program_draws_other_lines(monkeypatch: pytest.MonkeyPatch) -> None:
    document = cleared()
    monkeypatch.setattr("collum.__version__", "0.0.0")
    assert asked_again(document) == OF_PLAN


def test_a_plan_rests_on_the_whole_case_but_for_visits_notes_and_what_is_expected() -> None:
    document = {**cleared(), "note": "a note"}
    assert set(planned_on(from_document(document))) == set(document) - {"visits", "note", "format"}

"""A cut has one card: that of the instrument that the tooth records, and questions of current do not keep the other closed."""

from collections.abc import Mapping
from typing import Any

import pytest

from collum.case import from_document, plan_mark
from collum.evidence.safety_rules import RULES, Procedure, rules_of
from collum.plan.safety import screen
from tests.making.answers import answered
from tests.making.case_documents import case_document

BY: Mapping[str, str] = {"current": "cut_by_scalpel", "scalpel": "not_by_scalpel"}


def _rules(cut_by: str | None, procedure: Procedure) -> set[str]:
    """Return what keeps the card of a procedure closed, all else harmless, for a tooth that records `cut_by`."""
    document: dict[str, Any] = case_document()
    document["format"] = "collum-case/3"
    if cut_by is not None:
        document["teeth"][0]["cut_by"] = cut_by
    told = answered(document, opened_at="2026-05-01T08:00:00Z")
    return {point.rule for point in screen(from_document(told), procedure).closing}


@pytest.mark.parametrize(
    ("cut_by", "procedure", "closed"),
    [
        (None, "current", False),
        ("current", "current", False),
        ("scalpel", "current", True),
        (None, "scalpel", True),
        ("current", "scalpel", True),
        ("scalpel", "scalpel", False),
    ],
)
def test_the_card_of_another_instrument_stays_closed(cut_by: str | None, procedure: Procedure, closed: bool) -> None:
    assert _rules(cut_by, procedure) == ({BY[procedure]} if closed else set())


@pytest.mark.parametrize("procedure", ["bone", "movement"])
def test_what_is_no_cut_in_gum_alone_has_no_instrument(procedure: Procedure) -> None:
    assert not _rules(None, procedure) & {*BY.values()}
    assert not _rules("scalpel", procedure) & {*BY.values()}


def test_the_room_of_the_scalpel_has_nothing_of_current() -> None:
    asked = {rule.id for rule in rules_of("room") if "scalpel" in rule.outcomes}
    lines = {"blade_ready", "field_ready", "bleeding_ready", "emergency_ready"}
    assert asked == {"right_patient", "margin_measured", *lines}


def test_another_instrument_is_another_plan() -> None:
    """An implant beside the tooth closes the cut by current alone, so that the plan rests on the instrument."""
    marks = set()
    for cut_by in ("current", "scalpel"):
        document: dict[str, Any] = case_document()
        document["teeth"][0]["cut_by"] = cut_by
        document["format"] = "collum-case/3"
        marks.add(plan_mark(from_document(document)))
    assert len(marks) == 2


# What each fact brings where gum is cut by scalpel, written here a second time; what is not here does not concern it.
OF_SCALPEL: Mapping[str, str] = {
    "jaw_irradiated": "precaution",
    "poor_healing": "ask",
    "diabetes_uncontrolled": "justify",
    "bleeding_disorder": "ask",
    "endocarditis_risk": "justify",
    "heart_or_pressure": "ask",
    "pregnant": "ask",
    "anaesthetic_reaction": "ask",
    "allergy": "precaution",
    "smoking": "precaution",
    "asthma": "precaution",
    "fainting": "precaution",
    "mouth_opening": "precaution",
    "guardian": "stop",
    "growing": "justify",
    **dict.fromkeys(("blade_ready", "field_ready", "bleeding_ready", "emergency_ready"), "justify"),
    "consent": "stop",
    "bone_drugs": "precaution",
    "blood_thinner": "stop",
    "overgrowth_drug": "note",
    "acute_infection": "stop",
    "suspicious_tissue": "precaution",
    "bone_exposed": "precaution",
    "thin_over_bone": "stop",
    "unkeratinised": "stop",
    "right_patient": "stop",
    "margin_measured": "justify",
    "time_out": "stop",
}


def test_each_question_acts_on_the_scalpel_as_the_table_has_it() -> None:
    assert {rule.id: rule.outcomes["scalpel"] for rule in RULES if "scalpel" in rule.outcomes} == OF_SCALPEL

"""Ten patients whose drugs or illnesses changed since the last visit: ten of ten are caught, and none where nothing changed.

A change is caught where the list read out names it, so that the patient speaks up, and what is entered acts at the gate.
Keys and time are printed (`pytest -s`) and judged by nobody.
"""

import tomllib
from collections.abc import Mapping
from pathlib import Path
from typing import Any

import pytest

from collum.app.practice import Practice
from collum.app.safety.entries import NotReadOut
from collum.evidence.safety_layers import HISTORY
from collum.evidence.safety_rules import PROCEDURES
from collum.wire.safety.document import SafetyDocument
from tests.judged.screening.visits import Heard, Reception
from tests.making.environment import FixedEnvironment

PATIENTS: Mapping[str, Mapping[str, Any]] = tomllib.loads(Path(__file__).with_name("patients.toml").read_text(encoding="utf-8"))


def outcomes(heard: Heard, rule: str) -> dict[str, str]:
    """Return what a rule brings at the gate of each operation; nothing where it is open."""
    found = {
        procedure: [point.outcome for point in gate.points if point.rule == rule] for procedure, gate in heard.gates.items()
    }
    return {procedure: points[0] for procedure, points in found.items() if points}


def may_inject(gate: SafetyDocument) -> bool:
    """Return whether nothing but the time-out is wanting, whatever instrument the tooth records."""
    points = [*gate.points, *gate.teeth[0].points]
    return all(point.rule in ("time_out", "not_by_scalpel") for point in points if point.closes)


def test_there_are_ten_patients() -> None:
    assert len(PATIENTS) == 10


@pytest.mark.parametrize("name", PATIENTS)
def test_a_change_since_the_last_visit_is_caught_and_acts(name: str, practice: Practice, environment: FixedEnvironment) -> None:
    patient = PATIENTS[name]
    heard = Reception(practice, environment, patient.get("before", {})).read(patient)
    print(f"\n{name}: {heard.keys} keys, about {heard.time_s:.0f} s with the list read aloud")
    assert heard.spoke, "the list does not name it in words that the patient knows"
    assert outcomes(heard, patient["rule"]) == patient["acts"]
    for procedure, outcome in patient["acts"].items():
        assert may_inject(heard.gates[procedure]) is (outcome == "precaution")
    assert heard.gates["current"].history.read_out is not None
    assert "changes entered" in heard.gates["current"].history.read_out.text


def test_where_nothing_changed_nothing_is_caught_and_the_anaesthetic_may_be_given(
    practice: Practice, environment: FixedEnvironment
) -> None:
    reception = Reception(practice, environment, {})
    before = reception.gate("current")
    assert not may_inject(before) and before.unanswered == len(HISTORY) + 1  # the history, and the time-out
    heard = reception.read({})
    print(f"\nunchanged: {heard.keys} keys, about {heard.time_s:.0f} s with the list read aloud")
    assert not heard.spoke
    assert all(may_inject(heard.gates[procedure]) for procedure in PROCEDURES)
    assert heard.gates["current"].history.read_out is not None
    assert "unchanged since" in heard.gates["current"].history.read_out.text


def test_a_list_that_is_not_the_one_on_the_screen_is_not_read_out(practice: Practice, environment: FixedEnvironment) -> None:
    reception = Reception(practice, environment, {})
    shown, revision = reception.gate("current").history.mark, practice.open(reception.case_id).revision
    with pytest.raises(NotReadOut):
        practice.safety.read_out(reception.case_id, base_revision=revision, list="0" * 16, by="AB")
    document = reception.document
    document["patient"]["drugs"] = ["apixaban 5 mg"]
    practice.save(reception.case_id, base_revision=revision, document=document)
    with pytest.raises(NotReadOut):
        practice.safety.read_out(reception.case_id, base_revision=revision + 1, list=shown, by="AB")

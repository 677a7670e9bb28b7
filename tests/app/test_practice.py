"""Each use case of a practice: fresh, repeated, stale, interrupted, with faulty input and with failing storage."""

import json
import sqlite3
from dataclasses import replace
from typing import Any

import pytest

from collum import evidence
from collum.app.plans.planning import Cancelled, Planner
from collum.app.practice import Practice, open_practice
from collum.case import CaseFaults, to_document
from collum.records import DATABASE, StaleRevision, StorageError, UnknownRecord
from tests.making.environment import FixedEnvironment
from tests.making.teeth import case_of, overgrown_premolar

UNKNOWN = "01900000-0000-7000-8000-000000000000"


def document(reference: str = "T-001", **changes: Any) -> dict[str, Any]:
    made = to_document(case_of(overgrown_premolar(**changes)))
    made["patient"]["reference"] = reference
    return made


def faulty() -> dict[str, Any]:
    broken = document()
    broken["teeth"][0]["sites"]["probing_depth"]["F"] = -1
    broken["patient"]["reference"] = "Mrs. Smith"
    return broken


# Making a case


def test_a_fresh_case_is_opened_as_it_was_given(practice: Practice) -> None:
    made = practice.create(document())
    assert made.revision == 1
    assert made.saved_at.startswith("2026-05-01T08:00:0") and made.saved_at.endswith("Z")
    assert practice.open(made.case_id) == made
    assert made.document == document()


def test_making_a_case_twice_makes_two(practice: Practice) -> None:
    first, second = practice.create(document("A-1")), practice.create(document("A-1"))
    assert [case.case_id for case in practice.cases()] == [first.case_id, second.case_id]


@pytest.mark.parametrize("use", ["create", "save"])
def test_faulty_input_gives_every_fault_and_writes_nothing(practice: Practice, use: str) -> None:
    made = practice.create(document())
    with pytest.raises(CaseFaults) as faults:
        if use == "create":
            practice.create(faulty())
        else:
            practice.save(made.case_id, base_revision=1, document=faulty())
    assert {fault.where.split(" ")[0] for fault in faults.value.faults} == {
        "teeth[0].sites.probing_depth.F",
        "patient.reference",
    }
    assert practice.open(made.case_id) == made
    assert len(practice.cases()) == 1


# Saving a case


def test_a_save_becomes_the_next_revision(practice: Practice) -> None:
    made = practice.create(document())
    saved = practice.save(made.case_id, base_revision=1, document=document("T-002"))
    assert saved.revision == 2
    assert practice.open(made.case_id).document["patient"]["reference"] == "T-002"
    assert practice.cases()[0].reference == "T-002"


def test_the_same_save_twice_is_one_revision(practice: Practice) -> None:
    made = practice.create(document())
    saved = practice.save(made.case_id, base_revision=1, document=document("T-002"))
    assert practice.save(made.case_id, base_revision=1, document=document("T-002")) == saved


def test_another_spelling_of_the_same_case_is_no_change(practice: Practice) -> None:
    made = practice.create(document())
    spelt = document()
    sites = spelt["teeth"][0]["sites"]
    sites["bone_sounding"] = [sites["bone_sounding"][site] for site in sites["order"]]
    assert practice.save(made.case_id, base_revision=1, document=spelt).revision == 1


def test_a_stale_save_hands_over_the_newer_revision(practice: Practice) -> None:
    made = practice.create(document())
    practice.save(made.case_id, base_revision=1, document=document("MINE"))
    with pytest.raises(StaleRevision) as stale:
        practice.save(made.case_id, base_revision=1, document=document("YOURS"))
    assert stale.value.newest.number == 2
    assert json.loads(stale.value.newest.document)["patient"]["reference"] == "MINE"


def test_what_is_not_there_is_said_so(practice: Practice) -> None:
    made = practice.create(document())
    for ask in (
        lambda: practice.open(UNKNOWN),
        lambda: practice.save(UNKNOWN, base_revision=1, document=document()),
        lambda: practice.store_plan(made.case_id, revision=2),
        lambda: practice.plans(UNKNOWN),
        lambda: practice.stored_plan(UNKNOWN),
        lambda: practice.paper(UNKNOWN, "plan-sheet"),
    ):
        with pytest.raises(UnknownRecord):
            ask()


@pytest.mark.parametrize("use", ["create", "save", "store_plan"])
def test_failing_storage_writes_nothing_and_is_said_so(
    practice: Practice, environment: FixedEnvironment, monkeypatch: pytest.MonkeyPatch, use: str
) -> None:
    monkeypatch.setattr("collum.records.engine._WAIT_S", 0)
    made = practice.create(document())
    with open_practice(environment, draws=300) as impatient:
        blocker = sqlite3.connect(environment.data_directory / DATABASE, isolation_level=None)
        blocker.execute("BEGIN IMMEDIATE")
        with pytest.raises(StorageError) as trouble:
            {
                "create": lambda: impatient.create(document("B-1")),
                "save": lambda: impatient.save(made.case_id, base_revision=1, document=document("B-1")),
                "store_plan": lambda: impatient.store_plan(made.case_id, revision=1),
            }[use]()
        blocker.execute("ROLLBACK")
        blocker.close()
        assert trouble.value.trouble == "busy"
        assert impatient.cases() == practice.cases()
        assert impatient.plans(made.case_id) == ()


# Plans


def test_a_stored_plan_is_the_plan_of_that_revision(practice: Practice) -> None:
    made = practice.create(document())
    practice.save(made.case_id, base_revision=1, document=document(vital=False))
    stored = practice.store_plan(made.case_id, revision=1)
    planned = Planner(300).plan(case_of(overgrown_premolar()))
    assert stored.result == planned.model_dump_json()
    assert (stored.seed, stored.draws, stored.program_version) == (planned.seed, 300, "0.1.0")
    recommended = planned.teeth[0].recommended_route
    assert recommended is not None and recommended != planned.teeth[0].routes[0].name
    assert stored.verdicts == tuple(route.verdict for route in planned.teeth[0].routes if route.name == recommended)
    assert {c["key"] for c in json.loads(stored.constants)} == {c.key for c in planned.constants}
    assert practice.cases()[0].last_verdicts == stored.verdicts


def test_storing_a_plan_twice_keeps_it_once(practice: Practice) -> None:
    made = practice.create(document())
    first = practice.store_plan(made.case_id, revision=1)
    assert practice.store_plan(made.case_id, revision=1).id == first.id
    assert [plan.id for plan in practice.plans(made.case_id)] == [first.id]


def test_an_interrupted_plan_is_not_stored(practice: Practice) -> None:
    made = practice.create(document())
    with pytest.raises(Cancelled):
        practice.store_plan(made.case_id, revision=1, cancelled=lambda: True)
    assert practice.plans(made.case_id) == ()


@pytest.mark.parametrize("kind", ["plan-sheet", "findings-sheet"])
def test_a_paper_is_printed_from_what_is_stored_and_never_recomputed(
    practice: Practice, environment: FixedEnvironment, monkeypatch: pytest.MonkeyPatch, kind: Any
) -> None:
    made = practice.create(document())
    stored = practice.store_plan(made.case_id, revision=1)
    first = practice.paper(stored.id, kind)
    assert first.startswith(b"%PDF-")

    def refuse(*_arguments: object, **_named: object) -> None:
        raise AssertionError("recomputed")

    with open_practice(replace(environment, program_version="9.9.9")) as later:
        monkeypatch.setattr(Planner, "plan", refuse)
        monkeypatch.setattr(evidence._REGISTRY, "_constants", {})
        assert later.paper(stored.id, kind) == first
        assert later.stored_plan(stored.id) == stored


def test_a_paper_of_a_tooth_that_is_not_in_the_plan_is_refused(practice: Practice) -> None:
    made = practice.create(document())
    stored = practice.store_plan(made.case_id, revision=1)
    with pytest.raises(IndexError):
        practice.paper(stored.id, "plan-sheet", tooth=1)


def test_what_was_stored_is_there_after_a_restart(environment: FixedEnvironment) -> None:
    with open_practice(environment, draws=300) as before:
        made = before.create(document())
        stored = before.store_plan(made.case_id, revision=1)
    with open_practice(environment) as after:
        assert after.open(made.case_id) == made
        assert after.stored_plan(stored.id) == stored

"""Two stored plans of a tooth: what changed, why the verdict moved, and that nothing is computed for it."""

import json
from dataclasses import replace
from typing import Any

import pytest

from collum.app.cases.compare import Change, NoCommonTooth, compare_plans
from collum.app.plans.planning import Planner
from collum.app.practice import Practice
from collum.case import to_document
from collum.records import StoredPlan, UnknownRecord
from tests.making.teeth import case_of, overgrown_premolar


def document() -> dict[str, Any]:
    return to_document(case_of(overgrown_premolar()))


def two_plans(practice: Practice, changed: dict[str, Any]) -> tuple[StoredPlan, StoredPlan]:
    made = practice.create(document())
    first = practice.store_plan(made.case_id, revision=1)
    saved = practice.save(made.case_id, base_revision=1, document=changed)
    return first, practice.store_plan(made.case_id, revision=saved.revision)


def test_a_reading_a_wish_and_the_requirements_they_move_are_told_apart(
    practice: Practice, monkeypatch: pytest.MonkeyPatch
) -> None:
    changed = document()
    tooth = changed["teeth"][0]
    tooth["sites"]["sound_height"]["L"] = -4.0
    del tooth["vital"]
    tooth["restoration"]["occlusal_reduction_mm"] = 2.0
    tooth["note"] = "seen again"
    first, second = two_plans(practice, changed)
    monkeypatch.setattr(Planner, "plan", None)
    found = compare_plans(practice.store, first.id, second.id)
    assert found.tooth_number == 45
    assert found.readings == (
        Change(what="sites.sound_height.L", before="3.5", after="-4.0"),
        Change(what="vital", before="true", after=None),
    )
    assert found.wishes == (Change(what="restoration.occlusal_reduction_mm", before="1.5", after="2.0"),)
    assert (found.constants, found.program) == ((), ())
    ferrule = next(change for change in found.requirements if change.what == "ferrule")
    assert ferrule.after is not None and ferrule.after.startswith("short")
    assert (found.verdict.before, found.verdict.after) == (first.verdicts[0], "short")


def test_the_same_plan_twice_shows_no_change(practice: Practice) -> None:
    made = practice.create(document())
    plan = practice.store_plan(made.case_id, revision=1)
    found = compare_plans(practice.store, plan.id, plan.id)
    assert (found.readings, found.wishes, found.constants, found.program, found.requirements) == ((), (), (), (), ())
    assert found.verdict.before == found.verdict.after


def test_a_constant_and_a_version_that_changed_are_named(practice: Practice, monkeypatch: pytest.MonkeyPatch) -> None:
    first, second = two_plans(practice, document() | {"note": "again"})
    older = second.constants.replace(
        '"key": "plan.limit.ferrule_mm", "value": 2.0', '"key": "plan.limit.ferrule_mm", "value": 1.5'
    )
    assert older != second.constants
    by_id = {first.id: first, second.id: replace(second, constants=older, program_version="0.2.0")}
    monkeypatch.setattr(practice.store, "plan", by_id.__getitem__)
    found = compare_plans(practice.store, first.id, second.id)
    assert found.constants == (Change(what="plan.limit.ferrule_mm", before="2 mm", after="1.5 mm"),)
    assert found.program == (Change(what="version", before="0.1.0", after="0.2.0"),)


def test_plans_without_a_common_tooth_are_refused(practice: Practice) -> None:
    changed = document()
    changed["teeth"][0]["number"] = 35
    first, second = two_plans(practice, changed)
    with pytest.raises(NoCommonTooth):
        compare_plans(practice.store, first.id, second.id)
    with pytest.raises(NoCommonTooth):
        compare_plans(practice.store, first.id, first.id, tooth_number=11)
    with pytest.raises(UnknownRecord):
        compare_plans(practice.store, first.id, "none")


def test_every_route_is_compared_and_one_that_only_one_plan_holds_is_told(
    practice: Practice, monkeypatch: pytest.MonkeyPatch
) -> None:
    changed = document()
    changed["teeth"][0]["sites"]["sound_height"]["L"] = -4.0
    first, second = two_plans(practice, changed)
    result = json.loads(second.result)
    tooth = result["teeth"][0]
    tooth["routes"].append(tooth["routes"][0] | {"name": "a route of a later version"})
    by_id = {first.id: first, second.id: replace(second, result=json.dumps(result))}
    monkeypatch.setattr(practice.store, "plan", by_id.__getitem__)
    found = compare_plans(practice.store, first.id, second.id)
    assert found.recommended.before != found.recommended.after
    assert [route.verdict.what for route in found.routes] == [route["name"] for route in tooth["routes"]]
    soft = next(route for route in found.routes if route.verdict.what == "soft tissue only")
    assert soft.verdict.after == "short"
    assert soft.decides.before is None and soft.decides.after is not None and "lingual" in soft.decides.after
    assert found.routes[-1].verdict.before is None

"""One route that fails is not assessed; the others are what they are without it, and nothing is recommended in its place."""

from dataclasses import replace
from typing import Any

import pytest

from collum.case.model import Held, Tooth
from collum.plan import plan_tooth
from collum.plan.lengthening.levels.prepared import Prepared
from collum.plan.lengthening.procedures.bone_surgery import BoneSurgery
from collum.plan.lengthening.procedures.margin_elevation import RaisingMargins
from collum.plan.lengthening.procedures.registry import procedure_of
from collum.plan.lengthening.procedures.soft_tissue import SoftTissue
from collum.plan.lengthening.solver.quadratic import SolverError
from collum.plan.lengthening.tooth_plan import ToothPlan
from collum.plan.sentence import Sentence
from collum.vocabulary import ROUTES
from collum.wire.plan.route_sentences import explanation
from collum.wire.plan.to_document import tooth_document
from tests.making.teeth import broken_premolar, case_of, overgrown_premolar
from tests.measuring.necks import drawn_neck

DRAWS = 300


def fails(*_given: object, **_named: object) -> None:
    raise SolverError("planted")


@pytest.fixture(scope="module")
def neck() -> Prepared:
    return drawn_neck(case_of(broken_premolar()), DRAWS)


def planned(neck: Prepared, noted: list[Exception], tooth: Tooth | None = None) -> ToothPlan:
    def note(error: Exception) -> str:
        noted.append(error)
        return f"id-{len(noted)}"

    return plan_tooth(case_of(tooth or broken_premolar()), 0, neck, note=note)


@pytest.mark.parametrize("name", ROUTES)
def test_a_route_that_fails_leaves_the_others_as_they_are(neck: Prepared, monkeypatch: pytest.MonkeyPatch, name: str) -> None:
    monkeypatch.setattr(RaisingMargins, "closed_by", lambda *_given: None)  # worked out for this tooth too
    whole = {route.name: route for route in planned(neck, []).routes}
    monkeypatch.setattr(type(procedure_of(name)), "plan", fails)
    noted: list[Exception] = []
    routes = planned(neck, noted).routes
    failed = next(route for route in routes if route.name == name)
    assert [str(error) for error in noted] == ["planted"]
    assert (failed.verdict, failed.plan, failed.fault_id) == ("not assessed", None, "id-1")
    assert explanation(failed) == (Sentence("plan.explain.failed", {"id": "id-1"}),)
    for route in routes:
        if route is not failed:
            assert (route.verdict, route.fault_id) == (whole[route.name].verdict, None)
            assert explanation(route) == explanation(whole[route.name])


def test_without_a_way_to_note_it_a_fault_ends_the_plan(neck: Prepared, monkeypatch: pytest.MonkeyPatch) -> None:
    monkeypatch.setattr(BoneSurgery, "plan", fails)
    with pytest.raises(SolverError):
        plan_tooth(case_of(broken_premolar()), 0, neck)


def test_a_greater_route_is_not_planned_where_its_need_could_not_be_told(monkeypatch: pytest.MonkeyPatch) -> None:
    """The line held by hand makes soft tissue short; whether it would do without that line failed."""
    tooth = overgrown_premolar(held=Held(finish={"L": 3.0}))
    make = SoftTissue.plan

    def fails_without_it(procedure: SoftTissue, neck: Prepared, *given: Any, **named: Any) -> Any:
        return (make if neck.inputs.tooth.held.finish else fails)(procedure, neck, *given, **named)

    monkeypatch.setattr(SoftTissue, "plan", fails_without_it)
    noted: list[Exception] = []
    plan = planned(drawn_neck(case_of(tooth), DRAWS), noted, tooth)
    assert [route.fault_id for route in plan.routes] == [None, None, None, None, "id-1", "id-1"]


def test_a_route_that_cannot_be_told_in_words_has_failed_too(neck: Prepared) -> None:
    plan = planned(neck, [])
    bone = plan.route("soft tissue and bone")
    assert bone.forecast is not None
    forecast = replace(bone.forecast, settled_mm=bone.forecast.settled_mm[:1])
    plan = replace(plan, routes=tuple(replace(r, forecast=forecast) if r is bone else r for r in plan.routes))
    told = tooth_document(plan, lambda sentence, _tooth=None: sentence.key, lambda _: "id-9")
    assert [route.verdict for route in told.routes if route.name != "extrusion first"] == [
        *("short", "closed", "closed", "short", "not assessed")
    ]
    assert told.routes[4].explanation[0].parameters == {"id": "id-9"}
    assert (told.recommended_route, told.recommended_because.key) == (None, "plan.recommended.failed")

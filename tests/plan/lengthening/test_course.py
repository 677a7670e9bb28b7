"""The course of a route after it is chosen: steps, times with reasons, operations, provisional, interim line, trough."""

from dataclasses import replace
from types import SimpleNamespace
from typing import Any

import numpy as np
import pytest

from collum.case.model import FinishWish, Restoration, Tooth
from collum.case.parts import tooth_facts
from collum.plan.lengthening.course import (
    interim_mm,
    operations,
    provisional,
    provisional_mm,
    staged,
    timing,
    trough,
    weeks_to_final,
)
from collum.plan.lengthening.procedures.lines import RoutePlan
from collum.plan.lengthening.procedures.procedure import Treatment
from collum.plan.lengthening.procedures.registry import procedure_of
from collum.plan.lengthening.requirements.rules import wishes_of
from collum.plan.lengthening.route import Route
from collum.vocabulary import RouteName, Verdict
from tests.making.teeth import case_of, healthy_premolar
from tests.measuring.necks import EVIDENCE, drawn_neck

SOFT: RouteName = "soft tissue only"
WITHOUT: RouteName = "restore without lengthening"
BONE: RouteName = "soft tissue and bone"
EXTRUSION: RouteName = "extrusion first"


def route(
    name: RouteName,
    verdict: Verdict = "kept",
    *,
    cut_mm: float = -1.0,
    finish_mm: float = -1.2,
    raised_mm: float = 0.0,
    settled_mm: float = -0.8,
) -> Route:
    """A route with level lines."""
    unasked: Any = None
    prepared: Any = SimpleNamespace(evidence=EVIDENCE, limits=EVIDENCE.limits)
    plan = RoutePlan(
        prepared=prepared,
        wishes=unasked,
        treatment=Treatment(procedure=procedure_of(name), extruded_mm=raised_mm),
        cut_mm=np.full(36, cut_mm),
        finish_mm=np.full(36, finish_mm),
        assessment=unasked,
        lines=None,
    )
    forecast: Any = SimpleNamespace(full_return_mm=np.full(36, settled_mm))
    return Route(name=name, verdict=verdict, plan=plan, forecast=forecast)


def without_lines(name: RouteName) -> Route:
    return Route(name=name, verdict="not needed", set_aside="lesser_route_is_kept")


def tooth(number: int = 45, *, shown: bool = False, **changes: Any) -> Tooth:
    return healthy_premolar(number=number, restoration=Restoration(visible_zone=shown), **changes)


@pytest.mark.parametrize(
    ("name", "steps"),
    [
        (WITHOUT, ["prepare", "restore"]),
        (SOFT, ["mark", "cut", "provisional", "settle", "measure_margin", "definitive"]),
        (BONE, ["consent_bone", "flap", "provisional", "settle", "measure_margin", "definitive"]),
        (EXTRUSION, ["anchor", "raise", "hold", "measure_again", "trim", "definitive"]),
    ],
)
def test_the_steps_in_order_a_planned_core_first(name: RouteName, steps: list[str]) -> None:
    """No definitive line before the settled margin is measured; consent to bone before any flap."""
    told = [s.key.removeprefix("plan.step.") for s in staged(route(name), tooth())]
    assert told == steps
    with_core = tooth(facts=tooth_facts({"core": {"planned": True}}))
    assert [s.key for s in staged(route(name), with_core)][0] == "plan.step.core"
    assert staged(without_lines(name), tooth()) == ()
    assert staged(route(name, "not needed"), tooth()) == ()


@pytest.mark.parametrize(
    ("name", "number", "shown", "weeks"),
    [
        (WITHOUT, 45, False, 0),
        (SOFT, 45, False, 4),
        (SOFT, 44, True, 4),
        (SOFT, 43, False, 6),
        (SOFT, 11, True, 6),
        (BONE, 45, False, 12),
        (BONE, 11, False, 12),
        (BONE, 11, True, 26),
        (BONE, 24, True, 26),
    ],
)
def test_how_long_the_margin_settles(name: RouteName, number: int, shown: bool, weeks: float) -> None:
    """Back teeth 4, front teeth 6 weeks after soft tissue; 12 after bone, 26 where it shows; each with its reason."""
    which = tooth(number, shown=shown)
    assert weeks_to_final(route(name), which) == weeks
    told = timing(route(name), which)
    assert len(told) == (weeks > 0)
    for one in told:
        assert one.reason.parameters["weeks"] == weeks
        assert one.evidence.startswith("healing.wait.")
        assert one.step == ("definitive_finish_line_visible" if weeks == 26 else "definitive_finish_line")


@pytest.mark.parametrize(("raised_mm", "moving_weeks"), [(0.4, 1), (2.0, 2), (2.1, 3)])
def test_a_raised_tooth_moves_a_millimetre_a_week_and_is_held_for_eight(raised_mm: float, moving_weeks: int) -> None:
    (told,) = timing(route(EXTRUSION, raised_mm=raised_mm), tooth())
    assert told.weeks == moving_weeks + 8
    assert (told.reason.parameters["moving_weeks"], told.reason.parameters["holding_weeks"]) == (moving_weeks, 8)


@pytest.mark.parametrize(
    ("name", "cut_mm", "count"),
    [(WITHOUT, 0.0, 0), (SOFT, -1.0, 1), (BONE, -1.0, 1), (EXTRUSION, 0.0, 1), (EXTRUSION, -0.05, 1), (EXTRUSION, -0.06, 2)],
)
def test_operations_before_the_restoration(name: RouteName, cut_mm: float, count: int) -> None:
    """Fibres are cut while a tooth is raised; trimming the gum afterwards is a second operation."""
    assert operations(route(name, cut_mm=cut_mm)) == count
    assert operations(without_lines(name)) == 0
    assert weeks_to_final(without_lines(name), tooth()) is None


@pytest.mark.parametrize("name", [SOFT, BONE, EXTRUSION])
def test_the_provisional_ends_half_a_millimetre_short_of_the_cut_edge(name: RouteName) -> None:
    raised = 1.0 if name == EXTRUSION else 0.0
    made = route(name, raised_mm=raised, settled_mm=-0.8 - raised)
    assert provisional_mm(made) == pytest.approx(np.full(36, -1.0 - raised + 0.5))
    order = provisional(route(name))
    assert [s.key.removeprefix("plan.provisional.") for s in order] == ["margin", "cleansable", "ruler"]
    assert order[0].parameters["short_mm"] == 0.5


def test_the_provisional_never_ends_under_its_own_finish_line() -> None:
    assert provisional_mm(route(SOFT, finish_mm=-0.2)) == pytest.approx(np.full(36, -0.2))
    assert provisional_mm(route(SOFT, finish_mm=-0.7)) == pytest.approx(np.full(36, -0.5))


def test_where_nothing_is_cut_there_is_no_wound_to_stay_clear_of() -> None:
    assert provisional_mm(route(WITHOUT, cut_mm=0.0)) is None
    assert provisional(route(WITHOUT, cut_mm=0.0)) == ()
    assert provisional(without_lines(SOFT)) == ()


@pytest.mark.parametrize(
    ("cut_mm", "finish_mm", "settled_mm", "interim_mm_"),
    [(-1.0, -1.2, -0.8, -0.8), (-1.0, -0.5, -0.8, -0.5), (-1.0, -1.5, -1.2, -1.0)],
    ids=["at the settled margin", "at the line, which is higher", "never under the fresh margin"],
)
def test_the_interim_line_lies_at_or_coronal_of_the_settled_margin(
    cut_mm: float, finish_mm: float, settled_mm: float, interim_mm_: float
) -> None:
    found = interim_mm(route(SOFT, cut_mm=cut_mm, finish_mm=finish_mm, settled_mm=settled_mm))
    assert found == pytest.approx(np.full(36, interim_mm_))
    assert interim_mm(without_lines(SOFT)) is None


def advice(which: Tooth, phenotype: str = "thick") -> list[str]:
    prepared = drawn_neck(case_of(which, phenotype), 10)
    wishes = wishes_of(which, prepared.inputs.thickness_mm, EVIDENCE, deep_sulcus=False)
    return [s.key.removeprefix("plan.trough.") for s in trough(route(SOFT), prepared, wishes)]


IN_THE_SULCUS = Restoration(finish=FinishWish(position="in the sulcus", mm=0.5, low_mm=-0.5, high_mm=0.0))
AT_THE_MARGIN = Restoration(finish=FinishWish(position="at the margin", mm=0.0, low_mm=0.0, high_mm=0.5))


def test_a_trough_is_only_for_a_line_in_the_sulcus() -> None:
    assert advice(tooth(), "thin") != ["not_needed"]  # no wish: the sulcus is allowed
    assert advice(replace(tooth(), restoration=AT_THE_MARGIN)) == ["not_needed"]
    assert advice(replace(tooth(), restoration=IN_THE_SULCUS)) == ["when", "depth"]


@pytest.mark.parametrize(
    ("changes", "phenotype", "warning"),
    [
        ({}, "thin", "thin"),
        ({"bleeding": frozenset({"F"})}, "thick", "bleeding"),
        ({"facts": tooth_facts({"implant_beside": True})}, "thick", "metal"),
        ({"facts": tooth_facts({"metal": {"F": True}})}, "thick", "metal"),
    ],
)
def test_where_a_trough_harms_it_is_warned_of(changes: dict[str, Any], phenotype: str, warning: str) -> None:
    which = replace(healthy_premolar(**changes), restoration=IN_THE_SULCUS)
    assert advice(which, phenotype) == ["when", "depth", warning]

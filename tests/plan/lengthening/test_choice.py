"""What is recommended of the routes, why, and what closes them where none is open."""

from dataclasses import replace
from types import SimpleNamespace
from typing import Any

import numpy as np
import pytest

from collum.core.ring import STATIONS
from collum.plan.lengthening.choice.choice import recommended
from collum.plan.lengthening.findings import Closing
from collum.plan.lengthening.grounds import Ground, GroundId, LeastChange
from collum.plan.lengthening.procedures.procedure import Treatment
from collum.plan.lengthening.procedures.registry import procedure_of
from collum.plan.lengthening.route import Route, closed_route
from collum.plan.sentence import Sentence
from collum.vocabulary import ROUTES, Verdict
from collum.wire.plan.choice_sentences import because, closings


def routes(*verdicts: Verdict, joint: tuple[float | None, ...] = (0.5, 0.5, 0.5, 0.5), lines: bool = True) -> list[Route]:
    """The four routes in their order; what is not closed offers lines unless told otherwise."""
    made = []
    for name, verdict, chance in zip(ROUTES, verdicts, joint, strict=True):
        if verdict == "closed":
            made.append(closed_route(name, closing("ankylosis")))
            continue
        route = Route(name=name, verdict=verdict)
        plan: Any = None
        if lines:
            row = SimpleNamespace(verdict=verdict)
            assessment = SimpleNamespace(joint_probability=chance, graded={"ferrule": row})
            plan = SimpleNamespace(
                assessment=assessment, treatment=Treatment(procedure=procedure_of(name), bone_mm=np.ones(STATIONS))
            )
        short = closed_route(name, closing("mobility")).closed_by if verdict == "short" else None
        made.append(replace(route, plan=plan, closed_by=short))
    return made


def closing(ground: GroundId) -> Closing:
    return Closing(kind="restorable_tooth", ground=Ground(id=ground), least_change=LeastChange(id="vertical_root_fracture"))


def name_of(route: Route | None) -> str | None:
    return None if route is None else route.name


@pytest.mark.parametrize(
    ("verdicts", "place"),
    [
        (("kept", "kept", "kept", "kept"), 0),
        (("in doubt", "kept", "kept", "kept"), 1),
        (("short", "in doubt", "kept", "kept"), 2),
        (("short", "closed", "in doubt", "kept"), 3),
        (("short", "not needed", "short", "short"), 1),
        (("in doubt", "not needed", "short", "kept"), 3),
    ],
)
def test_the_least_burdensome_kept_route_comes_before_every_other(verdicts: tuple[Verdict, ...], place: int) -> None:
    """One that needs nothing only where none is kept; doubt only where there is neither."""
    assert name_of(recommended(routes(*verdicts))) == ROUTES[place]


@pytest.mark.parametrize(
    ("joint", "place"),
    [((0.2, 0.7, 0.4, 0.1), 1), ((0.8, 0.7, 0.4, 0.1), 0), ((0.2, None, 0.1, 0.3), 3), ((0.4, 0.4, 0.4, 0.4), 0)],
)
def test_of_doubtful_routes_the_one_with_the_highest_joint_chance(joint: tuple[float | None, ...], place: int) -> None:
    """Of equals the lesser route; a chance that is not known counts as none."""
    made = routes("in doubt", "in doubt", "in doubt", "in doubt", joint=joint)
    assert name_of(recommended(made)) == ROUTES[place]
    assert because(made, str).key == "plan.recommended.in_doubt"


def test_a_short_closed_or_unread_route_is_never_recommended() -> None:
    assert recommended(routes("short", "closed", "not assessed", "short")) is None
    assert recommended(routes("in doubt", "short", "kept", "short", lines=False)) is None  # nothing is offered


@pytest.mark.parametrize(
    ("verdicts", "key"),
    [
        (("kept", "short", "short", "short"), "kept.restore_without_lengthening"),
        (("short", "kept", "short", "short"), "kept.soft_tissue_only"),
        (("short", "short", "kept", "short"), "kept.soft_tissue_and_bone"),
        (("short", "short", "short", "kept"), "kept.extrusion_first"),
        (("short", "not needed", "short", "short"), "not_needed"),
        (("short", "short", "not assessed", "short"), "not_assessed"),
        (("short", "short", "closed", "short"), "none"),
    ],
)
def test_why_is_said(verdicts: tuple[Verdict, ...], key: str) -> None:
    assert because(routes(*verdicts), str).key == f"plan.recommended.{key}"


@pytest.mark.parametrize("one", ["kept", "in doubt", "not needed", "not assessed"])
def test_nothing_is_a_last_resort_while_one_route_is_open_or_unread(one: Verdict) -> None:
    assert closings(routes("short", "closed", one, "short"), words) == ((), False)


def test_one_fact_that_closes_all_is_said_once() -> None:
    made = [closed_route(name, closing("vertical_root_fracture")) for name in ROUTES]
    said, alike = closings(made, words)
    assert [s.key for s in said] == ["plan.last_resort.every_route"] and alike
    assert said[0].parameters["reason"] == "<plan.closing.vertical_root_fracture>"


def test_facts_that_differ_are_said_route_by_route() -> None:
    said, alike = closings(routes("short", "closed", "short", "short"), words)
    assert [s.key for s in said] == [
        "plan.last_resort.restore_without_lengthening",
        "plan.last_resort.soft_tissue_only",
        "plan.last_resort.soft_tissue_and_bone",
        "plan.last_resort.extrusion_first",
    ]
    assert not alike
    assert said[1].parameters["reason"] != said[0].parameters["reason"]


def words(sentence: Sentence) -> str:
    return f"<{sentence.key}>"


def test_a_flap_that_takes_no_bone_is_not_told_as_bone_surgery() -> None:
    made = routes("short", "short", "kept", "short")
    plan: Any = SimpleNamespace(
        assessment=made[2].plan.assessment, treatment=Treatment(procedure=procedure_of("soft tissue and bone"))
    )  # type: ignore[union-attr]  # it has one
    made[2] = replace(made[2], plan=plan)
    assert because(made, str).key == "plan.recommended.kept.flap_without_bone"


def failing(place: int, *verdicts: Verdict) -> list[Route]:
    """The four routes with one that failed."""
    made = routes(*verdicts)
    made[place] = replace(made[place], verdict="not assessed", plan=None, fault_id="id-1")
    return made


@pytest.mark.parametrize(
    ("verdicts", "place", "name"),
    [
        (("short", "kept", "not needed", "not needed"), 0, None),
        (("kept", "short", "short", "short"), 1, "restore without lengthening"),
        (("short", "short", "kept", "kept"), 3, "soft tissue and bone"),
        (("short", "short", "in doubt", "short"), 3, None),
        (("short", "short", "short", "short"), 2, None),
    ],
)
def test_nothing_is_recommended_instead_of_a_route_that_failed(
    verdicts: tuple[Verdict, ...], place: int, name: str | None
) -> None:
    made = failing(place, *verdicts)
    assert name_of(recommended(made)) == name
    assert (because(made, str).key == "plan.recommended.failed") == (name is None)
    assert closings(made, str) == ((), False)

"""Planned teeth for tests of heat and pacing."""

from dataclasses import replace
from functools import lru_cache
from typing import Any

import numpy as np

from collum.case.model import Tooth
from collum.plan import PlannedTooth
from collum.plan.heat.neck import CutNeck, cut_neck
from collum.plan.lengthening.planned import PlannedRoute
from tests.making.teeth import overgrown_premolar
from tests.measuring.planned import planned_of, with_flat_level, with_routes, with_tooth

DRAWS = 300
with_level = with_flat_level


def planned(**changes: Any) -> tuple[Tooth, PlannedTooth]:
    """An overgrown lower premolar with its plan; changes are fields of the tooth."""
    return overgrown_premolar(**changes), _plan_of()


@lru_cache(maxsize=1)
def _plan_of() -> PlannedTooth:
    return planned_of(overgrown_premolar(), DRAWS)


def with_cut(plan: PlannedTooth, depth_mm: list[float], **route: Any) -> PlannedTooth:
    """The plan with another cut on the route of soft tissue alone: depths below the margin, (36,)."""
    depth = np.array(depth_mm)
    heights = plan.draws.margin_mm - depth

    def cut(one: PlannedRoute) -> PlannedRoute:
        if one.name != "soft tissue only":
            return one
        assert one.lines is not None
        lines = replace(one.lines, cut_mm=heights, outer_cut_mm=heights - 1, cut=depth > 0.05)
        return replace(one, **{"lines": lines, "verdict": "kept", **route})

    return with_routes(plan, cut)


def with_flat_margin(plan: PlannedTooth) -> PlannedTooth:
    """The plan with its margin at one height, 0, so that distances of whole millimetres are exact."""
    return replace(plan, draws=replace(plan.draws, margin_mm=np.zeros(36)))


def neck_of(plan: PlannedTooth, tooth: Tooth | None = None) -> CutNeck:
    """The neck with the cut of that route; `tooth`: another record of the same neck."""
    route = plan.route("soft tissue only")
    assert route is not None and route.lines is not None
    return cut_neck(plan if tooth is None else with_tooth(plan, tooth), route.lines)

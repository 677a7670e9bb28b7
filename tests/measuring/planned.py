"""Planned teeth for tests of what is judged on them, and the same teeth with something changed."""

from collections.abc import Callable
from dataclasses import replace

import numpy as np

from collum.app.plans.planning import Planner
from collum.case.model import Tooth
from collum.core.ring import Floats
from collum.plan import PlannedTooth
from collum.plan.lengthening.levels.draws import Level
from collum.plan.lengthening.planned import PlannedLines, PlannedRoute
from collum.plan.lengthening.requirements.assessment import assess
from collum.plan.lengthening.requirements.rules import wishes_of
from collum.plan.lengthening.tooth_plan import deep_sulcus
from tests.making.teeth import case_of


def planned_of(tooth: Tooth, draws: int = 200) -> PlannedTooth:
    """Return the plan of a case of one tooth."""
    return Planner(draws).planned(case_of(tooth)).teeth[0]


def with_tooth(planned: PlannedTooth, tooth: Tooth) -> PlannedTooth:
    """Return the plan as it would be for another record of the tooth that has the same readings of the neck."""
    draws = replace(planned.draws, inputs=replace(planned.draws.inputs, tooth=tooth))
    wishes = wishes_of(tooth, draws.inputs.thickness_mm, draws.evidence, deep_sulcus=deep_sulcus(draws))
    return replace(planned, draws=draws, wishes=wishes)


def with_routes(planned: PlannedTooth, change: Callable[[PlannedRoute], PlannedRoute]) -> PlannedTooth:
    """Return the plan with every route changed."""
    return replace(planned, routes=tuple(change(route) for route in planned.routes))


def with_lines(planned: PlannedTooth, change: Callable[[PlannedLines], PlannedLines]) -> PlannedTooth:
    """Return the plan with the lines of every route changed that offers any, and judged anew on the same draws."""

    def changed(route: PlannedRoute) -> PlannedRoute:
        if route.lines is None or route.wishes is None:
            return route
        lines = change(route.lines)
        zero = planned.draws.margin_mm - lines.treatment.extruded_mm
        found = assess(planned.after(lines), route.wishes, lines.cut_mm - zero, lines.finish_mm - zero, lines.treatment)
        return replace(route, lines=lines, graded=found.graded, missing=found.missing)

    return with_routes(planned, changed)


def with_flat_level(planned: PlannedTooth, level: str, below_margin_mm: float) -> PlannedTooth:
    """Return the plan with a level this far below the margin all round, without doubt."""
    flat: Floats = np.full(planned.draws.margin_mm.shape, -below_margin_mm)
    levels = {**planned.draws.levels, level: Level(mean=flat, sd=0 * flat, p05=flat, p95=flat)}
    return replace(planned, draws=replace(planned.draws, levels=levels))

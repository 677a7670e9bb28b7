"""The plan of one tooth as restoration, bridge and heat take it: draws and lines before anything is rounded, and no words.

Lines are heights in the tooth frame, (36,), coronal positive. [mm]
"""

from collections.abc import Mapping
from dataclasses import dataclass

import numpy as np

from collum.case.model import Tooth
from collum.core.ring import Floats
from collum.plan.lengthening.choice.choice import recommendation
from collum.plan.lengthening.course import weeks_to_final
from collum.plan.lengthening.findings import Findings
from collum.plan.lengthening.grounds import Concessions, Doubt, Ground
from collum.plan.lengthening.levels.prepared import Prepared
from collum.plan.lengthening.procedures.lines import RoutePlan
from collum.plan.lengthening.procedures.procedure import Procedure, Treatment, after, is_cut
from collum.plan.lengthening.procedures.registry import procedure_of
from collum.plan.lengthening.requirements.verdict import Graded
from collum.plan.lengthening.route import Route
from collum.plan.lengthening.tooth_plan import ToothPlan
from collum.plan.lengthening.wishes import Wishes
from collum.vocabulary import RouteName, Verdict


@dataclass(frozen=True, slots=True, kw_only=True)
class PlannedLines:
    """Cut, outer start of its bevel and finish line of a route, with what the route does to the neck.

    `cut` (36,) bool: stations at which the cut is deep enough to be one.
    """

    cut_mm: Floats
    outer_cut_mm: Floats
    finish_mm: Floats
    cut: np.ndarray
    treatment: Treatment


@dataclass(frozen=True, slots=True, kw_only=True)
class PlannedRoute:
    """One route of a tooth. `lines` is None where it offers none; `wishes` are those it leaves after its `concessions`.

    `graded` has None for a requirement that does not apply; `missing` names what a requirement lacks. `ground`: why it is
    closed or short.
    """

    procedure: Procedure
    verdict: Verdict
    lines: PlannedLines | None
    wishes: Wishes | None
    graded: Mapping[str, Graded | None]
    missing: Mapping[str, str]
    concessions: Concessions
    ground: Ground | None
    doubts: tuple[Doubt, ...]
    earliest_final_weeks: float | None

    @property
    def name(self) -> RouteName:
        return self.procedure.id


@dataclass(frozen=True, slots=True, kw_only=True)
class PlannedTooth:
    """One tooth with the draws before any procedure; `routes` in the order of their burden. [mm]

    `arc_mm` (36,) is the way along the neck from facial to each station.
    """

    draws: Prepared
    wishes: Wishes
    findings: Findings
    routes: tuple[PlannedRoute, ...]
    recommended: RouteName | None
    arc_mm: Floats
    perimeter_mm: float

    @property
    def tooth(self) -> Tooth:
        return self.draws.inputs.tooth

    def route(self, name: RouteName) -> PlannedRoute | None:
        """Return one route; None where it was not planned."""
        return next((route for route in self.routes if route.name == name), None)

    def after(self, lines: PlannedLines) -> Prepared:
        """Return the draws as the treatment of a route leaves the neck."""
        return after(self.draws, lines.treatment)


def planned_tooth(plan: ToothPlan) -> PlannedTooth:
    """Return what the other plans take from the plan of a tooth."""
    best = recommendation(plan.routes, plan.prepared.inputs.tooth, plan.prepared.limits).route
    return PlannedTooth(
        draws=plan.prepared,
        wishes=plan.wishes,
        findings=plan.findings,
        routes=tuple(_route(plan, route) for route in plan.routes),
        recommended=None if best is None else best.name,
        arc_mm=plan.arc_mm,
        perimeter_mm=plan.perimeter_mm,
    )


def planned_lines(plan: ToothPlan, lines: RoutePlan) -> PlannedLines:
    """Return the lines of a route in the tooth frame. Only a cut with current is bevelled."""
    zero = plan.prepared.margin_mm - lines.treatment.extruded_mm
    bevel = plan.wishes.bevel_mm if lines.treatment.procedure.cuts_by_current else 0
    cut = is_cut(lines.cut_mm, lines.limits)
    return PlannedLines(
        cut_mm=lines.cut_mm + zero,
        outer_cut_mm=np.where(cut, lines.cut_mm - bevel, lines.cut_mm) + zero,
        finish_mm=lines.finish_mm + zero,
        cut=cut,
        treatment=lines.treatment,
    )


def _route(plan: ToothPlan, route: Route) -> PlannedRoute:
    lines = route.plan
    return PlannedRoute(
        procedure=procedure_of(route.name),
        verdict=route.verdict,
        lines=None if lines is None else planned_lines(plan, lines),
        wishes=None if lines is None else lines.wishes,
        graded={} if lines is None else lines.assessment.graded,
        missing={} if lines is None else lines.assessment.missing,
        concessions=route.concessions,
        ground=None if route.closed_by is None or route.verdict == "in doubt" else route.closed_by.ground,
        doubts=route.doubts,
        earliest_final_weeks=weeks_to_final(route, plan.prepared.inputs.tooth),
    )

"""The procedure *extrusion first*: the tooth is raised against its crest, then the gum is trimmed where it has to be.

The crest stays where it is only with repeated cutting of the fibres or rapid movement; then crest and margin come to lie
further apical along the tooth by the same amount, and seen from the margin the sound edge rises. First the least movement that
gives the ferrule its room with full reserve, in closed form; then the lines as for soft tissue.
"""

from dataclasses import replace

import numpy as np

from collum.case.model import Tooth
from collum.core.ring import Floats
from collum.evidence.handed import Evidence, PlanLimits
from collum.plan.lengthening.levels.prepared import Prepared, thinned
from collum.plan.lengthening.procedures.lines import (
    STEER_BY_EVERY,
    RoutePlan,
    best_try,
    clear_lines,
    judge_as_printed,
    keeps_clear_of_bone,
    with_less_cut,
)
from collum.plan.lengthening.procedures.procedure import Procedure, Timing, Treatment, after, room_found_mm
from collum.plan.lengthening.requirements.assessment import least_of
from collum.plan.lengthening.solver.bounds import Bounds, bounds_of, programme_of
from collum.plan.lengthening.solver.programme import Programme
from collum.plan.lengthening.solver.site_depths import PrintedCut
from collum.plan.lengthening.wishes import Wishes
from collum.plan.printed import PRINTED_DECIMALS
from collum.plan.sentence import say


class Extrusion(Procedure):
    """The tooth is raised by orthodontic force; what gum covers it then is trimmed by current."""

    id = "extrusion first"
    option = "extrusion"
    safety_procedures = ("movement",)
    acts = ("movement",)
    instruments = ("current", "scalpel")
    burden = 6
    visits = "plan.price.visits.extrusion"
    cuts_by_current = True
    raises_tooth = True
    way = "extrusion"
    steps = ("anchor", "raise", "hold", "measure_again", "trim", "definitive")

    def plan(self, prepared: Prepared, wishes: Wishes, *, returns_whole: bool, arc_mm: float) -> RoutePlan:
        """Return the least movement with its lines and verdicts."""
        few = thinned(prepared, STEER_BY_EVERY)
        high = Treatment(
            procedure=self,
            returns_whole=returns_whole,
            extruded_mm=prepared.limits.extrusion_most_mm,
            loaded=wishes.loaded,
        )
        bounds = bounds_of(after(few, high), wishes, high)

        def programme_on(moved: Prepared, treatment: Treatment, factors: dict[str, float]) -> Programme:
            return programme_of(moved, wishes, bounds_of(moved, wishes, treatment), factors, treatment, arc_mm=arc_mm)

        def tried(factors: dict[str, float]) -> tuple[tuple[Treatment, dict[str, float]], dict[str, Floats]]:
            treatment = replace(
                high, extruded_mm=round(_least_extrusion_mm(bounds, factors, prepared.limits), PRINTED_DECIMALS)
            )
            moved = after(few, treatment)
            lines = PrintedCut(programme_on(moved, treatment, factors)).needed()
            return (treatment, factors), least_of(moved, wishes, lines.cut_mm, lines.finish_mm, treatment)

        treatment, factors = best_try(tried, wishes, prepared.limits)
        moved = after(prepared, treatment)
        # On the mean of all draws the tooth does not come up by quite what it does in a part.
        printed = PrintedCut(programme_on(moved, treatment, factors))
        lines = with_less_cut(after(few, treatment), wishes, treatment, printed, printed.needed())
        if not keeps_clear_of_bone(moved, wishes, lines, treatment):
            lines = clear_lines(moved, wishes, treatment, arc_mm=arc_mm)
        return judge_as_printed(moved, wishes, lines, treatment)

    def after(self, prepared: Prepared, treatment: Treatment) -> Prepared:
        """Return the neck with the tooth raised until its sound edge is as planned above the crest where the load is.

        So it comes up by a different amount in every draw, with the error of measuring it.
        """
        if treatment.extruded_mm == 0:
            return prepared
        raised, whole = _raised_mm(prepared, treatment), prepared.whole
        return replace(
            prepared,
            sound_edge_mm=None if prepared.sound_edge_mm is None else prepared.sound_edge_mm + raised,
            cej_mm=None if prepared.cej_mm is None else prepared.cej_mm + raised,
            lowered_mm=raised[None, :],
            whole=None if whole is None else replace(whole, sound_edge_mm=whole.sound_edge_mm + raised.mean()),
        )

    def timing(self, tooth: Tooth, treatment: Treatment, evidence: Evidence) -> tuple[Timing, ...]:
        """Return how long the tooth moves and is held."""
        moving = float(np.ceil(treatment.extruded_mm * evidence.healing.extrusion_weeks_per_mm))
        holding = "healing.extrusion.holding_weeks"
        still = evidence.values[holding]
        reason = say("plan.timing.extrusion", moving_weeks=moving, holding_weeks=still)
        return (Timing(step="extrusion_and_holding", weeks=moving + still, reason=reason, evidence=holding),)

    def visits_of(self, treatment: Treatment, evidence: Evidence) -> int:
        """Return the visits with one for each cutting of the fibres while the tooth moves."""
        moving_weeks = float(np.ceil(treatment.extruded_mm * evidence.healing.extrusion_weeks_per_mm))
        return super().visits_of(treatment, evidence) + round(moving_weeks)

    def operations(self, *, trimmed: bool) -> int:
        """Return one for the fibres, and one more where gum is trimmed afterwards."""
        return 1 + trimmed


def _least_extrusion_mm(bounds: Bounds, factors: dict[str, float], limits: PlanLimits) -> float:
    """Return the movement that gives the ferrule its room with full reserve wherever it has to stand.

    `bounds` are those of the greatest movement; what it leaves over is not needed.
    """
    most = limits.extrusion_most_mm
    lowest: Floats = np.max([b.mean_mm + b.reserve_mm(factors, limits) for b in bounds.lower], axis=0)
    ferrule = next((bound for bound in bounds.upper if bound.rule == "ferrule"), None)
    if ferrule is None:
        return 0
    room = ferrule.mean_mm - ferrule.reserve_mm(factors, limits) - lowest
    return float(np.clip(most - room.min(), 0, most))


def _raised_mm(prepared: Prepared, treatment: Treatment) -> Floats:
    """Return (n,) how far the tooth is raised in every draw: by what the loaded sectors are found to need, on their mean."""
    found = room_found_mm(prepared)
    if found.size == 1:
        return np.full(prepared.draws, treatment.extruded_mm)
    error = prepared.limits.extrusion_measuring_sd_mm * prepared.root.surgery
    return np.asarray(np.maximum(treatment.extruded_mm - found[treatment.loaded].mean(axis=0) + error, 0))


EXTRUSION = Extrusion()

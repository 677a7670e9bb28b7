"""The route *extrusion first*: the tooth is raised against its crest, then the gum is trimmed where it has to be.

The crest stays where it is only with repeated cutting of the fibres or rapid movement; then crest and margin come to lie
further apical along the tooth by the same amount, and seen from the margin the sound edge rises. First the least movement that
gives the ferrule its room with full reserve, in closed form; then the lines as for soft tissue.
"""

from dataclasses import replace

import numpy as np

from collum.core.ring import Floats
from collum.evidence import value
from collum.plan.document import PRINTED_DECIMALS
from collum.plan.lengthening.levels.prepared import Prepared, thinned
from collum.plan.lengthening.procedures.act import Act, after
from collum.plan.lengthening.procedures.soft_tissue import (
    STEER_BY_EVERY,
    RoutePlan,
    as_printed,
    best_try,
    clear_lines,
    judge_lines,
)
from collum.plan.lengthening.requirements.requirements import clear_of_bone, least_of
from collum.plan.lengthening.solver.bounds import Bounds, bounds_of, programme_of
from collum.plan.lengthening.solver.programme import Lines, solve
from collum.plan.lengthening.wishes import Wishes


def plan_extrusion(prepared: Prepared, wishes: Wishes, *, returns_whole: bool, arc_mm: float) -> RoutePlan:
    """Return the least movement with its lines and verdicts; `prepared` is the neck before."""
    few = thinned(prepared, STEER_BY_EVERY)
    high = Act(
        route="extrusion first",
        returns_whole=returns_whole,
        extruded_mm=value("plan.extrusion_most_mm"),
        loaded=wishes.loaded,
    )
    bounds = bounds_of(after(few, high), wishes, high)

    def lines_on(moved: Prepared, act: Act, factors: dict[str, float]) -> Lines:
        return solve(programme_of(moved, wishes, bounds_of(moved, wishes, act), factors, act, arc_mm=arc_mm))

    def tried(factors: dict[str, float]) -> tuple[tuple[Act, dict[str, float]], dict[str, Floats]]:
        act = replace(high, extruded_mm=round(_least_extrusion_mm(bounds, factors), PRINTED_DECIMALS))
        moved = after(few, act)
        lines = lines_on(moved, act, factors)
        return (act, factors), least_of(moved, wishes, lines.cut_mm, lines.finish_mm, act)

    act, factors = best_try(tried, wishes)
    moved = after(prepared, act)
    lines = lines_on(moved, act, factors)  # on the mean of all draws the tooth does not come up by quite what it does in a part
    if not clear_of_bone(moved, wishes, lines.cut_mm):
        lines = clear_lines(moved, wishes, act, arc_mm=arc_mm)
    zero = prepared.margin_mm - act.extruded_mm
    cut, finish = (as_printed(line, zero) for line in (lines.cut_mm, lines.finish_mm))
    return judge_lines(moved, wishes, np.minimum(cut, 0), finish, act, lines=lines)


def _least_extrusion_mm(bounds: Bounds, factors: dict[str, float]) -> float:
    """Return the movement that gives the ferrule its room with full reserve wherever it has to stand.

    `bounds` are those of the greatest movement; what it leaves over is not needed.
    """
    most = value("plan.extrusion_most_mm")
    lowest: Floats = np.max([b.mean_mm + b.reserve_mm(factors) for b in bounds.lower], axis=0)
    ferrule = next((bound for bound in bounds.upper if bound.rule == "ferrule"), None)
    if ferrule is None:
        return 0
    room = ferrule.mean_mm - ferrule.reserve_mm(factors) - lowest
    return float(np.clip(most - room.min(), 0, most))

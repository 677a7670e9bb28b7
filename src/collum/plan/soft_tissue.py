"""The route *soft tissue only*: solve, simulate, judge.

The programme works on means and reserves, the simulation on draws with the exact law. Where the simulation falls short of the
confidence asked, the reserve of that rule is raised and the programme solved again, at most twice; of the tries the one whose worst
rule stands best is kept, the first among equals; what still misses is reported by the verdict.
"""

from dataclasses import dataclass

import numpy as np
from scipy.special import ndtri

from collum.case.model import site_angle_deg
from collum.core.ring import STATIONS, Floats, bump
from collum.core.ring import STATIONS_DEG as _DEG
from collum.evidence import value
from collum.plan.prepared import Prepared
from collum.plan.programme import Lines, Programme, Row, solve
from collum.plan.requirements import Assessment, assess, clearance_mm, nearest_station
from collum.plan.wishes import Rule, Wishes

_REPEATS = 2


@dataclass(frozen=True, slots=True, kw_only=True)
class RoutePlan:
    """Lines of the route with their assessment. `lines` is None where the lines came from outside (a moved line)."""

    cut_mm: Floats
    finish_mm: Floats
    assessment: Assessment
    lines: Lines | None


def plan_soft_tissue(prepared: Prepared, wishes: Wishes, *, arc_mm: float, returns_whole: bool) -> RoutePlan:
    """Return the least burdensome lines of the route and their verdicts."""
    factors: dict[str, float] = {}
    tried: list[RoutePlan] = []
    for _ in range(_REPEATS + 1):
        programme = soft_tissue_programme(prepared, wishes, factors, arc_mm=arc_mm, returns_whole=returns_whole)
        lines = solve(programme)
        assessment = assess(prepared, wishes, lines.cut_mm, lines.finish_mm, returns_whole=returns_whole)
        tried.append(RoutePlan(cut_mm=lines.cut_mm, finish_mm=lines.finish_mm, assessment=assessment, lines=lines))
        raised = _raised(assessment, wishes, factors)
        if raised == factors:
            break
        factors = raised
    return max(tried, key=lambda plan: _least_margin(plan.assessment, wishes))


def judge_lines(
    prepared: Prepared, wishes: Wishes, cut_mm: Floats, finish_mm: Floats, *, returns_whole: bool
) -> RoutePlan:
    """Return the verdicts of lines given from outside; the same numbers as `plan_soft_tissue` for the same lines."""
    assessment = assess(prepared, wishes, cut_mm, finish_mm, returns_whole=returns_whole)
    return RoutePlan(cut_mm=cut_mm, finish_mm=finish_mm, assessment=assessment, lines=None)


def bent(line_mm: Floats, station: int, height_mm: float, ceiling_mm: float | None) -> Floats:
    """Return the line moved smoothly so that it passes through `height_mm` at `station`; kept below `ceiling_mm` if given."""
    moved = line_mm + (height_mm - line_mm[station]) * bump(_DEG, float(_DEG[station]))
    if ceiling_mm is not None:
        moved = np.minimum(moved, ceiling_mm)
    return np.asarray(moved)


def soft_tissue_programme(
    prepared: Prepared, wishes: Wishes, factors: dict[str, float], *, arc_mm: float, returns_whole: bool
) -> Programme:
    """Return the programme; `factors` multiply the reserve of a rule (1 where absent)."""
    base = value("plan.reserve_factor")

    def reserve(rule: str, quantile: float, draws_mm: Floats) -> Floats:
        return np.asarray(base * factors.get(rule, 1) * quantile * draws_mm.std(axis=1))

    lowest = -clearance_mm(prepared, wishes)
    rest = np.minimum(prepared.own_height_mm - prepared.crest_depth_mm, 0)
    if returns_whole:
        rest = np.zeros_like(rest)
    definitive = wishes.rule("definitive_finish_line")
    lower = (
        _row("clear_of_crest", lowest, reserve("clear_of_crest", wishes.rule("clear_of_crest").quantile, lowest)),
        _row(
            "definitive_finish_line",
            rest + wishes.low_mm,
            reserve("definitive_finish_line", definitive.quantile, rest),
        ),
    )
    upper: list[Row] = []
    if prepared.sound_edge_mm is not None:
        rule = wishes.rule("ferrule")
        room = prepared.sound_edge_mm - rule.limit_mm
        upper.append(_row("ferrule", room, reserve("ferrule", rule.quantile, room)))
    if prepared.occlusal_edge_mm is not None:
        rule = wishes.rule("preparation_height")
        needed = max(rule.limit_mm, wishes.rule("ferrule").limit_mm)
        room = prepared.occlusal_edge_mm - wishes.reduction_mm - needed
        upper.append(_row("preparation_height", room, reserve("preparation_height", rule.quantile, room)))
    held = prepared.inputs.tooth.held
    return Programme(
        cut_low_mm=_cut_low(prepared, wishes, factors),
        lower=lower,
        upper=tuple(upper),
        gap_low_mm=wishes.low_mm,
        aim_mm=rest.mean(axis=1) + _wished_place(wishes),
        margin_mm=prepared.margin_mm,
        arc_mm=arc_mm,
        held_cut={nearest_station(site_angle_deg(site)): mm for site, mm in held.cut.items()},
        held_finish={nearest_station(site_angle_deg(site)): mm for site, mm in held.finish.items()},
    )


def _cut_low(prepared: Prepared, wishes: Wishes, factors: dict[str, float]) -> Floats:
    """Return (36,) the deepest cut that keeps attachment, bone and keratinised tissue with reserve; 0 where none does."""
    base = value("plan.reserve_factor")

    def low(rule_name: str, floor_mm: Floats, factor: float) -> Floats:
        rule: Rule = wishes.rule(rule_name)
        spread = factor * factors.get(rule_name, 1) * rule.quantile * floor_mm.std(axis=1)
        return np.asarray(floor_mm.mean(axis=1) + rule.limit_mm + spread)

    bounds = [
        low("no_attachment_cut", -prepared.sulcus_mm, base),
        low("clear_of_bone", -prepared.crest_depth_mm, 1) + wishes.bevel_mm,
    ]
    if prepared.mucogingival_mm is not None:
        keratinised = low("keratinised_tissue_left", prepared.mucogingival_mm, base) + wishes.bevel_mm
        bounds.append(np.where(prepared.inputs.keratinised_exempt, -np.inf, keratinised))
    return np.minimum(np.max(bounds, axis=0), 0)


def _wished_place(wishes: Wishes) -> float:
    """Return where in its allowed range the finish line is aimed, relative to the settled margin. [mm]"""
    if wishes.high_mm is None:
        return max(wishes.low_mm, 0)
    return (wishes.low_mm + wishes.high_mm) / 2


def _row(rule: str, bound_mm: Floats, reserve_mm: Floats) -> Row:
    return Row(rule=rule, mean_mm=bound_mm.mean(axis=1), reserve_mm=reserve_mm)


def _raised(assessment: Assessment, wishes: Wishes, factors: dict[str, float]) -> dict[str, float]:
    """Return the factors for another solve: raised for each rule that missed its confidence in the simulation.

    A rule that had its whole reserve gets more of it; where the reserves compete, the balance moves towards the rule that misses.
    """
    draws = assessment.settled_mm.shape[1]
    raised = dict(factors)
    for name, graded in assessment.graded.items():
        if graded is None:
            continue
        rule = wishes.rule(name)
        error = np.sqrt(rule.confidence * (1 - rule.confidence) / draws)
        if graded.probability >= rule.confidence - 2 * error:
            continue
        shortfall = rule.quantile - float(ndtri(max(graded.probability, 1 / draws)))
        step = 1 + value("plan.reserve_factor_step") * shortfall
        raised[name] = factors.get(name, 1) * min(step, value("plan.reserve_factor_most"))
    return raised


def _least_margin(assessment: Assessment, wishes: Wishes) -> float:
    """Return how far the worst rule lies over (or under) its confidence, in normal quantiles; equal once all are kept."""
    draws = assessment.settled_mm.shape[1]
    over = [
        float(ndtri(np.clip(graded.probability, 1 / draws, 1 - 1 / draws))) - wishes.rule(name).quantile
        for name, graded in assessment.graded.items()
        if graded is not None
    ]
    return min(min(over), 0) if over else 0

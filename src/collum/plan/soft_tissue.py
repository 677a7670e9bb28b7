"""The route *soft tissue only*: solve, simulate, judge.

The programme works on means and reserves, the simulation on draws with the exact law. Where the simulation falls short of
the confidence asked, the reserve of that rule is raised and the programme solved again, at most twice; of the tries the one
whose worst rule stands best is kept, the first among equals; what still misses is reported by the verdict.
"""

from dataclasses import dataclass, replace

import numpy as np
from scipy.special import ndtri

from collum.case.model import site_angle_deg
from collum.core.ring import STATIONS_DEG, Floats, bump
from collum.evidence import value
from collum.plan.prepared import Prepared, thinned
from collum.plan.programme import Lines, Programme, Row, solve
from collum.plan.requirements import Assessment, assess, clearance_mm, nearest_station
from collum.plan.wishes import Rule, Wishes

PRINTED_DECIMALS = 6
_REPEATS = 2
_STEER_BY_EVERY = 4


@dataclass(frozen=True, slots=True, kw_only=True)
class RoutePlan:
    """Lines of the route with their assessment. `lines` is None where the lines came from outside (a moved line)."""

    cut_mm: Floats
    finish_mm: Floats
    assessment: Assessment
    lines: Lines | None


def plan_soft_tissue(prepared: Prepared, wishes: Wishes, *, arc_mm: float, returns_whole: bool) -> RoutePlan:
    """Return the least burdensome lines of the route and their verdicts."""
    lines = _best_lines(prepared, wishes, arc_mm=arc_mm, returns_whole=returns_whole)
    cut, finish = (as_printed(line, prepared.margin_mm) for line in (lines.cut_mm, lines.finish_mm))
    cut = np.minimum(cut, 0)
    assessment = assess(prepared, wishes, cut, finish, returns_whole=returns_whole)
    return RoutePlan(cut_mm=cut, finish_mm=finish, assessment=assessment, lines=lines)


def _best_lines(prepared: Prepared, wishes: Wishes, *, arc_mm: float, returns_whole: bool) -> Lines:
    """Return the lines of the try whose worst rule stands best.

    The tries are compared on a quarter of the draws, which is enough to steer by; the verdict itself always takes all.
    """
    few = thinned(prepared, _STEER_BY_EVERY)
    bounds = bounds_of(prepared, wishes, returns_whole=returns_whole)
    factors: dict[str, float] = {}
    tried: list[tuple[float, Lines]] = []
    for _ in range(_REPEATS + 1):
        lines = solve(programme_of(prepared, wishes, bounds, factors, arc_mm=arc_mm))
        assessment = assess(few, wishes, lines.cut_mm, lines.finish_mm, returns_whole=returns_whole)
        tried.append((_least_margin(assessment, wishes), lines))
        raised = _raised(assessment, wishes, factors)
        if raised == factors:
            break
        factors = raised
    return max(tried, key=lambda pair: pair[0])[1]


def judge_lines(prepared: Prepared, wishes: Wishes, cut_mm: Floats, finish_mm: Floats, *, returns_whole: bool) -> RoutePlan:
    """Return the verdicts of lines given from outside; the same numbers as `plan_soft_tissue` for the same lines."""
    assessment = assess(prepared, wishes, cut_mm, finish_mm, returns_whole=returns_whole)
    return RoutePlan(cut_mm=cut_mm, finish_mm=finish_mm, assessment=assessment, lines=None)


def as_printed(line_mm: Floats, margin_mm: Floats) -> Floats:
    """Return a line as its heights in the tooth frame are printed, so that judging the printed line gives the same numbers."""
    return np.array([round(float(height), PRINTED_DECIMALS) for height in line_mm + margin_mm]) - margin_mm


def bent(line_mm: Floats, station: int, height_mm: float, ceiling_mm: float | None) -> Floats:
    """Return the line moved smoothly so that it passes through `height_mm` at `station`; kept below `ceiling_mm` if given."""
    moved = line_mm + (height_mm - line_mm[station]) * bump(STATIONS_DEG, float(STATIONS_DEG[station]))
    if ceiling_mm is not None:
        moved = np.minimum(moved, ceiling_mm)
    return np.asarray(moved)


@dataclass(frozen=True, slots=True, kw_only=True)
class Bound:
    """A bound on a line before its reserve: mean (36,) and spread (36,) over the draws, and the quantile asked. [mm]"""

    rule: str
    mean_mm: Floats
    sd_mm: Floats
    quantile: float
    widened: bool = True  # the factor for a rule that has to hold all round applies

    def reserve_mm(self, factors: dict[str, float]) -> Floats:
        base = value("plan.reserve_factor") if self.widened else 1
        return base * factors.get(self.rule, 1) * self.quantile * self.sd_mm


@dataclass(frozen=True, slots=True, kw_only=True)
class Bounds:
    """All bounds of the route, worked out of the draws once; the repeats change only the factors on their reserves."""

    cut: tuple[Bound, ...]
    lower: tuple[Bound, ...]
    upper: tuple[Bound, ...]
    rest_mm: Floats


def bounds_of(prepared: Prepared, wishes: Wishes, *, returns_whole: bool) -> Bounds:
    """Return the bounds on cut and finish line."""
    lowest = -clearance_mm(prepared, wishes)
    rest = np.minimum(prepared.own_height_mm - prepared.crest_depth_mm, 0)
    if returns_whole:
        rest = np.zeros_like(rest)
    upper = []
    if prepared.sound_edge_mm is not None:
        rule = wishes.rule("ferrule")
        upper.append(_bound("ferrule", prepared.sound_edge_mm, -rule.limit_mm, rule))
    if prepared.occlusal_edge_mm is not None:
        rule = wishes.rule("preparation_height")
        needed = max(rule.limit_mm, wishes.rule("ferrule").limit_mm)
        upper.append(_bound("preparation_height", prepared.occlusal_edge_mm, wishes.top_mm - needed, rule))
    return Bounds(
        cut=_cut_bounds(prepared, wishes),
        lower=(
            _bound("clear_of_crest", lowest, 0, wishes.rule("clear_of_crest")),
            _bound("definitive_finish_line", rest, wishes.low_mm, wishes.rule("definitive_finish_line")),
        ),
        upper=tuple(upper),
        rest_mm=rest.mean(axis=1),
    )


def programme_of(prepared: Prepared, wishes: Wishes, bounds: Bounds, factors: dict[str, float], *, arc_mm: float) -> Programme:
    """Return the programme; `factors` multiply the reserve of a rule (1 where absent)."""
    held = prepared.inputs.tooth.held
    deepest = np.max([b.mean_mm + b.reserve_mm(factors) for b in bounds.cut], axis=0)
    return Programme(
        cut_low_mm=np.minimum(deepest, 0),
        lower=tuple(_row(b, factors) for b in bounds.lower),
        upper=tuple(_row(b, factors) for b in bounds.upper),
        gap_low_mm=wishes.low_mm,
        gap_reserve_mm=_gap_reserve_mm(wishes, factors),
        aim_mm=bounds.rest_mm + _wished_place(wishes),
        margin_mm=prepared.margin_mm,
        arc_mm=arc_mm,
        held_cut={nearest_station(site_angle_deg(site)): mm for site, mm in held.cut.items()},
        held_finish={nearest_station(site_angle_deg(site)): mm for site, mm in held.finish.items()},
    )


def _cut_bounds(prepared: Prepared, wishes: Wishes) -> tuple[Bound, ...]:
    """Return how deep attachment, bone and keratinised tissue allow the inner end of the cut to go."""

    def bound(name: str, floor_mm: Floats, above_mm: Floats | float) -> Bound:
        rule = wishes.rule(name)
        return _bound(name, floor_mm, rule.limit_mm + above_mm, rule)

    bounds = [
        bound("no_attachment_cut", -prepared.sulcus_mm, 0),
        replace(bound("clear_of_bone", -prepared.crest_depth_mm, wishes.bevel_mm), widened=False),
    ]
    if prepared.mucogingival_mm is not None:
        keratinised = bound("keratinised_tissue_left", prepared.mucogingival_mm, wishes.bevel_mm)
        exempt = prepared.inputs.keratinised_exempt
        bounds.append(replace(keratinised, mean_mm=np.where(exempt, -np.inf, keratinised.mean_mm)))
    return tuple(bounds)


def _bound(name: str, draws_mm: Floats, above_mm: Floats | float, rule: Rule) -> Bound:
    return Bound(rule=name, mean_mm=draws_mm.mean(axis=1) + above_mm, sd_mm=draws_mm.std(axis=1), quantile=rule.quantile)


def _row(bound: Bound, factors: dict[str, float]) -> Row:
    return Row(rule=bound.rule, mean_mm=bound.mean_mm, reserve_mm=bound.reserve_mm(factors))


def _gap_reserve_mm(wishes: Wishes, factors: dict[str, float]) -> float:
    """Return the reserve for what a margin cut above the own height moves by chance."""
    rule = "definitive_finish_line"
    factor = value("plan.reserve_factor") * factors.get(rule, 1)
    return factor * wishes.rule(rule).quantile * value("healing.residual_mm")


def _wished_place(wishes: Wishes) -> float:
    """Return where in its allowed range the finish line is aimed, relative to the settled margin. [mm]"""
    if wishes.high_mm is None:
        return max(wishes.low_mm, 0)
    return (wishes.low_mm + wishes.high_mm) / 2


def _raised(assessment: Assessment, wishes: Wishes, factors: dict[str, float]) -> dict[str, float]:
    """Return the factors for another solve: raised for each rule that missed its confidence in the simulation.

    A rule that had its whole reserve gets more of it; where the reserves compete, the balance moves towards the rule that
    misses.
    """
    draws = assessment.settled_mm.shape[1]
    raised = dict(factors)
    for name, graded in assessment.graded.items():
        if graded is None:
            continue
        rule = wishes.rule(name)
        if graded.probability >= rule.confidence:
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

"""Bounds of the route *soft tissue only* on cut and finish line, worked out of the draws, and the programme made of them."""

from dataclasses import dataclass, replace

import numpy as np

from collum.case.model import site_angle_deg
from collum.core.ring import Floats
from collum.evidence import value
from collum.plan.prepared import Prepared
from collum.plan.programme import Programme, Row
from collum.plan.requirements import clearance_mm, nearest_station
from collum.plan.wishes import Rule, Wishes


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


def with_hard_bone(prepared: Prepared, wishes: Wishes, bounds: Bounds) -> Bounds:
    """Return the bounds with the one of bone strict enough all round, for a cut that came too near to it in the draws.

    Its quantile is then that of the highest crest of a draw, in spreads over the mean, anywhere round the neck: a cut that
    keeps the bound at every station keeps its distance all round in the share of draws that the confidence asks.
    """
    rule = wishes.rule("clear_of_bone")
    crest = -prepared.crest_depth_mm
    spread = np.maximum(crest.std(axis=1), np.finfo(float).eps)
    highest = ((crest - crest.mean(axis=1, keepdims=True)) / spread[:, None]).max(axis=0)
    at_all = float(np.quantile(highest, rule.confidence, method="higher"))
    room = 2 * value("plan.solver.slack_room_mm")
    cut = tuple(
        replace(bound, mean_mm=bound.mean_mm + room, quantile=at_all) if bound.rule == "clear_of_bone" else bound
        for bound in bounds.cut
    )
    return replace(bounds, cut=cut)


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

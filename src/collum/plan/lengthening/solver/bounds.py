"""Bounds of a route without bone work on cut and finish line, worked out of the draws, and the programme made of them."""

from dataclasses import dataclass, replace

import numpy as np

from collum.case.model import Held, site_angle_deg
from collum.core.crown.form import height_for_half_wall_mm
from collum.core.ring import STATIONS, Floats
from collum.evidence import value
from collum.plan.lengthening.levels.prepared import Prepared
from collum.plan.lengthening.procedures.act import Act
from collum.plan.lengthening.requirements.requirements import clearance_mm, height_stations, line_moves_mm, nearest_station
from collum.plan.lengthening.requirements.support import FAR_MM, entrances_mm, resisting_bases_mm
from collum.plan.lengthening.solver.programme import Programme, Row
from collum.plan.lengthening.wishes import Rule, Wishes


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


def bounds_of(prepared: Prepared, wishes: Wishes, act: Act) -> Bounds:
    """Return the bounds on cut and finish line; `prepared` is the neck after the act."""
    rest = np.minimum(prepared.own_height_mm - prepared.crest_depth_mm, 0)
    if act.returns_whole or not act.cuts:
        rest = np.zeros_like(rest)
    moves = line_moves_mm(prepared)
    settled = _bound("definitive_finish_line", rest - moves, wishes.low_mm, wishes.rule("definitive_finish_line"))
    lowest = _bound("clear_of_crest", -clearance_mm(prepared, wishes) - moves, 0, wishes.rule("clear_of_crest"))
    return Bounds(
        cut=_cut_bounds(prepared, wishes) if act.cuts else (_no_cut(),),
        lower=(lowest, settled, *(() if act.moves_crest else furcation_bounds(prepared, wishes))),
        upper=upper_bounds(prepared, wishes, act),
        rest_mm=rest.mean(axis=1),
    )


def furcation_bounds(prepared: Prepared, wishes: Wishes) -> tuple[Bound, ...]:
    """Return how low the furcation allows the finish line to lie; none for a tooth with one root."""
    entrances = entrances_mm(prepared)
    if not entrances:
        return ()
    rule = wishes.rule("furcation")
    mean, spread = np.full(STATIONS, -float(FAR_MM)), np.zeros(STATIONS)
    for station, entrance in entrances.items():
        mean[station], spread[station] = entrance.mean() + rule.limit, entrance.std()
    return (Bound(rule="furcation", mean_mm=mean, sd_mm=spread, quantile=rule.quantile),)


def upper_bounds(prepared: Prepared, wishes: Wishes, act: Act) -> tuple[Bound, ...]:
    """Return how high ferrule, height and resistance of the preparation allow the finish line to lie."""
    upper = []
    moves = line_moves_mm(prepared)
    room = 2 * value("plan.solver.slack_room_mm")  # a line placed from the sound edge has no doubt that would hide the solver's
    if prepared.sound_edge_mm is not None:
        rule = wishes.rule("ferrule")
        upper.append(_bound("ferrule", prepared.sound_edge_mm - moves, -wishes.ferrule_mm - room, rule))
    if prepared.occlusal_edge_mm is not None:
        rule = wishes.rule("preparation_height")
        edge = prepared.occlusal_edge_mm - moves
        height = _bound("preparation_height", edge, wishes.top_mm - rule.limit, rule)
        capped = _bound("ferrule", edge, wishes.top_mm - wishes.ferrule_mm, rule)
        read = height_stations(prepared)
        upper += [
            replace(height, mean_mm=np.where(read, height.mean_mm, float(FAR_MM))),
            capped,
            _resistance_bound(edge, wishes, act),
        ]
    return tuple(upper)


def _resistance_bound(edge_mm: Floats, wishes: Wishes, act: Act) -> Bound:
    mean, spread = np.full(STATIONS, float(FAR_MM)), np.zeros(STATIONS)
    for station, base_mm in resisting_bases_mm(wishes, act).items():
        top = edge_mm[station] + wishes.top_mm
        mean[station] = top.mean() - height_for_half_wall_mm(base_mm, wishes.convergence_deg)
        spread[station] = top.std()
    return Bound(rule="resistance", mean_mm=mean, sd_mm=spread, quantile=wishes.rule("resistance").quantile)


def _no_cut() -> Bound:
    return Bound(rule="clear_of_bone", mean_mm=np.zeros(STATIONS), sd_mm=np.zeros(STATIONS), quantile=0)


def programme_of(
    prepared: Prepared, wishes: Wishes, bounds: Bounds, factors: dict[str, float], act: Act, *, arc_mm: float
) -> Programme:
    """Return the programme; `factors` multiply the reserve of a rule (1 where absent). Handles hold on soft tissue only."""
    held = prepared.inputs.tooth.held if act.route == "soft tissue only" else Held()
    guards = [b.mean_mm + b.reserve_mm(factors) for b in bounds.cut if b.rule == "clear_of_bone"]
    return Programme(
        cut_low_mm=np.minimum(np.max(guards, axis=0), 0),
        cut=tuple(row_of(b, factors) for b in bounds.cut if b.rule != "clear_of_bone"),
        lower=tuple(row_of(b, factors) for b in bounds.lower),
        upper=tuple(row_of(b, factors) for b in bounds.upper),
        gap_low_mm=wishes.low_mm,
        gap_reserve_mm=_gap_reserve_mm(prepared, wishes, factors),
        aim_mm=bounds.rest_mm + wished_place_mm(wishes),
        margin_mm=prepared.margin_mm,
        arc_mm=arc_mm,
        held_cut={nearest_station(site_angle_deg(site)): mm for site, mm in held.cut.items()},
        held_finish={nearest_station(site_angle_deg(site)): mm for site, mm in held.finish.items()},
    )


def _cut_bounds(prepared: Prepared, wishes: Wishes) -> tuple[Bound, ...]:
    """Return how deep attachment, bone and keratinised tissue allow the inner end of the cut to go."""

    def bound(name: str, floor_mm: Floats, above_mm: Floats | float) -> Bound:
        rule = wishes.rule(name)
        return _bound(name, floor_mm, rule.limit + above_mm, rule)

    bounds = [
        bound("no_attachment_cut", -prepared.sulcus_mm, 0),
        replace(bound("clear_of_bone", -prepared.crest_depth_mm, wishes.bevel_mm), widened=False),
    ]
    if prepared.mucogingival_mm is not None:
        keratinised = bound("keratinised_tissue_left", prepared.mucogingival_mm, wishes.bevel_mm)
        exempt = prepared.inputs.keratinised_exempt
        bounds.append(replace(keratinised, mean_mm=np.where(exempt, -np.inf, keratinised.mean_mm)))
    return tuple(bounds)


def near_bone(prepared: Prepared, wishes: Wishes, cut_mm: Floats) -> np.ndarray:
    """Return (36,) bool: the stations whose cut could come too near to bone, by the doubt of the crest."""
    crest = -prepared.crest_depth_mm
    room = cut_mm - wishes.bevel_mm - wishes.rule("clear_of_bone").limit - crest.mean(axis=1)
    return np.asarray(room < value("plan.near_bone_spreads") * crest.std(axis=1))


def with_hard_bone(prepared: Prepared, wishes: Wishes, bounds: Bounds, near: np.ndarray) -> Bounds:
    """Return the bounds with the one of bone strict enough all round, for a cut that came too near to it in the draws.

    A cut that keeps the bound at every one of the stations `near` (36,) keeps its distance at all of them in the share of
    draws that the confidence asks.
    """
    at_all = quantile_all_round(-prepared.crest_depth_mm[near], wishes.rule("clear_of_bone").confidence)
    room = 2 * value("plan.solver.slack_room_mm")
    cut = tuple(
        replace(bound, mean_mm=bound.mean_mm + room, quantile=at_all) if bound.rule == "clear_of_bone" else bound
        for bound in bounds.cut
    )
    return replace(bounds, cut=cut)


def quantile_all_round(draws_mm: Floats, confidence: float) -> float:
    """Return how many spreads over its mean the highest station of a draw (36, n) stays under in the share asked."""
    mean = draws_mm.mean(axis=1, keepdims=True)
    spread = np.maximum(draws_mm.std(axis=1, keepdims=True), np.finfo(float).eps)
    highest = ((draws_mm - mean) / spread).max(axis=0)
    return float(np.quantile(highest, confidence, method="higher"))


def _bound(name: str, draws_mm: Floats, above_mm: Floats | float, rule: Rule) -> Bound:
    return Bound(rule=name, mean_mm=draws_mm.mean(axis=1) + above_mm, sd_mm=draws_mm.std(axis=1), quantile=rule.quantile)


def row_of(bound: Bound, factors: dict[str, float]) -> Row:
    """Return the row of a bound with its whole reserve."""
    return Row(rule=bound.rule, mean_mm=bound.mean_mm, reserve_mm=bound.reserve_mm(factors))


def _gap_reserve_mm(prepared: Prepared, wishes: Wishes, factors: dict[str, float]) -> float:
    """Return the reserve for what a margin cut above the own height moves by chance."""
    rule = "definitive_finish_line"
    factor = value("plan.reserve_factor") * factors.get(rule, 1)
    return factor * wishes.rule(rule).quantile * prepared.evidence.healing.residual_mm


def wished_place_mm(wishes: Wishes) -> float:
    """Return where in its allowed range the finish line is aimed, relative to the settled margin. [mm]"""
    if wishes.high_mm is None:
        return max(wishes.low_mm, 0)
    return (wishes.low_mm + wishes.high_mm) / 2

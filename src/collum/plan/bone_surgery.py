"""The route *soft tissue and bone*: a flap, bone taken with other instruments, the margin sutured; solve, simulate, judge.

Between the least share of the way back and its forecast stand two bounds on the settled margin: the affine law and the
greatest recession; both are kept. What lies at unloaded sides beyond the arc that a ferrule needs is not paid for in bone.
"""

from dataclasses import replace

import numpy as np

from collum.core.healing import phenotype_shift_mm, return_share_bone
from collum.core.ring import QUARTER_DEG, STATIONS, STATIONS_DEG, Floats, proximal_weight
from collum.evidence import value
from collum.plan.act import Act, after
from collum.plan.bone_programme import BoneLines, BoneProgramme, MovingRow, solve_bone
from collum.plan.bounds import (
    Bound,
    clear_of_crest_bound,
    furcation_bounds,
    quantile_all_round,
    row_of,
    upper_bounds,
    wished_place_mm,
)
from collum.plan.prepared import Prepared, thinned
from collum.plan.programme import Row
from collum.plan.requirements import Assessment, assess
from collum.plan.soft_tissue import STEER_BY_EVERY, RoutePlan, as_printed, best_try, judge_lines
from collum.plan.support import crown_to_root_draws, entrances_mm
from collum.plan.verdict import spared_by_arc
from collum.plan.wishes import Wishes

_FAR_MM = 100


def plan_bone_surgery(prepared: Prepared, wishes: Wishes, *, returns_whole: bool, arc_mm: float) -> RoutePlan:
    """Return the least burdensome bone surgery and its verdicts; `prepared` is the neck before."""
    few = thinned(prepared, STEER_BY_EVERY)
    before = Act(route="soft tissue and bone", returns_whole=returns_whole)
    bounds = _bounds(prepared, wishes, before)

    def tried(factors: dict[str, float]) -> tuple[BoneLines, Assessment]:
        lines = solve_bone(_programme(prepared, wishes, bounds, factors, before, arc_mm))
        act = replace(before, bone_mm=lines.bone_mm)
        return lines, assess(after(few, act), wishes, lines.cut_mm, lines.finish_mm, act)

    lines = best_try(tried, wishes)
    bone = np.where(lines.bone_mm < value("plan.least_bone_mm"), 0, lines.bone_mm)
    act = replace(before, bone_mm=as_printed(bone, np.zeros(STATIONS)))
    cut, finish = (as_printed(line, prepared.margin_mm) for line in (lines.cut_mm, lines.finish_mm))
    return judge_lines(after(prepared, act), wishes, np.minimum(cut, 0), finish, act)


def _bounds(prepared: Prepared, wishes: Wishes, act: Act) -> tuple[tuple[Bound, ...], tuple[Bound, ...], tuple[Bound, ...]]:
    """Return the bounds on f from below (crest, settled margin, recession, furcation), from above, and those on bone."""
    share = return_share_bone(STATIONS_DEG)
    rule = wishes.rule("definitive_finish_line")
    forecast = share[:, None] * (prepared.own_height_mm - prepared.crest_depth_mm)
    forecast += phenotype_shift_mm(prepared.inputs.phenotype) + value("healing.residual_mm") * prepared.regrowth.noise
    settled = Bound(
        rule="definitive_finish_line",
        mean_mm=forecast.mean(axis=1) + wishes.low_mm,
        sd_mm=forecast.std(axis=1),
        quantile=rule.quantile,
    )
    receded = Bound(
        rule="definitive_finish_line",
        mean_mm=np.full(STATIONS, wishes.low_mm - value("healing.largest_recession_mm")),
        sd_mm=np.full(STATIONS, value("healing.residual_mm")),
        quantile=rule.quantile,
    )
    lower = (clear_of_crest_bound(prepared, wishes), settled, receded, *furcation_bounds(prepared, wishes, act))
    return lower, upper_bounds(prepared, wishes, act), _support_bounds(prepared, wishes, act)


def _support_bounds(prepared: Prepared, wishes: Wishes, act: Act) -> tuple[Bound, ...]:
    """Return how much bone may go at each station before the furcation lies bare."""
    entrances = entrances_mm(prepared, act)
    if not entrances:
        return ()
    mean, spread = np.full(STATIONS, float(_FAR_MM)), np.zeros(STATIONS)
    for station, entrance in entrances.items():
        over = -prepared.crest_depth_mm[station] - entrance
        mean[station], spread[station] = over.mean(), over.std()
    return (Bound(rule="furcation", mean_mm=mean, sd_mm=spread, quantile=wishes.rule("furcation").quantile, widened=False),)


def _programme(
    prepared: Prepared,
    wishes: Wishes,
    bounds: tuple[tuple[Bound, ...], tuple[Bound, ...], tuple[Bound, ...]],
    factors: dict[str, float],
    act: Act,
    arc_mm: float,
) -> BoneProgramme:
    crest_bound, settled, receded, *furcation = (row_of(bound, factors) for bound in bounds[0])
    share = return_share_bone(STATIONS_DEG)
    still, whole = np.zeros(STATIONS), np.ones(STATIONS)
    lower = (
        MovingRow(row=crest_bound, on_cut=still, on_bone=whole),
        MovingRow(row=settled, on_cut=1 - share, on_bone=share),
        MovingRow(row=receded, on_cut=whole, on_bone=still),
        *(MovingRow(row=row, on_cut=still, on_bone=still) for row in furcation),
    )
    crest = -prepared.crest_depth_mm
    rule = wishes.rule("clear_of_bone")
    bone_reserve = quantile_all_round(crest, rule.confidence) * crest.std(axis=1) + 2 * value("plan.solver.slack_room_mm")
    aim = settled.mean_mm - wishes.low_mm + wished_place_mm(wishes)
    return BoneProgramme(
        cut_low_mm=np.minimum(crest.mean(axis=1) + rule.limit + bone_reserve, 0),
        lower=lower,
        upper=_spared(tuple(row_of(b, factors) for b in bounds[1]), lower, wishes),
        support=tuple(row_of(b, factors) for b in bounds[2]),
        mean_bone_mm=_most_bone_between_mm(prepared, wishes, act),
        aim=MovingRow(row=Row(rule="definitive_finish_line", mean_mm=aim, reserve_mm=still), on_cut=1 - share, on_bone=share),
        crest_mm=crest.mean(axis=1) + prepared.margin_mm,
        margin_mm=prepared.margin_mm,
        arc_mm=arc_mm,
        beside_neighbour=_beside_neighbour(prepared),
    )


def _spared(upper: tuple[Row, ...], lower: tuple[MovingRow, ...], wishes: Wishes) -> tuple[Row, ...]:
    """Return the rows from above, without a ferrule (but on sound tooth) at the unloaded stations that need bone most."""
    limit = wishes.rule("ferrule").limit
    room = {row.rule: row.mean_mm - lower[0].row.mean_mm for row in upper if row.rule == "ferrule"}
    spared = {name: spared_by_arc(room_mm, wishes.loaded) for name, room_mm in room.items()}
    return tuple(
        replace(row, mean_mm=row.mean_mm + np.where(spared[row.rule], limit, 0)) if row.rule in spared else row for row in upper
    )


def _most_bone_between_mm(prepared: Prepared, wishes: Wishes, act: Act) -> float:
    """Return how much bone may go between the teeth before crown-to-root passes its limit, at the means; much if not known."""
    ratios = crown_to_root_draws(prepared, wishes, act)
    if ratios is None:
        return float(_FAR_MM)
    limit = wishes.rule("crown_to_root").limit
    ratio = float(np.mean([np.median(r) for r in ratios.values()]))
    crown = float(np.mean(_outside_mm(prepared, wishes)))
    return (limit * crown / ratio - crown) / (1 + limit) if ratio > 0 else float(_FAR_MM)


def _outside_mm(prepared: Prepared, wishes: Wishes) -> Floats:
    assert prepared.occlusal_edge_mm is not None
    edge = prepared.occlusal_edge_mm.mean(axis=1) + wishes.top_mm + wishes.reduction_mm
    between = [STATIONS // 4, 3 * STATIONS // 4]
    return np.asarray((edge + prepared.crest_depth_mm.mean(axis=1))[between])


def _beside_neighbour(prepared: Prepared) -> Floats:
    """Return (36,) how far a station's bone is the neighbour's too: 1 between the teeth, 0 in the middle of a side."""
    neighbours = prepared.inputs.neighbours
    mesial = STATIONS_DEG < 2 * QUARTER_DEG
    held = np.where(mesial, neighbours.mesial, neighbours.distal)
    return np.asarray(proximal_weight(STATIONS_DEG) * held)

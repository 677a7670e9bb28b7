"""The route *soft tissue and bone*: a flap, bone taken with other instruments, the margin sutured; solve, simulate, judge.

Between the least share of the way back and its forecast stand two bounds on the settled margin: the affine law and the
greatest recession; both are kept.
"""

from dataclasses import replace

import numpy as np

from collum.core.healing import phenotype_shift_mm, return_share_bone
from collum.core.ring import QUARTER_DEG, STATIONS, STATIONS_DEG, Floats, proximal_weight
from collum.evidence import value
from collum.plan.lengthening.levels.prepared import Prepared, thinned
from collum.plan.lengthening.procedures.act import Act, after
from collum.plan.lengthening.procedures.soft_tissue import STEER_BY_EVERY, RoutePlan, as_printed, best_try, judge_lines
from collum.plan.lengthening.requirements.requirements import clearance_mm, least_of
from collum.plan.lengthening.requirements.support import FAR_MM, crown_to_root_draws, entrances_mm
from collum.plan.lengthening.solver.bone_programme import BoneLines, BoneProgramme, MovingRow, solve_bone
from collum.plan.lengthening.solver.bounds import (
    Bound,
    furcation_bounds,
    quantile_all_round,
    row_of,
    upper_bounds,
    wished_place_mm,
)
from collum.plan.lengthening.solver.programme import Row
from collum.plan.lengthening.wishes import Wishes


def plan_bone_surgery(prepared: Prepared, wishes: Wishes, *, returns_whole: bool, arc_mm: float) -> RoutePlan:
    """Return the least burdensome bone surgery and its verdicts; `prepared` is the neck before.

    The sutured margin keeps its distance to bone by what is measured at the open flap; where that is not enough all round, by
    the doubt of the soundings.
    """
    plan = _planned(prepared, wishes, returns_whole=returns_whole, arc_mm=arc_mm, strict=False)
    bone = plan.assessment.graded.get("clear_of_bone")
    if bone is None or bone.verdict == "kept":
        return plan
    return _planned(prepared, wishes, returns_whole=returns_whole, arc_mm=arc_mm, strict=True)


def _planned(prepared: Prepared, wishes: Wishes, *, returns_whole: bool, arc_mm: float, strict: bool) -> RoutePlan:
    few = thinned(prepared, STEER_BY_EVERY)
    before = Act(route="soft tissue and bone", returns_whole=returns_whole)
    bounds = _bounds(prepared, wishes, before)
    guard = _guard_mm(prepared, wishes, strict=strict)

    def tried(factors: dict[str, float]) -> tuple[BoneLines, dict[str, Floats]]:
        lines = solve_bone(_programme(prepared, wishes, bounds, guard, factors, arc_mm))
        act = _act(before, lines)
        return lines, least_of(after(few, act), wishes, lines.cut_mm, lines.finish_mm, act)

    lines = best_try(tried, wishes)
    act = _act(before, lines)
    cut, finish = (as_printed(line, prepared.margin_mm) for line in (lines.cut_mm, lines.finish_mm))
    return judge_lines(after(prepared, act), wishes, np.minimum(cut, 0), finish, act)


def _act(before: Act, lines: BoneLines) -> Act:
    bone = np.where(lines.bone_mm < value("plan.least_bone_mm"), 0, lines.bone_mm)
    return replace(before, bone_mm=as_printed(bone, np.zeros(STATIONS)))


def _guard_mm(prepared: Prepared, wishes: Wishes, *, strict: bool) -> Floats:
    """Return (36,) how low the margin may be sutured before bone is taken; `strict`: by the doubt of the soundings."""
    crest = -prepared.crest_depth_mm
    rule = wishes.rule("clear_of_bone")
    reserve: Floats | float = rule.quantile * value("plan.surgery.measuring_sd_mm")
    if strict:
        reserve = quantile_all_round(crest, rule.confidence) * crest.std(axis=1) + 2 * value("plan.solver.slack_room_mm")
    return np.asarray(np.minimum(crest.mean(axis=1) + rule.limit + reserve, 0))


def _bounds(prepared: Prepared, wishes: Wishes, act: Act) -> tuple[tuple[Bound, ...], tuple[Bound, ...], tuple[Bound, ...]]:
    """Return the bounds on f from below (crest, settled margin, recession, furcation), from above, and those on bone."""
    law = prepared.evidence.healing
    share = return_share_bone(STATIONS_DEG, law)
    rule = wishes.rule("definitive_finish_line")
    measuring = value("plan.surgery.measuring_sd_mm")
    crest = -prepared.crest_depth_mm.mean(axis=1)
    healing = share[:, None] * prepared.own_height_mm + law.residual_mm * prepared.regrowth.noise
    settled = Bound(
        rule="definitive_finish_line",
        mean_mm=share * crest + healing.mean(axis=1) + phenotype_shift_mm(prepared.inputs.phenotype, law) + wishes.low_mm,
        sd_mm=np.hypot(healing.std(axis=1), share * measuring),
        quantile=rule.quantile,
    )
    need = prepared.crest_depth_mm - clearance_mm(prepared, wishes)
    clear = wishes.rule("clear_of_crest")
    lowest = Bound(
        rule="clear_of_crest",
        mean_mm=crest + need.mean(axis=1),
        sd_mm=np.hypot(need.std(axis=1), measuring),
        quantile=clear.quantile,
    )
    receded = Bound(
        rule="definitive_finish_line",
        mean_mm=np.full(STATIONS, wishes.low_mm - law.largest_recession_mm),
        sd_mm=np.full(STATIONS, law.residual_mm),
        quantile=rule.quantile,
    )
    lower = (lowest, settled, receded, *furcation_bounds(prepared, wishes))
    return lower, upper_bounds(prepared, wishes, act), _support_bounds(prepared, wishes)


def _support_bounds(prepared: Prepared, wishes: Wishes) -> tuple[Bound, ...]:
    """Return how much bone may go at each station before the furcation lies bare."""
    entrances = entrances_mm(prepared)
    if not entrances:
        return ()
    mean, spread = np.full(STATIONS, float(FAR_MM)), np.zeros(STATIONS)
    for station, entrance in entrances.items():
        over = -prepared.crest_depth_mm[station] - entrance
        mean[station], spread[station] = over.mean(), over.std()
    return (Bound(rule="furcation", mean_mm=mean, sd_mm=spread, quantile=wishes.rule("furcation").quantile, widened=False),)


def _programme(
    prepared: Prepared,
    wishes: Wishes,
    bounds: tuple[tuple[Bound, ...], tuple[Bound, ...], tuple[Bound, ...]],
    guard_mm: Floats,
    factors: dict[str, float],
    arc_mm: float,
) -> BoneProgramme:
    crest_bound, settled, receded, *furcation = (row_of(bound, factors) for bound in bounds[0])
    share = return_share_bone(STATIONS_DEG, prepared.evidence.healing)
    still, whole = np.zeros(STATIONS), np.ones(STATIONS)
    lower = (
        MovingRow(row=crest_bound, on_cut=still, on_bone=whole),
        MovingRow(row=settled, on_cut=1 - share, on_bone=share),
        MovingRow(row=receded, on_cut=whole, on_bone=still),
        *(MovingRow(row=row, on_cut=still, on_bone=still, supports=True) for row in furcation),
    )
    aim = settled.mean_mm - wishes.low_mm + wished_place_mm(wishes)
    return BoneProgramme(
        cut_low_mm=guard_mm,
        lower=lower,
        upper=tuple(row_of(b, factors) for b in bounds[1]),
        support=tuple(row_of(b, factors) for b in bounds[2]),
        mean_bone_mm=_most_bone_between_mm(prepared, wishes),
        aim=MovingRow(row=Row(rule="definitive_finish_line", mean_mm=aim, reserve_mm=still), on_cut=1 - share, on_bone=share),
        crest_mm=prepared.margin_mm - prepared.crest_depth_mm.mean(axis=1),
        margin_mm=prepared.margin_mm,
        arc_mm=arc_mm,
        beside_neighbour=_beside_neighbour(prepared),
    )


def _most_bone_between_mm(prepared: Prepared, wishes: Wishes) -> float:
    """Return how much bone may go between the teeth before crown-to-root passes its limit, at the means; much if not known."""
    ratios = crown_to_root_draws(prepared, wishes)
    if ratios is None:
        return float(FAR_MM)
    limit = wishes.rule("crown_to_root").limit
    ratio = float(np.mean([np.median(r) for r in ratios.values()]))
    crown = float(np.mean(_outside_mm(prepared, wishes)))
    return (limit * crown / ratio - crown) / (1 + limit) if ratio > 0 else float(FAR_MM)


def _outside_mm(prepared: Prepared, wishes: Wishes) -> Floats:
    assert prepared.occlusal_edge_mm is not None
    edge = prepared.occlusal_edge_mm.mean(axis=1) + wishes.top_mm + wishes.reduction_mm
    between = [STATIONS // 4, 3 * STATIONS // 4]
    return np.asarray((edge + prepared.crest_depth_mm.mean(axis=1))[between])


def _beside_neighbour(prepared: Prepared) -> Floats:
    """Return (36,) how far a station's bone is the neighbour's too: 1 between the teeth, 0 in the middle of a side."""
    neighbours = prepared.inputs.levels.neighbours
    mesial = STATIONS_DEG < 2 * QUARTER_DEG
    held = np.where(mesial, neighbours.mesial, neighbours.distal)
    return np.asarray(proximal_weight(STATIONS_DEG) * held)

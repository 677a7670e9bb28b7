"""The procedure *soft tissue and bone*: a flap, bone taken with other instruments, the margin sutured; solve, simulate, judge.

Between the least share of the way back and its forecast stand two bounds on the settled margin: the affine law and the
greatest recession; both are kept.
"""

from dataclasses import replace

import numpy as np

from collum.case.model import Tooth
from collum.core.healing import phenotype_shift_mm, return_share_bone, settled_after_flap_mm
from collum.core.ring import QUARTER_DEG, STATIONS, STATIONS_DEG, Floats, proximal_weight
from collum.evidence import value
from collum.plan.lengthening.levels.prepared import Prepared, thinned
from collum.plan.lengthening.procedures.lines import STEER_BY_EVERY, RoutePlan, as_printed, best_try, judge_lines
from collum.plan.lengthening.procedures.procedure import (
    Procedure,
    SettledBound,
    Timing,
    Treatment,
    after,
    line_moves_mm,
    room_found_mm,
    wait,
)
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


class BoneSurgery(Procedure):
    """A flap is raised, bone is taken by instruments without current, and the margin is sutured."""

    id = "soft tissue and bone"
    option = "bone"
    safety_procedure = "bone"
    burden = 3
    takes_bone = True
    way = "bone"
    reads_nothing_for = frozenset({"no_attachment_cut"})
    steps = ("consent_bone", "flap", "provisional", "settle", "measure_margin", "definitive")
    survival = "with_bone"

    def plan(self, prepared: Prepared, wishes: Wishes, *, returns_whole: bool, arc_mm: float) -> RoutePlan:
        """Return the least burdensome bone surgery and its verdicts.

        The sutured margin keeps its distance to bone by what is measured at the open flap; where that is not enough all round,
        by the doubt of the soundings.
        """
        before = Treatment(procedure=self, returns_whole=returns_whole)
        plan = _planned(prepared, wishes, before, arc_mm=arc_mm, strict=False)
        bone = plan.assessment.graded.get("clear_of_bone")
        if bone is None or bone.verdict == "kept":
            return plan
        return _planned(prepared, wishes, before, arc_mm=arc_mm, strict=True)

    def after(self, prepared: Prepared, treatment: Treatment) -> Prepared:
        """Return the neck with bone taken down to the planned distance from the sound edge, as measured at the open flap.

        So what is taken differs from draw to draw, and the distance is left with the error of measuring it. The attachment
        forms anew over lowered bone as wide as it was.
        """
        lowered = _bone_taken_mm(prepared, treatment)
        return replace(
            prepared,
            crest_depth_mm=prepared.crest_depth_mm + lowered,
            sulcus_mm=prepared.sulcus_mm + lowered,
            lowered_mm=lowered,
        )

    def sutured_mm(self, prepared: Prepared, cut_mm: Floats) -> Floats:
        """Return (36, n) the sutured margin: it is placed from the sound edge, as the finish line is."""
        return np.asarray(cut_mm[:, None] + line_moves_mm(prepared))

    def forecasts_mm(self, prepared: Prepared, cut_mm: Floats, treatment: Treatment) -> tuple[Floats, ...]:
        """Return the one forecast: the law known from bone surgery holds."""
        if treatment.returns_whole:
            return (np.zeros_like(prepared.crest_depth_mm),)
        return (settled_sutured_mm(prepared, self.sutured_mm(prepared, cut_mm)),)

    def settled_bounds(self, prepared: Prepared, treatment: Treatment) -> tuple[SettledBound, ...]:
        """Return the affine law and the greatest recession."""
        share = return_share_bone(STATIONS_DEG)
        residual, still = value("healing.residual_mm"), np.zeros(STATIONS)
        healing = share[:, None] * prepared.own_height_mm + residual * prepared.regrowth.noise
        crest = -prepared.crest_depth_mm.mean(axis=1)
        return (
            SettledBound(
                mean_mm=share * crest + healing.mean(axis=1) + phenotype_shift_mm(prepared.inputs.phenotype),
                sd_mm=np.hypot(healing.std(axis=1), share * value("plan.surgery.measuring_sd_mm")),
                on_cut=1 - share,
                on_bone=share,
            ),
            SettledBound(
                mean_mm=np.full(STATIONS, -value("healing.largest_recession_mm")),
                sd_mm=np.full(STATIONS, residual),
                on_cut=np.ones(STATIONS),
                on_bone=still,
            ),
        )

    def _faded(self, movement_mm: Floats, cut_mm: Floats) -> Floats:
        """Return the movement as it is: a sutured margin settles however little was taken."""
        return movement_mm

    def timing(self, tooth: Tooth, treatment: Treatment) -> tuple[Timing, ...]:
        """Return how long the margin settles: longer where it shows."""
        if tooth.restoration.visible_zone is True:
            return (wait("definitive_finish_line_visible", "healing.wait.bone_visible_weeks", "bone_visible"),)
        return (wait("definitive_finish_line", "healing.wait.bone_weeks", "bone"),)


def settled_sutured_mm(prepared: Prepared, sutured_mm: Floats) -> Floats:
    """Return (36, n) the settled margin in every draw for a sutured margin (36, n)."""
    spread = value("healing.return_share.sd") * prepared.regrowth.share_deviate
    return settled_after_flap_mm(
        sutured_mm,
        crest_depth_mm=prepared.crest_depth_mm,
        own_height_mm=prepared.own_height_mm,
        return_share=np.clip(return_share_bone(STATIONS_DEG)[:, None] + spread, 0, 1),
        phenotype_shift_mm=phenotype_shift_mm(prepared.inputs.phenotype),
        noise=prepared.regrowth.noise,
    )


def _bone_taken_mm(prepared: Prepared, treatment: Treatment) -> Floats:
    """Return (36, n) the bone taken in every draw; none where the plan takes none."""
    planned = treatment.bone_mm[:, None]
    error = value("plan.surgery.measuring_sd_mm") * prepared.root.surgery
    return np.asarray(np.where(planned > 0, np.maximum(planned - room_found_mm(prepared) + error, 0), 0))


def _planned(prepared: Prepared, wishes: Wishes, before: Treatment, *, arc_mm: float, strict: bool) -> RoutePlan:
    few = thinned(prepared, STEER_BY_EVERY)
    bounds = _bounds(prepared, wishes, before)
    guard = _guard_mm(prepared, wishes, strict=strict)

    def tried(factors: dict[str, float]) -> tuple[BoneLines, dict[str, Floats]]:
        lines = solve_bone(_programme(prepared, wishes, bounds, guard, factors, arc_mm))
        treatment = _treatment(before, lines)
        return lines, least_of(after(few, treatment), wishes, lines.cut_mm, lines.finish_mm, treatment)

    lines = best_try(tried, wishes)
    treatment = _treatment(before, lines)
    cut, finish = (as_printed(line, prepared.margin_mm) for line in (lines.cut_mm, lines.finish_mm))
    return judge_lines(after(prepared, treatment), wishes, np.minimum(cut, 0), finish, treatment)


def _treatment(before: Treatment, lines: BoneLines) -> Treatment:
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


def _bounds(
    prepared: Prepared, wishes: Wishes, treatment: Treatment
) -> tuple[tuple[Bound, ...], tuple[Bound, ...], tuple[Bound, ...]]:
    """Return the bounds on f from below (crest, settled margin, recession, furcation), from above, and those on bone."""
    rule = wishes.rule("definitive_finish_line")
    crest = -prepared.crest_depth_mm.mean(axis=1)
    settled, receded = (
        Bound(
            rule="definitive_finish_line",
            mean_mm=bound.mean_mm + wishes.low_mm,
            sd_mm=bound.sd_mm,
            quantile=rule.quantile,
        )
        for bound in treatment.procedure.settled_bounds(prepared, treatment)
    )
    need = prepared.crest_depth_mm - clearance_mm(prepared, wishes)
    clear = wishes.rule("clear_of_crest")
    lowest = Bound(
        rule="clear_of_crest",
        mean_mm=crest + need.mean(axis=1),
        sd_mm=np.hypot(need.std(axis=1), value("plan.surgery.measuring_sd_mm")),
        quantile=clear.quantile,
    )
    lower = (lowest, settled, receded, *furcation_bounds(prepared, wishes))
    return lower, upper_bounds(prepared, wishes, treatment), _support_bounds(prepared, wishes)


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
    share = return_share_bone(STATIONS_DEG)
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
    neighbours = prepared.inputs.neighbours
    mesial = STATIONS_DEG < 2 * QUARTER_DEG
    held = np.where(mesial, neighbours.mesial, neighbours.distal)
    return np.asarray(proximal_weight(STATIONS_DEG) * held)


BONE_SURGERY = BoneSurgery()

"""The bounds of a route on its lines, collected from the requirements, and the programmes made of them."""

from dataclasses import dataclass, replace
from typing import get_args

import numpy as np

from collum.case.model import site_angle_deg
from collum.core import tooth as anatomy
from collum.core.ring import QUARTER_DEG, STATIONS, STATIONS_DEG, Floats, angular_distance_deg, proximal_weight
from collum.evidence.handed import PlanLimits
from collum.plan.lengthening.levels.prepared import Prepared
from collum.plan.lengthening.procedures.procedure import Treatment
from collum.plan.lengthening.requirements.bound import FAR_MM, Bound
from collum.plan.lengthening.requirements.clear_of_bone import strict_guard
from collum.plan.lengthening.requirements.situation import Conditions, nearest_station
from collum.plan.lengthening.requirements.table import requirement_of
from collum.plan.lengthening.solver.bone_programme import BoneProgramme, MovingRow
from collum.plan.lengthening.solver.hand import PAPILLAE, Neck, shape_of_cut
from collum.plan.lengthening.solver.programme import Programme, Row
from collum.plan.lengthening.wishes import Wishes
from collum.vocabulary import RequirementId

# The last digits of a solution depend on the order of its rows, so that it does not follow the order of what is shown.
_ORDER: tuple[RequirementId, ...] = get_args(RequirementId)


@dataclass(frozen=True, slots=True, kw_only=True)
class Bounds:
    """All bounds of the route, made from the draws once; the repeats change only the factors on their reserves.

    `guards`: on the cut, with their full reserve always; `cut`: on the cut, shared; `lower`, `upper`: on the finish line;
    `gap`: on the finish line from below, following the fresh margin; `bone`: on the bone taken.
    """

    guards: tuple[Bound, ...]
    cut: tuple[Bound, ...]
    lower: tuple[Bound, ...]
    gap: tuple[Bound, ...]
    upper: tuple[Bound, ...]
    bone: tuple[Bound, ...]
    rest_mm: Floats


def neck_of(prepared: Prepared) -> Neck:
    """Return the neck that a line is drawn on."""
    tooth = prepared.inputs.tooth
    return Neck(
        margin_mm=prepared.margin_mm,
        arc_mm=np.diff(anatomy.arc_mm(tooth.number, np.append(STATIONS_DEG, 360))),
        sites=tuple(sorted({nearest_station(site_angle_deg(site)) for site in tooth.sites})),
        limits=prepared.limits,
    )


def bounds_of(prepared: Prepared, wishes: Wishes, treatment: Treatment) -> Bounds:
    """Return the bounds on the lines; `prepared` is the neck after the treatment, before any bone is taken."""
    conditions = Conditions(prepared=prepared, wishes=wishes, treatment=treatment)
    rows = [row for name in _ORDER for row in requirement_of(name).rows(conditions)]
    cut = [row for row in rows if row.line == "cut"]
    below = [row for row in rows if (row.line, row.side) == ("finish", "below")]
    return Bounds(
        guards=tuple(row for row in cut if row.hard),
        cut=tuple(row for row in cut if not row.hard),
        lower=tuple(row for row in below if not row.moves_with_cut),
        gap=tuple(row for row in below if row.moves_with_cut),
        upper=tuple(row for row in rows if (row.line, row.side) == ("finish", "above")),
        bone=tuple(row for row in rows if row.line == "bone"),
        rest_mm=treatment.procedure.rest_mm(prepared, treatment).mean(axis=1),
    )


def with_strict_guards(prepared: Prepared, wishes: Wishes, bounds: Bounds, near: np.ndarray) -> Bounds:
    """Return the bounds with those of bone strict enough all round the stations `near`, by the doubt of the soundings."""
    return replace(bounds, guards=tuple(strict_guard(guard, prepared, wishes, near) for guard in bounds.guards))


def programme_of(
    prepared: Prepared, wishes: Wishes, bounds: Bounds, factors: dict[str, float], treatment: Treatment, *, arc_mm: float
) -> Programme:
    """Return the programme of a route without bone work; `factors` multiply the reserve of a rule (1 where absent)."""
    held = treatment.procedure.held(prepared.inputs.tooth)
    (gap,) = bounds.gap
    return Programme(
        cut_low_mm=_lowest_mm(bounds.guards, factors, prepared.limits),
        cut=tuple(row_of(b, factors, prepared.limits) for b in bounds.cut),
        lower=tuple(row_of(b, factors, prepared.limits) for b in bounds.lower),
        upper=tuple(row_of(b, factors, prepared.limits) for b in bounds.upper),
        gap_low_mm=float(gap.mean_mm.max()),  # the same all round
        gap_reserve_mm=float(gap.reserve_mm(factors, prepared.limits).max()),
        aim_mm=bounds.rest_mm + wished_place_mm(wishes),
        margin_mm=prepared.margin_mm,
        arc_mm=arc_mm,
        limits=prepared.limits,
        held_cut={nearest_station(site_angle_deg(site)): mm for site, mm in held.cut.items()},
        held_finish={nearest_station(site_angle_deg(site)): mm for site, mm in held.finish.items()},
        shape=shape_of_cut(neck_of(prepared)) if treatment.procedure.cuts_by_current else None,
        wished_mm=_wished_cut_mm(wishes, bounds.rest_mm, prepared.limits) if treatment.procedure.meets_wished_margin else {},
    )


def _wished_cut_mm(wishes: Wishes, rest_mm: Floats, limits: PlanLimits) -> dict[int, float]:
    """Return where the wish asks the cut to end, by station: no deeper than what lasts, and nowhere if a step does not last."""
    ends = {station: max(mm, float(rest_mm[station])) for station, mm in wishes.aims_mm.items()}
    return {station: mm for station, mm in ends.items() if mm <= limits.hand_off_printed_mm - limits.hand_step_mm}


def bone_programme_of(
    prepared: Prepared, wishes: Wishes, bounds: Bounds, factors: dict[str, float], treatment: Treatment, *, arc_mm: float
) -> BoneProgramme:
    """Return the programme of bone surgery; `prepared` is the neck before. The guard of bone keeps its reserve as it is."""
    aim, *_ = treatment.procedure.settled_bounds(prepared, treatment)
    between = [float(b.mean_mm.max()) for b in bounds.bone if b.between_teeth]
    return BoneProgramme(
        cut_low_mm=_lowest_mm(bounds.guards, {}, prepared.limits),
        lower=tuple(_moving(b, factors, prepared.limits) for b in (*bounds.lower, *bounds.gap)),
        upper=tuple(row_of(b, factors, prepared.limits) for b in bounds.upper),
        support=tuple(row_of(b, factors, prepared.limits) for b in bounds.bone if not b.between_teeth),
        mean_bone_mm=min(between, default=float(FAR_MM)),
        aim=MovingRow(
            row=Row(rule="aim", mean_mm=aim.mean_mm + wished_place_mm(wishes), reserve_mm=np.zeros(STATIONS)),
            on_cut=aim.on_cut,
            on_bone=aim.on_bone,
        ),
        crest_mm=prepared.margin_mm - prepared.crest_depth_mm.mean(axis=1),
        margin_mm=prepared.margin_mm,
        arc_mm=arc_mm,
        limits=prepared.limits,
        beside_neighbour=_beside_neighbour(prepared),
        shape=shape_of_cut(neck_of(prepared)),
        margin_low_mm=np.full(STATIONS, -float(FAR_MM)),
        bone_low_mm=np.zeros(STATIONS),
        bone_high_mm=most_bone_mm(prepared),
    )


def most_bone_mm(prepared: Prepared) -> Floats:
    """Return (36,) how much bone may be taken: less on the facing side of a neighbour, which has not consented."""
    limits, neighbours = prepared.limits, prepared.inputs.levels.neighbours
    most = np.full(STATIONS, limits.bone_most_mm)
    for station, stands in zip(PAPILLAE, (neighbours.mesial, neighbours.distal), strict=True):
        facing = angular_distance_deg(STATIONS_DEG, STATIONS_DEG[station]) <= limits.hand_neighbour_half_width_deg
        most[facing & stands] = limits.hand_neighbour_bone_mm
    return most


def row_of(bound: Bound, factors: dict[str, float], limits: PlanLimits) -> Row:
    """Return the row of a bound with its whole reserve."""
    return Row(rule=bound.rule, mean_mm=bound.mean_mm, reserve_mm=bound.reserve_mm(factors, limits))


def wished_place_mm(wishes: Wishes) -> float:
    """Return where in its allowed range the finish line is aimed, relative to the settled margin. [mm]"""
    if wishes.high_mm is None:
        return max(wishes.low_mm, 0)
    return (wishes.low_mm + wishes.high_mm) / 2


def _lowest_mm(guards: tuple[Bound, ...], factors: dict[str, float], limits: PlanLimits) -> Floats:
    """Return (36,) how low a fresh margin may be by the guards, never above the old one; the old one where there is none."""
    if not guards:
        return np.zeros(STATIONS)
    lowest = [guard.mean_mm + guard.reserve_mm(factors, limits) for guard in guards]
    return np.asarray(np.minimum(np.max(lowest, axis=0), 0))


def _moving(bound: Bound, factors: dict[str, float], limits: PlanLimits) -> MovingRow:
    on_cut, on_bone = (np.broadcast_to(np.asarray(factor, dtype=float), STATIONS) for factor in (bound.on_cut, bound.on_bone))
    return MovingRow(row=row_of(bound, factors, limits), on_cut=on_cut, on_bone=on_bone, supports=bound.supports)


def _beside_neighbour(prepared: Prepared) -> Floats:
    """Return (36,) how far a station's bone is the neighbour's too: 1 between the teeth, 0 in the middle of a side."""
    neighbours = prepared.inputs.levels.neighbours
    mesial = STATIONS_DEG < 2 * QUARTER_DEG
    held = np.where(mesial, neighbours.mesial, neighbours.distal)
    return np.asarray(proximal_weight(STATIONS_DEG) * held)

"""The least change that would mend a missed rule. No advice asks for more than there is: where what can be given up is not
enough, it says how much it gives and what still lacks.
"""

from collections.abc import Callable, Mapping
from dataclasses import replace

import numpy as np

from collum.core.crown.form import height_for_half_wall_mm
from collum.core.ring import STATIONS
from collum.plan.lengthening.choice.room import (
    Missed,
    gained_by_another_place,
    held_too_high,
    raising_gives_mm,
    room_above_line_mm,
    spare_reduction_mm,
)
from collum.plan.lengthening.grounds import Ease, LeastChange, Way
from collum.plan.lengthening.procedures.bone_surgery import BONE_SURGERY
from collum.plan.lengthening.procedures.lines import RoutePlan
from collum.plan.lengthening.procedures.procedure import Treatment
from collum.plan.lengthening.procedures.registry import PROCEDURES
from collum.plan.lengthening.requirements.crown_to_root import CROWN_TO_ROOT
from collum.plan.lengthening.requirements.requirement import Remedy
from collum.plan.lengthening.requirements.resistance import resisting_bases_mm
from collum.plan.lengthening.requirements.table import requirement_of


def least_change(missed: Missed) -> LeastChange:
    """Return what would mend a rule that a route misses."""
    remedy = requirement_of(missed.name).remedy
    if remedy is None:
        return LeastChange(id=missed.name, short_by=missed.short_by)
    if remedy in ("reduction", "height") and held_too_high(missed):
        return LeastChange(id="held_line_lower")
    return _BY_REMEDY[remedy](missed)


def thin_wall_change(plan: RoutePlan, wall_mm: float) -> tuple[float, LeastChange]:
    """Return by how much a wall is too thin once it is reduced, and what would mend that."""
    less_mm = plan.limits.wall_thickness_mm - (wall_mm - plan.wishes.axial_reduction_mm)
    if less_mm <= plan.wishes.axial_reduction_mm:
        return less_mm, LeastChange(id="thin_wall", less_mm=less_mm)
    return less_mm, LeastChange(id="thin_wall_uncut", wall_mm=wall_mm)


def _another_place(missed: Missed) -> LeastChange:
    return _capped(missed, gained_by_another_place(missed.plan), missed.short_by)


def _higher_line(missed: Missed) -> LeastChange:
    return _capped(missed, room_above_line_mm(missed.plan, missed.station), missed.height_lacking_mm)


def _more_height(missed: Missed) -> LeastChange:
    """Return how much more height is needed; on composite no height makes a ferrule, so that other routes are named alone."""
    if missed.plan.treatment.raised[missed.station]:
        return LeastChange(id=f"{missed.name}_on_composite", ways=_open_ways(missed))
    lacking = missed.height_lacking_mm
    return LeastChange(id=missed.name, short_by=lacking, ways=_ways(missed, lacking))


def _higher_seat(missed: Missed) -> LeastChange:
    """Return that the sound edge has to be higher over the crest: lower bone and a raised tooth both give that."""
    return LeastChange(id=missed.name, short_by=missed.short_by, ways=_open_ways(missed))


def _open_ways(missed: Missed) -> tuple[Way, ...]:
    return tuple(one.way for one in PROCEDURES if one.way is not None and one.id not in missed.closed)


def _less_reduction(missed: Missed) -> LeastChange:
    """Return how much less occlusal reduction gives, and more bite where the root left in bone bears a crown so much longer."""
    plan, lacking, spare_mm = missed.plan, missed.preparation_lacking_mm, spare_reduction_mm(missed.plan.wishes)
    change = _capped(missed, spare_mm, lacking)
    longer = replace(plan.wishes, top_mm=plan.wishes.top_mm + (change.lacking_mm or lacking))
    root = replace(missed, name=CROWN_TO_ROOT.id)
    if root.lacking_with(wishes=longer) > root.lacking_with():
        return replace(change, id=f"{change.id}_no_bite")
    return change


def _capped(missed: Missed, most: float, lacking: float) -> LeastChange:
    """Return the advice where `most` of what is lacking can be given up: all of it, a part, or nothing."""
    name = missed.name
    if most >= lacking:
        return LeastChange(id=name, short_by=lacking, ways=_ways(missed, lacking))
    if most < missed.plan.limits.short_by_least_mm:
        return LeastChange(id=f"{name}_without", short_by=lacking, ways=_ways(missed, lacking))
    left = lacking - most
    return LeastChange(id=f"{name}_in_part", most_mm=most, lacking_mm=left, ways=_ways(missed, left))


def _ways(missed: Missed, lacking: float) -> tuple[Way, ...]:
    """Return which other routes give the height that is lacking. A raised tooth gives none to a crown that is too short."""
    procedure = missed.plan.treatment.procedure
    gives = raising_gives_mm(missed)
    raised_enough = gives > 0 and gives >= lacking - missed.plan.limits.short_by_least_mm
    others = (other for other in PROCEDURES if other is not procedure and other.id not in missed.closed)
    return tuple(other.way for other in others if other.way is not None and (raised_enough or not other.raises_tooth))


def _resistance(missed: Missed) -> LeastChange:
    """Return what less convergence and grooves give where they are still to be had, and help at that side."""
    plan, short_by = missed.plan, missed.short_by
    grooved = replace(plan.treatment, grooves=True)
    narrow = replace(plan.wishes, convergence_deg=min(plan.wishes.convergence_deg, plan.limits.without_convergence_deg))
    bases = [resisting_bases_mm(plan.wishes, treatment, plan.limits)[missed.station] for treatment in (plan.treatment, grooved)]
    means: dict[Ease, bool] = {
        "convergence": plan.wishes.convergence_deg > narrow.convergence_deg,
        "grooves": bases[1] < bases[0],
    }
    asked = tuple(name for name, open_ in means.items() if open_)
    now, then = (
        float(height_for_half_wall_mm(base, wishes.convergence_deg))
        for base, wishes in zip(bases, (plan.wishes, narrow), strict=True)
    )
    most_mm = now - then
    if most_mm < plan.limits.short_by_least_mm:
        return LeastChange(id="resistance_without", short_by=short_by, ways=_ways(missed, short_by))
    left = missed.lacking_with(treatment=grooved, wishes=narrow)
    if left < plan.limits.short_by_least_mm:
        return LeastChange(id="resistance", asked=asked, most_mm=most_mm)
    return LeastChange(id="resistance_in_part", asked=asked, ways=_ways(missed, left), most_mm=most_mm, lacking_mm=left)


def _furcation(missed: Missed) -> LeastChange:
    """Return how much less bone or movement, or how much more coronal a finish line, gives the room to the furcation."""
    plan, short_by = missed.plan, missed.short_by
    higher = room_above_line_mm(plan, missed.station)
    gains = [("line", higher, missed.lacking_with(higher_mm=higher))]
    if plan.treatment.procedure.moves_crest:
        taken, untaken = float(plan.treatment.lowered_mm[missed.station]), missed.lacking_with(treatment=_nothing_taken(plan))
        gains.insert(0, (plan.treatment.procedure.taken, taken, untaken))
    what, most, left = min(gains, key=lambda gain: gain[2])
    if short_by - left < plan.limits.short_by_least_mm:
        return LeastChange(id="furcation.nothing", short_by=short_by)
    if left == 0 and most >= short_by:
        return LeastChange(id=f"furcation.{what}", short_by=short_by)
    return LeastChange(id=f"furcation.{what}_in_part", most_mm=most, lacking_mm=left)


def _crown_instead(missed: Missed) -> LeastChange:
    """Return that a crown with its ferrule does not ask for what lacks to bond to: neither enamel nor a wall is gained."""
    return LeastChange(id=missed.name)


def _nothing_taken(plan: RoutePlan) -> Treatment:
    """Return the treatment of a route with no bone taken and no movement."""
    return replace(plan.treatment, bone_mm=np.zeros(STATIONS), extruded_mm=0)


def _less_taken(missed: Missed) -> LeastChange:
    """Return that less bone or movement would leave enough root, or that there is too little before any."""
    treatment = missed.plan.treatment
    left = missed.lacking_with(treatment=_nothing_taken(missed.plan))
    if left > 0:
        return LeastChange(id=f"{missed.name}.nothing", short_by=left)
    return LeastChange(id=f"{missed.name}.{treatment.procedure.taken}", short_by=missed.short_by)


def _less_cut(missed: Missed) -> LeastChange:
    """Return how much shallower the cut would have to be, or what a flap does; no cut can be shallower than none."""
    plan, name = missed.plan, missed.name
    if plan.treatment.procedure.takes_bone:
        return LeastChange(id=f"{name}_flap", short_by=missed.short_by)
    by_mm = missed.lacking_there_mm
    short_by = by_mm if float(-plan.cut_mm[missed.station]) >= by_mm else None
    name = name if short_by is not None else f"{name}_uncut"
    match requirement_of(missed.name).remedy:
        case "less_cut_or_bone":
            ways: tuple[Way, ...] = () if BONE_SURGERY.id in missed.closed else ("bone",)
            return LeastChange(id=name, short_by=short_by, ways=ways)
        case "less_cut_or_flap" if not _kept_by_flap(missed):
            return LeastChange(id=f"{name}_no_flap", short_by=short_by)
    return LeastChange(id=name, short_by=short_by)


def _kept_by_flap(missed: Missed) -> bool:
    """Return whether a flap, where one is open, keeps the rule that the cut misses."""
    return BONE_SURGERY.id not in missed.closed and missed.lacking_with(treatment=Treatment(procedure=BONE_SURGERY)) == 0


_BY_REMEDY: Mapping[Remedy, Callable[[Missed], LeastChange]] = {
    "reduction": _less_reduction,
    "place": _another_place,
    "line": _higher_line,
    "height": _more_height,
    "seat": _higher_seat,
    "walls": _resistance,
    "entrance": _furcation,
    "bonding": _crown_instead,
    "less_taken": _less_taken,
    "less_cut": _less_cut,
    "less_cut_or_bone": _less_cut,
    "less_cut_or_flap": _less_cut,
}

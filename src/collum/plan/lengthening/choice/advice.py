"""The least change that would mend a missed rule. No advice asks for more than there is: where what can be given up is not
enough, it says how much it gives and what still lacks.
"""

from collections.abc import Collection
from dataclasses import replace

import numpy as np

from collum.core.crown.form import height_for_half_wall_mm
from collum.evidence import value
from collum.plan.lengthening.grounds import Ease, LeastChange, Way
from collum.plan.lengthening.levels.prepared import Prepared, at_means
from collum.plan.lengthening.procedures.extrusion import EXTRUSION
from collum.plan.lengthening.procedures.lines import RoutePlan
from collum.plan.lengthening.procedures.registry import PROCEDURES
from collum.plan.lengthening.requirements.assessment import least_of
from collum.plan.lengthening.requirements.resistance import resisting_bases_mm
from collum.plan.lengthening.requirements.situation import lowest_top_mm
from collum.plan.lengthening.requirements.verdict import Graded
from collum.plan.lengthening.wishes import Wishes
from collum.vocabulary import RouteName


def least_change(plan: RoutePlan, missed: str, graded: Graded, closed: Collection[RouteName]) -> LeastChange:
    """Return what would mend the rule `missed` of a route; `closed`: the routes that a finding closes for this tooth."""
    short_by = graded.short_by or 0
    station = graded.worst_station
    match missed:
        case "preparation_height":
            return _capped("preparation_height", short_by, spare_reduction_mm(plan.wishes), plan, closed)
        case "definitive_finish_line":
            return _capped("definitive_finish_line", short_by, _gained_by_another_place(plan), plan, closed)
        case "clear_of_crest" if station is not None:
            return _capped("clear_of_crest", short_by, _room_above_line_mm(plan, station), plan, closed)
        case "ferrule":
            return LeastChange(id="ferrule", short_by=short_by, ways=_ways(plan, closed))
        case "resistance" if station is not None:
            return _resistance(plan, station, short_by, closed)
        case "furcation" if station is not None:
            return _furcation(plan, station, short_by)
        case "crown_to_root" | "attached_area":
            return LeastChange(id=f"{missed}.{_taken(plan)}", short_by=short_by)
        case "visible_zone":
            return _visible_zone(plan, short_by, closed)
        case "no_attachment_cut" | "clear_of_bone" | "keratinised_tissue_left" if station is not None:
            return _less_cut(plan, missed, station, short_by)
    return LeastChange(id=missed, short_by=short_by)


def thin_wall_change(plan: RoutePlan, wall_mm: float) -> tuple[float, LeastChange]:
    """Return by how much a wall is too thin once it is reduced, and what would mend that."""
    less_mm = plan.limits.wall_thickness_mm - (wall_mm - plan.wishes.axial_reduction_mm)
    if less_mm <= plan.wishes.axial_reduction_mm:
        return less_mm, LeastChange(id="thin_wall", less_mm=less_mm)
    return less_mm, LeastChange(id="thin_wall_uncut", wall_mm=wall_mm)


def spare_reduction_mm(wishes: Wishes) -> float:
    """Return by how much the occlusal reduction can fall: down to what the thinnest surface needs. [mm]"""
    return max(wishes.reduction_mm - value("restoration.monolithic_zirconia.occlusal_mm"), 0)


def freely_placed(prepared: Prepared, wishes: Wishes) -> Wishes | None:
    """Return the wishes with a finish line that may lie wherever the sulcus allows; None where no place was wished."""
    wish = prepared.inputs.tooth.restoration.finish
    if wish is None:
        return None
    sulcus_key = wishes.rule("definitive_finish_line").evidence[0]
    return replace(wishes, low_mm=-prepared.evidence.values[sulcus_key], high_mm=None)


def _capped(name: str, short_by: float, most: float, plan: RoutePlan, closed: Collection[RouteName]) -> LeastChange:
    """Return the advice where `most` of what is lacking can be given up: all of it, a part, or nothing."""
    ways = _ways(plan, closed)
    if most >= short_by:
        return LeastChange(id=name, short_by=short_by, ways=ways)
    if most < plan.limits.short_by_least_mm:
        return LeastChange(id=f"{name}_without", short_by=short_by, ways=ways)
    return LeastChange(id=f"{name}_in_part", most_mm=most, lacking_mm=short_by - most, ways=ways)


def _ways(plan: RoutePlan, closed: Collection[RouteName]) -> tuple[Way, ...]:
    """Return which other routes give height between crest and sound edge."""
    others = (other for other in PROCEDURES if other is not plan.treatment.procedure and other.id not in closed)
    return tuple(other.way for other in others if other.way is not None)


def _taken(plan: RoutePlan) -> str:
    return "bone" if plan.treatment.procedure.takes_bone else "movement"


def _gained_by_another_place(plan: RoutePlan) -> float:
    """Return how much room a finish line gains that may lie wherever the sulcus allows, at the best estimate. [mm]"""
    free = freely_placed(plan.prepared, plan.wishes)
    if free is None:
        return 0
    means = at_means(plan.prepared)
    now, then = (
        float(least_of(means, wishes, plan.cut_mm, plan.finish_mm, plan.treatment)["definitive_finish_line"][0])
        for wishes in (plan.wishes, free)
    )
    return max(then - now, 0)


def _room_above_line_mm(plan: RoutePlan, station: int) -> float:
    """Return by how much the finish line could lie more coronal at a station before it costs ferrule. [mm]"""
    means = at_means(plan.prepared)
    if means.sound_edge_mm is None:
        return 0
    highest = float(lowest_top_mm(means, plan.wishes)[station, 0]) - float(plan.wishes.ferrule_mm[station])
    return max(highest - float(plan.finish_mm[station]), 0)


def _resistance(plan: RoutePlan, station: int, short_by: float, closed: Collection[RouteName]) -> LeastChange:
    """Return what less convergence and grooves give where they are still to be had, and help at that side."""
    wishes, grooved = plan.wishes, replace(plan.treatment, grooves=True)
    narrow = min(wishes.convergence_deg, plan.limits.without_convergence_deg)
    means: dict[Ease, bool] = {
        "convergence": wishes.convergence_deg > narrow,
        "grooves": resisting_bases_mm(wishes, grooved, plan.limits)[station]
        < resisting_bases_mm(wishes, plan.treatment, plan.limits)[station],
    }
    asked = tuple(name for name, open_ in means.items() if open_)
    now, then = (
        float(height_for_half_wall_mm(resisting_bases_mm(wishes, treatment, plan.limits)[station], convergence_deg))
        for treatment, convergence_deg in ((plan.treatment, wishes.convergence_deg), (grooved, narrow))
    )
    most_mm = now - then
    if most_mm < plan.limits.short_by_least_mm:
        return LeastChange(id="resistance_without", short_by=short_by, ways=_ways(plan, closed))
    if most_mm >= short_by:
        return LeastChange(id="resistance", asked=asked, most_mm=most_mm)
    return LeastChange(
        id="resistance_in_part", asked=asked, ways=_ways(plan, closed), most_mm=most_mm, lacking_mm=short_by - most_mm
    )


def _furcation(plan: RoutePlan, station: int, short_by: float) -> LeastChange:
    """Return how much less bone or movement, or how much more coronal a finish line, gives the room to the furcation."""
    if not plan.treatment.procedure.moves_crest:
        most, what = _room_above_line_mm(plan, station), "line"
    else:
        most, what = float(plan.treatment.lowered_mm[station]), _taken(plan)
    if most >= short_by:
        return LeastChange(id=f"furcation.{what}", short_by=short_by)
    if most < plan.limits.short_by_least_mm:
        return LeastChange(id="furcation.nothing", short_by=short_by)
    return LeastChange(id=f"furcation.{what}_in_part", most_mm=most, lacking_mm=short_by - most)


def _visible_zone(plan: RoutePlan, short_by: float, closed: Collection[RouteName]) -> LeastChange:
    """A margin coronal of the mirror tooth's makes this tooth look shorter: it is lengthened; else its root is covered."""
    mirror = plan.prepared.inputs.tooth.facts.mirror_margin_mm
    assert mirror is not None  # the requirement is judged where it was read
    if float(np.median(plan.assessment.settled_full_mm[0])) > mirror:
        return LeastChange(id="visible_zone.shorter", short_by=short_by)
    extruding = plan.treatment.procedure.raises_tooth or EXTRUSION.id in closed
    above_cej = plan.limits.mirror_margin_above_cej_mm
    longer = "visible_zone.longer_extruded" if extruding else "visible_zone.longer"
    return LeastChange(id=longer, short_by=short_by, above_cej_mm=above_cej)


def _less_cut(plan: RoutePlan, missed: str, station: int, short_by: float) -> LeastChange:
    """Return how much shallower the cut would have to be; no cut can be shallower than none."""
    if plan.treatment.procedure.takes_bone:
        return LeastChange(id=f"{missed}_flap", short_by=short_by)
    if float(-plan.cut_mm[station]) >= short_by:
        return LeastChange(id=missed, short_by=short_by)
    return LeastChange(id=f"{missed}_uncut")

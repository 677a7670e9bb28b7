"""Sentences of a route: what it asks, why it is as it is, what closes it and what would open it.

The one place where typed grounds, doubts, concessions and changes become keys of the catalogue with parameters.
"""

import numpy as np

from collum.core.ring import STATIONS, STATIONS_DEG
from collum.evidence.handed import PlanLimits
from collum.plan.lengthening.grounds import Doubt, Ground, LeastChange, ThinWall
from collum.plan.lengthening.levels.prepared import at_means
from collum.plan.lengthening.procedures.lines import RoutePlan
from collum.plan.lengthening.procedures.procedure import Treatment
from collum.plan.lengthening.procedures.registry import procedure_of
from collum.plan.lengthening.requirements.ferrule import ferrule_reserve_mm
from collum.plan.lengthening.route import ClosedBy, Forecast, Route
from collum.plan.lengthening.solver.hand import HandFault
from collum.plan.lengthening.wishes import Wishes
from collum.plan.patient.words import why_said
from collum.plan.sentence import Parameter, Sentence, say

_AFTER_CLOSING = {"restorable_tooth": "tooth_stop", "healthy_tissue": "read_again_after_care"}
_WITHOUT_LIMIT = ("low_between", "ridge", "second_low")
_MM_DECIMALS = 1  # that a sentence shows
_AMOUNTS = ("short_by", "most_mm", "lacking_mm", "less_mm", "wall_mm")


def means_said(route: Route, wishes: Wishes) -> tuple[Sentence, ...]:
    """Return what a route asks of tooth and dentist. `wishes`: what the dentist wished of the tooth."""
    treatment = () if route.plan is None else _treatment_said(route.plan.treatment, route.plan.limits)
    return (*_concessions_said(route, wishes), *_gain_said(route), *treatment)


def explanation(route: Route) -> tuple[Sentence, ...]:
    """Return why a route is as it is: what closes it or sets it aside, what its cut brings, and findings that leave a doubt."""
    said: list[Sentence] = []
    if route.set_aside is not None:
        fault = {} if route.fault_id is None else {"id": route.fault_id}
        said.append(say(f"plan.explain.{route.set_aside}", **fault))
    if route.plan is None or route.forecast is None:
        return (*said, *(() if route.closed_by is None else _closing_explained(route.closed_by)))
    if route.plan.treatment.procedure.cuts_by_current:
        said += _cut_said(route.plan, route.forecast)
    said += [hand_said(fault) for fault in route.hand_faults]
    return (*said, *_partial_ferrule(route.plan), *(doubt_said(doubt) for doubt in route.doubts))


def ground_said(ground: Ground) -> Sentence:
    """Return why a route is closed or short."""
    if ground.id == "requirement":
        place = {} if ground.station is None else {"station_deg": float(STATIONS_DEG[ground.station])}
        return say(f"plan.closing.{ground.requirement}", short_by=ground.short_by or 0, **place)
    if ground.row is not None:
        return why_said(ground.row, ground.words)
    parameters: dict[str, Parameter] = {}
    if ground.wall is not None:
        parameters = {**wall_figures(ground.wall)}
    elif ground.site is not None:
        distances = {"to_crest_mm": ground.to_crest_mm, "to_cej_mm": ground.to_cej_mm}
        near = {name: mm for name, mm in distances.items() if mm is not None}
        parameters = {"site": ground.site, **near}
    elif ground.percent is not None and ground.limit_percent is not None:
        parameters = {"percent": ground.percent, "limit": ground.limit_percent}
    elif ground.found is not None and ground.limit is not None:
        at = {} if ground.station is None else {"station_deg": float(STATIONS_DEG[ground.station])}
        parameters = {"found": ground.found, "limit": ground.limit, **at}
    return say(f"plan.closing.{ground.id}", **parameters)


def wall_figures(wall: ThinWall) -> dict[str, float]:
    """Return the parameters of a sentence about a wall that is too thin."""
    return {"left_mm": wall.left_mm, "needed_mm": wall.needed_mm, "station_deg": float(STATIONS_DEG[wall.station])}


def change_said(change: LeastChange) -> Sentence:
    """Return the least change that would open a route."""
    amounts = {name: getattr(change, name) for name in _AMOUNTS}
    given: dict[str, Parameter] = {name: amount for name, amount in amounts.items() if amount is not None}
    ways: dict[str, Parameter] = {} if change.ways is None else {"ways": "_or_".join(change.ways) or "none"}
    if change.asked is not None:
        return say(f"plan.least_change.{change.id}", asked="_and_".join(change.asked) or "none", **ways, **given)
    return say(f"plan.least_change.{change.id}", **given, **ways)


def doubt_said(doubt: Doubt) -> Sentence:
    """Return a finding that leaves a route in doubt."""
    if doubt.site is None or doubt.loss_mm is None:
        return say(f"plan.doubt.{doubt.id}")
    return say(f"plan.doubt.{doubt.id}", site=doubt.site, loss_mm=doubt.loss_mm)


def hand_said(fault: HandFault) -> Sentence:
    """Return where a line is not one that a hand can make."""
    place = {"station_deg": float(STATIONS_DEG[fault.station]), "amount": fault.amount}
    return say(f"plan.hand.{fault.id}", **place, **({} if fault.id in _WITHOUT_LIMIT else {"limit": fault.limit}))


def _concessions_said(route: Route, wishes: Wishes) -> tuple[Sentence, ...]:
    given_up, said = route.concessions, []
    if given_up.occlusal_reduction_mm is not None:
        thin = procedure_of(route.name).thinnest
        said.append(say(f"plan.means.{thin}", reduction_mm=given_up.occlusal_reduction_mm))
    if given_up.convergence_deg is not None:
        said.append(say("plan.means.convergence", convergence_deg=given_up.convergence_deg))
    if given_up.grooves:
        said.append(say("plan.means.grooves"))
    if given_up.preparation_height_mm is not None:
        heights = {"with_mm": given_up.preparation_height_mm, "without_mm": wishes.rule("preparation_height").limit}
        said.append(say("plan.means.height_with_grooves", **heights))
    if given_up.opposing_mm is not None:
        said.append(say("plan.means.opposing", opposing_mm=given_up.opposing_mm))
    if given_up.bite_mm is not None:
        said.append(say("plan.means.bite", bite_mm=given_up.bite_mm))
    return tuple(said)


def _gain_said(route: Route) -> tuple[Sentence, ...]:
    """Return what giving up brings and what still lacks; nothing where nothing worth saying is gained."""
    gain = route.gain
    if gain is None:
        return ()
    if round(gain.lacking_mm, _MM_DECIMALS) == 0:
        return (say(f"plan.means.gained_all.{gain.requirement}", lacked_mm=gain.lacked_mm),)
    gained = {"gained_mm": gain.gained_mm, "lacked_mm": gain.lacked_mm, "lacking_mm": gain.lacking_mm}
    return (say(f"plan.means.gained.{gain.requirement}", **gained),)


def _treatment_said(treatment: Treatment, limits: PlanLimits) -> tuple[Sentence, ...]:
    """Return what bone surgery and extrusion ask of the tooth."""
    if treatment.procedure.raises_tooth and treatment.extruded_mm > 0:
        return (
            say("plan.means.raise", extruded_mm=treatment.extruded_mm),
            say("plan.means.fibres"),
            say("plan.means.surgical"),
        )
    if treatment.procedure.takes_bone and treatment.bone_mm.any():
        most = int(np.argmax(treatment.bone_mm))
        between = max(float(treatment.bone_mm[STATIONS // 4]), float(treatment.bone_mm[3 * STATIONS // 4]))
        bone = say("plan.means.bone", bone_mm=float(treatment.bone_mm[most]), station_deg=float(STATIONS_DEG[most]))
        neighbour = (say("plan.means.neighbour", bone_mm=between),) if between > limits.least_bone_mm else ()
        return (bone, *neighbour, say("plan.means.flap"))
    return ()


def _closing_explained(by: ClosedBy) -> tuple[Sentence, ...]:
    after = _AFTER_CLOSING.get(by.requirement)
    return (ground_said(by.ground), *(() if after is None else (say(f"plan.explain.{after}"),)))


def _partial_ferrule(plan: RoutePlan) -> tuple[Sentence, ...]:
    """Return that there is a ferrule on part of the neck only, where that is so: it is asked in the loaded sectors alone."""
    best = at_means(plan.prepared)
    if best.sound_edge_mm is None or plan.wishes.sound_wall or plan.treatment.procedure.bonds:
        return ()
    if "ferrule" in plan.assessment.missing:
        return ()
    height = ferrule_reserve_mm(best, plan.wishes, plan.finish_mm[:, None])[:, 0] + plan.wishes.ferrule_mm
    arc_deg = 360 * float(np.mean(height >= plan.wishes.rule("ferrule").limit))
    if arc_deg >= plan.limits.ferrule_arc_deg:
        return ()
    return (say("plan.explain.partial_ferrule", arc_deg=arc_deg, limit=plan.wishes.rule("ferrule").limit),)


def _cut_said(plan: RoutePlan, forecast: Forecast) -> list[Sentence]:
    cut, gain = plan.cut_mm, forecast.lasting_gain_mm
    deepest, most = plan.deepest_site(-cut), int(np.argmax(gain))
    if cut[deepest] >= -plan.limits.least_cut_mm:
        return [say("plan.explain.no_cut")]
    said = [
        say("plan.explain.deepest_cut", depth_mm=float(-cut[deepest]), station_deg=float(STATIONS_DEG[deepest])),
        say("plan.explain.lasting_gain", gain_mm=float(gain[most]), station_deg=float(STATIONS_DEG[most])),
    ]
    if forecast.will_not_last.any():
        said.append(say("plan.explain.will_not_last"))
    if forecast.only_to_see[plan.sites].any():
        said.append(say("plan.explain.only_to_see", least_mm=plan.limits.hand_step_mm))
    return said

"""Whether gum is cut first and anything greater decided on the settled margin: the chance it takes, and the conditions."""

from collections.abc import Sequence
from dataclasses import dataclass

import numpy as np

from collum.core.ring import STATIONS_DEG, angular_distance_deg
from collum.evidence.handed import PlanLimits
from collum.plan.lengthening.choice.burdens import Circumstances, burden_of
from collum.plan.lengthening.procedures.lines import RoutePlan
from collum.plan.lengthening.procedures.registry import procedure_of
from collum.plan.lengthening.requirements.places import PROXIMAL, SIDES
from collum.plan.lengthening.requirements.table import REQUIREMENTS
from collum.plan.lengthening.route import Route

_TENTHS = 10


@dataclass(frozen=True, slots=True, kw_only=True)
class Staged:
    """A start with gum alone: enough in about `of_ten` of 10; `otherwise` the route that follows, None without an open one.

    `likely`: the route that follows would itself be recommended. `accepted`: the patient accepts a second operation; else that
    is still to be asked.
    """

    of_ten: int
    otherwise: Route | None
    likely: bool
    accepted: bool


def staged_start(route: Route, following: Route | None, greater: Sequence[Route], around: Circumstances) -> Staged | None:
    """Return how a route in doubt may go first; None where it may not.

    `following`: the greater route that would be recommended, if any; `greater`: all of them, least burden first.
    """
    plan, procedure, chance = route.plan, procedure_of(route.name), route.chance
    if plan is None or chance is None or route.verdict != "in doubt" or not procedure.goes_first:
        return None
    if around.two_operations is False or not (_clear_of_bone(plan) and _leaves_tissue(plan, around.limits)):
        return None
    if _lacks_proximal_bone(plan, around.limits):
        return None
    otherwise = following or next((one for one in greater if one.verdict in ("kept", "in doubt")), None)
    then = around.limits.burden_replacement if otherwise is None else burden_of(procedure_of(otherwise.name), around)
    if chance <= burden_of(procedure, around) / then:
        return None
    return Staged(
        of_ten=of_ten(chance),
        otherwise=otherwise,
        likely=following is not None,
        accepted=around.two_operations is True,
    )


def of_ten(chance: float) -> int:
    """Return a chance as so many of ten; what is in doubt is never none and never all of them."""
    return min(max(round(_TENTHS * chance), 1), _TENTHS - 1)


def _clear_of_bone(plan: RoutePlan) -> bool:
    graded = plan.assessment.graded.get("clear_of_bone")
    return graded is None or graded.verdict == "kept"


def _leaves_tissue(plan: RoutePlan, limits: PlanLimits) -> bool:
    """Return whether enough keratinised tissue is left for a flap later on; True where the rule asks for none."""
    graded = plan.assessment.graded.get("keratinised_tissue_left")
    if graded is None:
        return True
    rule = plan.wishes.rule("keratinised_tissue_left")
    left_mm = graded.least + rule.limit
    return float(np.mean(left_mm >= limits.staged_keratinised_mm)) >= rule.confidence


def _lacks_proximal_bone(plan: RoutePlan, limits: PlanLimits) -> bool:
    """Return whether the height over bone lacks between the teeth: cutting gum there gains nothing."""
    graded = (plan.assessment.graded.get(requirement.id) for requirement in REQUIREMENTS if requirement.over_bone)
    places = [found.worst_station for found in graded if found is not None and found.verdict != "kept"]
    return any(_between_teeth(station, limits) for station in places if station is not None)


def _between_teeth(station: int, limits: PlanLimits) -> bool:
    sides = np.array([float(SIDES[side]) for side in PROXIMAL])
    near = angular_distance_deg(sides, float(STATIONS_DEG[station])).min()
    return bool(near <= limits.between_teeth_half_width_deg)

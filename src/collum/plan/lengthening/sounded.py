"""Where the bone was read, and where a route works in the gum over bone that was not: there its depth is an estimate."""

import numpy as np

from collum.case.model import site_angle_deg
from collum.plan.lengthening.grounds import Question
from collum.plan.lengthening.levels.inputs import Inputs
from collum.plan.lengthening.requirements.situation import nearest_station
from collum.plan.lengthening.route import Route
from collum.plan.lengthening.tooth_plan import ToothPlan
from collum.plan.sentence import say

_SOUNDING = "sounding"
_OFFERED = ("kept", "in doubt")


def any_bone_read(inputs: Inputs) -> bool:
    """Return whether the crest was read anywhere at the tooth; else its height is only what is believed beforehand."""
    return bool(inputs.levels.soundings)


def bone_read(inputs: Inputs, site: str) -> bool:
    """Return whether a sounding, or a film, met the crest at the site; a probe that did not reach it tells no depth."""
    here = nearest_station(site_angle_deg(site))
    return any(nearest_station(reading.theta_deg) == here for reading in inputs.levels.soundings if not reading.beyond)


def soundings_asked(plan: ToothPlan) -> tuple[Question, ...]:
    """Return one question for each site where a route that is offered takes gum or bone though the crest was not read there.

    A film is asked for instead where the patient may not be sounded. Where it was read nowhere one question says so for the
    whole tooth: the rules on bone are not assessed then.
    """
    inputs, instead = plan.prepared.inputs, _instead(plan)
    if not any_bone_read(inputs):
        return (Question(id=f"no_{instead}", said=say(f"plan.question.no_{instead}")),)
    unread = [site for site in inputs.tooth.sites if not bone_read(inputs, site)]
    worked = [_worked(route) for route in plan.routes if route.verdict in _OFFERED]
    return tuple(
        Question(
            id=f"{instead}_at",
            said=say(f"plan.question.{instead}_at", site=site),
            site=site,
            reading="bone_sounding" if instead == _SOUNDING else None,
        )
        for site in unread
        if any(places[nearest_station(site_angle_deg(site))] for places in worked)
    )


def _instead(plan: ToothPlan) -> str:
    """Return how the crest is read: by sounding, or by a film where the patient's jaw or blood forbids that."""
    patient = plan.findings.patient
    film = any(one.row.film_first or one.row.no_sounding for one in patient.found) or patient.closing("readings")
    return "film" if film else _SOUNDING


def _worked(route: Route) -> np.ndarray:
    """Return (36,) bool: stations where the route takes gum or bone."""
    assert route.plan is not None
    least = route.plan.limits.least_cut_mm
    return np.asarray((route.plan.cut_mm < -least) | (route.plan.treatment.bone_mm > least))

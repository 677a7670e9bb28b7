"""The course of a route after it is chosen: steps in order, earliest times with their reasons, the order for the provisional,
and advice for the trough at the impression visit.

The interim finish line, on the day of the cut, lies at or coronal of the expected settled margin; the definitive one is placed
against the margin measured once it has settled.
"""

import numpy as np

from collum.case.model import Tooth
from collum.core.ring import Floats
from collum.plan.lengthening.levels.prepared import Prepared
from collum.plan.lengthening.procedures.procedure import Timing
from collum.plan.lengthening.procedures.registry import procedure_of
from collum.plan.lengthening.route import Route
from collum.plan.lengthening.wishes import Wishes
from collum.plan.sentence import Sentence, say


def staged(route: Route, tooth: Tooth) -> tuple[Sentence, ...]:
    """Return the steps of a route in order; none where it offers no lines."""
    if route.plan is None or route.verdict == "not needed":
        return ()
    core = tooth.facts.core
    planned = core is not None and core.planned is True
    steps = procedure_of(route.name).steps_of(route.plan.treatment)
    return tuple(say(f"plan.step.{step}") for step in (*(("core",) if planned else ()), *steps))


def timing(route: Route, tooth: Tooth) -> tuple[Timing, ...]:
    """Return the earliest times of a route, in order."""
    if route.plan is None or route.verdict == "not needed":
        return ()
    return procedure_of(route.name).timing(tooth, route.plan.treatment, route.plan.prepared.evidence)


def weeks_to_final(route: Route, tooth: Tooth) -> float | None:
    """Return the weeks until the definitive finish line may be placed; 0 where nothing has to heal."""
    if route.plan is None:
        return None
    return max((t.weeks for t in timing(route, tooth)), default=0)


def operations(route: Route) -> int:
    """Return how many operations the route takes before the restoration."""
    if route.plan is None or route.verdict == "not needed":
        return 0
    return procedure_of(route.name).operations(trimmed=route.plan.cuts_gum)


def interim_mm(route: Route) -> Floats | None:
    """Return (36,) the interim finish line: at or coronal of the expected settled margin, never under the fresh margin."""
    if route.plan is None or route.forecast is None:
        return None
    down = route.plan.treatment.extruded_mm
    return np.maximum(route.forecast.full_return_mm, np.maximum(route.plan.finish_mm, route.plan.cut_mm) - down)


def provisional_mm(route: Route) -> Floats | None:
    """Return (36,) the margin of the provisional: coronal of the cut edge, clear of the wound, and of its own finish line;
    None where nothing is cut.
    """
    if route.plan is None or not procedure_of(route.name).lengthens or route.verdict == "not needed":
        return None
    clear_of_wound = route.plan.cut_mm - route.plan.treatment.extruded_mm + route.plan.limits.provisional_short_mm
    interim = interim_mm(route)
    return clear_of_wound if interim is None else np.maximum(clear_of_wound, interim)


def provisional(route: Route) -> tuple[Sentence, ...]:
    """Return the order for the provisional."""
    if route.plan is None or provisional_mm(route) is None:
        return ()
    return (
        say("plan.provisional.margin", short_mm=route.plan.limits.provisional_short_mm),
        say("plan.provisional.cleansable"),
        say("plan.provisional.ruler"),
    )


def trough(route: Route, prepared: Prepared, wishes: Wishes) -> tuple[Sentence, ...]:
    """Return advice for the trough: a task of its own, at the impression visit, only where the line lies in the sulcus."""
    if route.plan is None:
        return ()
    if wishes.low_mm >= 0:
        return (say("plan.trough.not_needed"),)
    tooth = prepared.inputs.tooth
    advice = [say("plan.trough.when"), say("plan.trough.depth", depth_mm=prepared.limits.trough_past_finish_mm)]
    if prepared.inputs.phenotype == "thin":
        advice.append(say("plan.trough.thin"))
    if tooth.bleeding:
        advice.append(say("plan.trough.bleeding"))
    if tooth.facts.implant_beside is True or tooth.facts.metal:
        advice.append(say("plan.trough.metal"))
    return tuple(advice)

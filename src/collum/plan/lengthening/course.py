"""The course of a route after it is chosen: steps in order, earliest times with their reasons, the order for the provisional,
and advice for the trough at the impression visit.

The interim finish line, on the day of the cut, lies at or coronal of the expected settled margin; the definitive one is placed
against the margin measured once it has settled.
"""

from collections.abc import Mapping
from dataclasses import dataclass
from typing import Literal

import numpy as np

from collum.case.model import Tooth
from collum.core.ring import Floats
from collum.evidence import value
from collum.evidence.handed import Evidence
from collum.plan.lengthening.levels.prepared import Prepared
from collum.plan.lengthening.route import Route
from collum.plan.lengthening.wishes import Wishes, is_front
from collum.plan.sentence import Sentence, say

Step = Literal["extrusion_and_holding", "definitive_finish_line", "definitive_finish_line_visible"]


@dataclass(frozen=True, slots=True, kw_only=True)
class Timing:
    """The earliest time of a step, in weeks after the operation, the rule and the constant it rests on."""

    step: Step
    weeks: float
    reason: Sentence
    evidence: str


def staged(route: Route, tooth: Tooth) -> tuple[Sentence, ...]:
    """Return the steps of a route in order; none where it offers no lines."""
    if route.plan is None or route.verdict == "not needed":
        return ()
    steps = {
        "restore without lengthening": ("prepare", "restore"),
        "soft tissue only": ("mark", "cut", "provisional", "settle", "measure_margin", "definitive"),
        "soft tissue and bone": ("consent_bone", "flap", "provisional", "settle", "measure_margin", "definitive"),
        "extrusion first": ("anchor", "raise", "hold", "measure_again", "trim", "definitive"),
    }[route.name]
    core = tooth.recorded.get("core")
    planned = isinstance(core, Mapping) and core.get("planned") is True
    return tuple(say(f"plan.step.{step}") for step in (*(("core",) if planned else ()), *steps))


def timing(route: Route, tooth: Tooth) -> tuple[Timing, ...]:
    """Return the earliest times of a route, in order."""
    if route.plan is None or route.verdict == "not needed":
        return ()
    evidence = route.plan.prepared.evidence
    front, visible = is_front(tooth.number), tooth.restoration.visible_zone is True
    if route.name == "soft tissue only":
        key = f"healing.wait.soft_tissue_{'front' if front else 'back'}_weeks"
        return (_at("definitive_finish_line", key, "soft_tissue", evidence),)
    if route.name == "soft tissue and bone":
        if visible:
            return (_at("definitive_finish_line_visible", "healing.wait.bone_visible_weeks", "bone_visible", evidence),)
        return (_at("definitive_finish_line", "healing.wait.bone_weeks", "bone", evidence),)
    if route.name == "extrusion first":
        moving = route.plan.act.extruded_mm * evidence.healing.extrusion_weeks_per_mm
        holding = "healing.extrusion.holding_weeks"
        still = evidence.values[holding]
        reason = say("plan.timing.extrusion", moving_weeks=float(np.ceil(moving)), holding_weeks=still)
        weeks = float(np.ceil(moving)) + still
        return (Timing(step="extrusion_and_holding", weeks=weeks, reason=reason, evidence=holding),)
    return ()


def weeks_to_final(route: Route, tooth: Tooth) -> float | None:
    """Return the weeks until the definitive finish line may be placed; 0 where nothing has to heal."""
    if route.plan is None:
        return None
    return max((t.weeks for t in timing(route, tooth)), default=0)


def operations(route: Route) -> int:
    """Return how many operations the route takes before the restoration."""
    if route.plan is None or route.verdict == "not needed":
        return 0
    trimmed = bool((route.plan.cut_mm < -value("plan.least_cut_mm")).any())
    counts = {
        "restore without lengthening": 0,
        "soft tissue only": 1,
        "soft tissue and bone": 1,
        "extrusion first": 1 + trimmed,
    }
    return counts[route.name]


def interim_mm(route: Route) -> Floats | None:
    """Return (36,) the interim finish line: at or coronal of the expected settled margin, never under the fresh margin."""
    if route.plan is None or route.forecast is None:
        return None
    down = route.plan.act.extruded_mm
    return np.maximum(route.forecast.full_return_mm, np.maximum(route.plan.finish_mm, route.plan.cut_mm) - down)


def provisional_mm(route: Route) -> Floats | None:
    """Return (36,) the margin of the provisional: coronal of the cut edge, clear of the wound, and of its own finish line;
    None where nothing is cut.
    """
    if route.plan is None or route.name == "restore without lengthening" or route.verdict == "not needed":
        return None
    clear_of_wound = route.plan.cut_mm - route.plan.act.extruded_mm + value("plan.provisional_short_mm")
    interim = interim_mm(route)
    return clear_of_wound if interim is None else np.maximum(clear_of_wound, interim)


def provisional(route: Route) -> tuple[Sentence, ...]:
    """Return the order for the provisional."""
    if provisional_mm(route) is None:
        return ()
    return (
        say("plan.provisional.margin", short_mm=value("plan.provisional_short_mm")),
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
    advice = [say("plan.trough.when"), say("plan.trough.depth", depth_mm=value("plan.trough_past_finish_mm"))]
    if prepared.inputs.phenotype == "thin":
        advice.append(say("plan.trough.thin"))
    if tooth.bleeding:
        advice.append(say("plan.trough.bleeding"))
    if tooth.recorded.get("implant_beside") is True or tooth.recorded.get("metal"):
        advice.append(say("plan.trough.metal"))
    return tuple(advice)


def _at(step: Step, key: str, reason: str, evidence: Evidence) -> Timing:
    weeks = evidence.values[key]
    return Timing(step=step, weeks=weeks, reason=say(f"plan.timing.{reason}", weeks=weeks), evidence=key)

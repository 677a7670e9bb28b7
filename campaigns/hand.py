"""Lines that a hand can make, against lines of least burden alone: what it costs in gum, lasting gain, chance and verdicts.

Every route that is planned counts once. Lines are looked at as the plan has them, without the checks of the solver: slopes and
changes of depth are taken here from the heights at the stations.
"""

import time
from collections import Counter
from collections.abc import Iterable
from dataclasses import dataclass

import numpy as np

from collum.case import Case
from collum.plan import ToothPlan, plan_tooth
from tests.measuring.necks import drawn_neck

DRAWS = 4_000
CURRENT = "soft tissue only"


@dataclass(frozen=True, slots=True, kw_only=True)
class Measured:
    """One route of one tooth: mm, mm2 of gum cut, slopes in mm a mm of arc, CPU seconds of the whole plan of the tooth."""

    tooth: str
    route: str
    verdict: str
    chance: float | None
    weakest: float | None
    cut_mm2: float | None
    lasting_mm: float | None
    steepest_change: float | None
    steepest_margin: float | None
    seconds: float


def measured(cases: Iterable[Case]) -> list[Measured]:
    """Return every route of the first tooth of each case."""
    found = []
    for case in cases:
        prepared = drawn_neck(case, DRAWS)
        began = time.process_time()
        plan = plan_tooth(case, 0, prepared)
        seconds = time.process_time() - began
        found += [_of_route(case, plan, route.name, seconds) for route in plan.routes]
    return found


def _of_route(case: Case, plan: ToothPlan, name: str, seconds: float) -> Measured:
    route = next(one for one in plan.routes if one.name == name)
    who = {"tooth": case.patient.reference, "route": str(name), "verdict": route.verdict, "seconds": round(seconds, 3)}
    if route.plan is None or route.forecast is None:
        nothing = dict.fromkeys(("chance", "weakest", "cut_mm2", "lasting_mm", "steepest_change", "steepest_margin"))
        return Measured(**who, **nothing)
    arc = np.diff(np.append(plan.arc_mm, plan.arc_mm[0] + plan.perimeter_mm))
    cut, margin = route.plan.cut_mm, plan.prepared.margin_mm
    chances = [g.probability for g in route.plan.assessment.graded.values() if g is not None and g.verdict != "wish"]
    figures = {
        "chance": route.plan.assessment.joint_probability,
        "weakest": min(chances, default=None),
        "cut_mm2": float(-cut @ arc),
        "lasting_mm": float(np.max(route.forecast.lasting_gain_mm)),
        "steepest_change": float(np.max(np.abs(np.roll(cut, -1) - cut) / arc)),
        "steepest_margin": float(np.max(np.abs(np.roll(margin + cut, -1) - margin - cut) / arc)),
    }
    return Measured(**who, **{key: None if mm is None else round(mm, 4) for key, mm in figures.items()})


def summary(found: list[Measured]) -> dict[str, object]:
    """Return means by route over what is planned, with the steepest slopes, the verdicts, and seconds a tooth."""
    routes: dict[str, dict[str, object]] = {}
    for name in sorted({one.route for one in found}):
        of_route = [one for one in found if one.route == name]
        planned = [one for one in of_route if one.cut_mm2 is not None]
        routes[name] = {
            "verdicts": dict(sorted(Counter(one.verdict for one in of_route).items())),
            "planned": len(planned),
            **{key: _mean(getattr(one, key) for one in planned) for key in ("chance", "cut_mm2", "lasting_mm")},
            **{key: _most(getattr(one, key) for one in planned) for key in ("steepest_change", "steepest_margin")},
        }
    seconds = {one.tooth: one.seconds for one in found}
    return {"teeth": len(seconds), "seconds_a_tooth": _mean(seconds.values()), "routes": routes}


def _mean(amounts: Iterable[float | None]) -> float | None:
    known = [amount for amount in amounts if amount is not None]
    return round(float(np.mean(known)), 4) if known else None


def _most(amounts: Iterable[float | None]) -> float | None:
    known = [amount for amount in amounts if amount is not None]
    return round(max(known), 4) if known else None

"""The route *restore without lengthening*: nothing is cut; the restoration asks for less.

What the dentist wished is tried first, then step by step what a short preparation can be given: a thinner occlusal surface,
less convergence, proximal grooves or boxes. The first that is kept is taken; else the one that stands best.
"""

from collections.abc import Iterator
from dataclasses import dataclass, replace

import numpy as np

from collum.case.model import Tooth
from collum.core import tooth as anatomy
from collum.evidence import value
from collum.plan.lengthening.grounds import AS_WISHED, Concessions
from collum.plan.lengthening.levels.prepared import Prepared, thinned
from collum.plan.lengthening.procedures.act import Act
from collum.plan.lengthening.procedures.soft_tissue import STEER_BY_EVERY, RoutePlan, plan_soft_tissue
from collum.plan.lengthening.requirements.requirements import WISHED, least_of
from collum.plan.lengthening.solver.bounds import bounds_of, programme_of
from collum.plan.lengthening.solver.programme import solve
from collum.plan.lengthening.wishes import Wishes

_MENDED = ("preparation_height", "resistance", "definitive_finish_line")


@dataclass(frozen=True, slots=True, kw_only=True)
class Concession:
    """Wishes after giving up something, and what is given up."""

    wishes: Wishes
    given_up: Concessions


def plan_without_lengthening(prepared: Prepared, wishes: Wishes, *, arc_mm: float) -> tuple[RoutePlan, Concessions]:
    """Return the plan of the route with the least that has to be given up, and what that is."""
    best = concession_of(prepared, wishes, arc_mm=arc_mm)
    return plan_soft_tissue(prepared, best.wishes, _act(best), arc_mm=arc_mm), best.given_up


def concession_of(prepared: Prepared, wishes: Wishes, *, arc_mm: float) -> Concession:
    """Return the least concession with which the route is kept, else the one with which it stands best."""
    few = thinned(prepared, STEER_BY_EVERY)
    tried: list[tuple[float, Concession]] = []
    for concession in concessions(prepared.inputs.tooth, wishes):
        missed_by = _missed_by(few, concession, arc_mm=arc_mm)
        tried.append((-max(missed_by.values(), default=0), concession))
        if tried[-1][0] >= 0 or not any(missed_by.get(name, 0) > 0 for name in _MENDED):
            break
    return max(tried, key=lambda pair: pair[0])[1]


def concessions(tooth: Tooth, wishes: Wishes) -> Iterator[Concession]:
    """Give the wishes as they are, then with ever more given up; steps that change nothing are left out."""
    now = Concession(wishes=wishes, given_up=AS_WISHED)
    yield now
    thin = value("restoration.monolithic_zirconia.occlusal_mm")
    if wishes.reduction_mm > thin:
        less = replace(wishes, reduction_mm=thin, top_mm=wishes.top_mm + wishes.reduction_mm - thin)
        now = Concession(wishes=less, given_up=Concessions(occlusal_reduction_mm=thin))
        yield now
    narrow = value("plan.without.convergence_deg")
    if wishes.convergence_deg > narrow:
        less = replace(now.wishes, convergence_deg=narrow)
        now = Concession(wishes=less, given_up=replace(now.given_up, convergence_deg=narrow))
        yield now
    grooved = _grooved(tooth, now.wishes)
    asked, eased = (w.rule("preparation_height").limit for w in (now.wishes, grooved))
    height_mm = None if eased == asked else eased
    yield Concession(wishes=grooved, given_up=replace(now.given_up, grooves=True, preparation_height_mm=height_mm))


def _grooved(tooth: Tooth, wishes: Wishes) -> Wishes:
    """Return the wishes with the height that grooved molars need; other teeth may be that short without."""
    rule = wishes.rule("preparation_height")
    key = "plan.limit.preparation_height_with_grooves_mm"
    if anatomy.tooth_class(tooth.number) != "molar" or rule.limit <= value(key):
        return wishes
    eased = replace(rule, limit=value(key), evidence=(key, *rule.evidence[1:]))
    return replace(wishes, rules={**wishes.rules, "preparation_height": eased})


def _act(concession: Concession) -> Act:
    return Act(route="restore without lengthening", grooves=concession.given_up.grooves)


def _missed_by(prepared: Prepared, concession: Concession, *, arc_mm: float) -> dict[str, float]:
    """Return by how much every required rule misses its confidence with the first lines the programme gives."""
    wishes, act = concession.wishes, _act(concession)
    lines = solve(programme_of(prepared, wishes, bounds_of(prepared, wishes, act), {}, act, arc_mm=arc_mm))
    least = least_of(prepared, wishes, lines.cut_mm, lines.finish_mm, act)
    return {
        name: wishes.rule(name).confidence - float(np.mean(amounts >= 0))
        for name, amounts in least.items()
        if name not in WISHED
    }

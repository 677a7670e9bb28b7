"""What a restoration that cuts nothing gives up of the wishes: the least that lacks least in millimetres.

What the dentist wished is tried first, then step by step what a short preparation can be given: a thinner occlusal surface,
less convergence, proximal grooves or boxes, a little of an opposing tooth that has over-erupted, a bite raised on all
opposing contacts. The first with which nothing lacks is taken; else the one that lacks least. No step gives more than there is.
"""

from collections.abc import Iterator, Mapping
from dataclasses import dataclass, replace

import numpy as np

from collum.case.model import Tooth
from collum.core import tooth as anatomy
from collum.core.ring import Floats
from collum.evidence import value
from collum.evidence.handed import PlanLimits
from collum.plan.lengthening.grounds import AS_WISHED, Concessions, Gain
from collum.plan.lengthening.levels.prepared import Prepared, thinned
from collum.plan.lengthening.procedures.lines import STEER_BY_EVERY, RoutePlan, clear_lines, judge_as_printed
from collum.plan.lengthening.procedures.procedure import Concession, Procedure, Treatment, after
from collum.plan.lengthening.requirements.assessment import least_of
from collum.plan.lengthening.requirements.requirement import Input
from collum.plan.lengthening.requirements.table import decides, requirement_of
from collum.plan.lengthening.solver.bounds import bounds_of, programme_of
from collum.plan.lengthening.solver.programme import Lines, solve
from collum.plan.lengthening.wishes import Wishes

_GIVEN: tuple[Input, ...] = ("occlusal_reduction", "convergence", "grooves")
_COMPARED_TO_MM = 1  # decimals: what differs by less lacks equally much


class Conceding(Procedure):
    """A procedure that cuts and moves nothing; the preparation is changed instead."""

    lengthens = False

    def plan(self, prepared: Prepared, wishes: Wishes, *, returns_whole: bool, arc_mm: float) -> RoutePlan:
        """Return the plan with the least that has to be given up, what that is and what it brings."""
        before = self._begun(prepared, wishes)
        treated = after(prepared, before)
        tried = self._tried(treated, wishes, before, arc_mm=arc_mm)
        best = _least_lacking(tried).concession
        treatment = replace(before, grooves=best.given_up.grooves)
        lines = self.drawn(clear_lines(treated, best.wishes, treatment, arc_mm=arc_mm), treatment, treated.limits)
        planned = judge_as_printed(treated, best.wishes, lines, treatment)
        gain = None if best.given_up == AS_WISHED else _gain(tried[0].lacking_mm, planned)
        return replace(planned, concessions=best.given_up, gain=gain)

    def conceded(self, prepared: Prepared, wishes: Wishes, *, arc_mm: float) -> Concession:
        """Return the least concession with which nothing lacks, else the one with which least does."""
        before = self._begun(prepared, wishes)
        return _least_lacking(self._tried(after(prepared, before), wishes, before, arc_mm=arc_mm)).concession

    def drawn(self, lines: Lines, treatment: Treatment, limits: PlanLimits) -> Lines:
        """Return the solved lines as the procedure draws them."""
        return lines

    def operations(self, *, trimmed: bool) -> int:
        """Return that there is none."""
        return 0

    def _begun(self, prepared: Prepared, wishes: Wishes) -> Treatment:
        return Treatment(procedure=self, raised=self.raised_at(prepared, wishes))

    def _tried(self, prepared: Prepared, wishes: Wishes, treatment: Treatment, *, arc_mm: float) -> tuple["_Tried", ...]:
        """Return the concessions tried in order, up to the first that is enough or that nothing more would mend."""
        few, found = thinned(prepared, STEER_BY_EVERY), []
        for concession in concessions(prepared.inputs.tooth, wishes, prepared.limits):
            grooved = replace(treatment, grooves=concession.given_up.grooves)
            lacking = self._with_first_lines(few, concession.wishes, grooved, arc_mm=arc_mm)
            found.append(_Tried(concession=concession, lacking_mm=lacking))
            if not any(mm for name, mm in lacking.items() if _is_eased(name)):
                break
        return tuple(found)

    def _with_first_lines(
        self, prepared: Prepared, wishes: Wishes, treatment: Treatment, *, arc_mm: float
    ) -> Mapping[str, float]:
        """Return what each decisive requirement lacks with the first lines that the programme gives. [mm]"""
        programme = programme_of(prepared, wishes, bounds_of(prepared, wishes, treatment), {}, treatment, arc_mm=arc_mm)
        lines = self.drawn(solve(programme), treatment, prepared.limits)
        return _lacking(least_of(prepared, wishes, lines.cut_mm, lines.finish_mm, treatment), wishes)


def concessions(tooth: Tooth, wishes: Wishes, limits: PlanLimits) -> Iterator[Concession]:
    """Give the wishes as they are, then with ever more given up; steps that change nothing are left out."""
    now = Concession(wishes=wishes, given_up=AS_WISHED)
    yield now
    thin = value("restoration.monolithic_zirconia.occlusal_mm")
    if wishes.reduction_mm > thin:
        less = replace(wishes, reduction_mm=thin, top_mm=wishes.top_mm + wishes.reduction_mm - thin)
        now = Concession(wishes=less, given_up=Concessions(occlusal_reduction_mm=thin))
        yield now
    narrow = limits.without_convergence_deg
    if wishes.convergence_deg > narrow:
        less = replace(now.wishes, convergence_deg=narrow)
        now = Concession(wishes=less, given_up=replace(now.given_up, convergence_deg=narrow))
        yield now
    grooved = _grooved(tooth, now.wishes, limits.preparation_height_with_grooves_mm)
    asked, eased = (w.rule("preparation_height").limit for w in (now.wishes, grooved))
    height_mm = None if eased == asked else eased
    now = Concession(wishes=grooved, given_up=replace(now.given_up, grooves=True, preparation_height_mm=height_mm))
    yield now
    for step in (_opposing_trimmed, _bite_raised):
        raised = step(tooth, now, limits)
        if raised is not None:
            now = raised
            yield now


def _grooved(tooth: Tooth, wishes: Wishes, limit_mm: float) -> Wishes:
    """Return the wishes with the height that grooved molars need; other teeth may be that short without."""
    rule = wishes.rule("preparation_height")
    key = "plan.limit.preparation_height_with_grooves_mm"
    if anatomy.tooth_class(tooth.number) != "molar" or rule.limit <= limit_mm:
        return wishes
    eased = replace(rule, limit=limit_mm, evidence=(key, *rule.evidence[1:]))
    return replace(wishes, rules={**wishes.rules, "preparation_height": eased})


def _opposing_trimmed(tooth: Tooth, now: Concession, limits: PlanLimits) -> Concession | None:
    """Return the concession with the opposing tooth trimmed within its enamel, by no more than it has over-erupted."""
    mm = _room_mm(tooth, now, min(tooth.facts.opposing_over_erupted_mm or 0, limits.opposing_trimmed_most_mm))
    return None if mm < limits.short_by_least_mm else _higher(now, mm, replace(now.given_up, opposing_mm=mm))


def _bite_raised(tooth: Tooth, now: Concession, limits: PlanLimits) -> Concession | None:
    """Return the concession with the bite raised as far as a planned build-up of all opposing contacts raises it."""
    mm = _room_mm(tooth, now, tooth.facts.bite_raise_mm or 0)
    return None if mm < limits.short_by_least_mm else _higher(now, mm, replace(now.given_up, bite_mm=mm))


def _room_mm(tooth: Tooth, now: Concession, most_mm: float) -> float:
    """Return how much of a higher bite a preparation can use: it reaches no higher than the tooth today, or its core."""
    core = tooth.facts.core
    return most_mm if core is not None and core.expected else min(most_mm, max(-now.wishes.top_mm, 0))


def _higher(now: Concession, higher_mm: float, given_up: Concessions) -> Concession:
    return Concession(wishes=replace(now.wishes, top_mm=now.wishes.top_mm + higher_mm), given_up=given_up)


@dataclass(frozen=True, slots=True, kw_only=True)
class _Tried:
    """A concession with what every decisive requirement lacks with the first lines that the programme gives. [mm]"""

    concession: Concession
    lacking_mm: Mapping[str, float]


def _least_lacking(tried: tuple[_Tried, ...]) -> _Tried:
    """Return the one that lacks least, the worst requirement compared first; of equals the one that gives up least."""
    return min(tried, key=lambda one: sorted((round(mm, _COMPARED_TO_MM) for mm in one.lacking_mm.values()), reverse=True))


def _lacking(least: Mapping[str, Floats], wishes: Wishes) -> dict[str, float]:
    """Return what each decisive requirement lacks to its confidence. [mm]"""
    return {
        name: max(0.0, -float(np.quantile(amounts, 1 - wishes.rule(name).confidence)))
        for name, amounts in least.items()
        if decides(name)
    }


def _gain(as_wished_mm: Mapping[str, float], planned: RoutePlan) -> Gain | None:
    """Return what giving up brings to the requirement that gains most; None where none lacked anything as wished."""
    graded = {name: g.least for name, g in planned.assessment.graded.items() if g is not None}
    lacking = _lacking(graded, planned.wishes)
    gained = {name: mm - lacking.get(name, 0.0) for name, mm in as_wished_mm.items() if _is_eased(name)}
    most = max(gained, key=lambda name: gained[name], default=None)
    if most is None or gained[most] < planned.limits.short_by_least_mm:
        return None
    return Gain(requirement=most, gained_mm=gained[most], lacked_mm=as_wished_mm[most], lacking_mm=lacking.get(most, 0.0))


def _is_eased(name: str) -> bool:
    """Return whether giving up wishes for the preparation helps a requirement."""
    return any(change.input in _GIVEN for change in requirement_of(name).helps)

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
_COMPARED_DECIMALS = 2  # of a millimetre: what differs by less lacks equally much


class Conceding(Procedure):
    """A procedure that cuts and moves nothing; the preparation is changed instead."""

    lengthens = False

    def plan(self, prepared: Prepared, wishes: Wishes, *, returns_whole: bool, arc_mm: float) -> RoutePlan:
        """Return the plan with the least that has to be given up, what that is and what it brings."""
        before = self._begun(prepared, wishes)
        treated = after(prepared, before)
        as_wished, best = self._best(treated, wishes, before, arc_mm=arc_mm)
        given_up = best.concession.given_up
        gain = None if given_up == AS_WISHED else _gain(as_wished, best)
        return replace(best.plan, concessions=given_up, gain=gain)

    def conceded(self, prepared: Prepared, wishes: Wishes, *, arc_mm: float) -> Concession:
        """Return the least concession with which nothing lacks, else the one with which least does."""
        before = self._begun(prepared, wishes)
        return self._best(after(prepared, before), wishes, before, arc_mm=arc_mm)[1].concession

    def given_up(self, tooth: Tooth, wishes: Wishes, limits: PlanLimits) -> Iterator[Concession]:
        """Give the wishes as the procedure takes them, then with ever more given up."""
        return concessions(tooth, wishes, limits)

    def drawn(self, lines: Lines, treatment: Treatment, limits: PlanLimits) -> Lines:
        """Return the solved lines as the procedure draws them."""
        return lines

    def operations(self, *, trimmed: bool) -> int:
        """Return that there is none."""
        return 0

    def _begun(self, prepared: Prepared, wishes: Wishes) -> Treatment:
        return Treatment(procedure=self, raised=self.raised_at(prepared, wishes))

    def _best(
        self, prepared: Prepared, wishes: Wishes, treatment: Treatment, *, arc_mm: float
    ) -> tuple[Mapping[str, float], "_Planned"]:
        """Return what lacks as wished, and the plan of the concession that lacks least.

        The first lines that the programme gives say from which concession on it is worth planning whole.
        """
        few, steps = thinned(prepared, STEER_BY_EVERY), tuple(self.given_up(prepared.inputs.tooth, wishes, prepared.limits))
        first: list[Mapping[str, float]] = []
        for step in steps:
            grooved = replace(treatment, grooves=step.given_up.grooves)
            first.append(self._with_first_lines(few, step.wishes, grooved, arc_mm=arc_mm))
            if _is_enough(first[-1]):
                break
        planned: list[_Planned] = []
        for step in steps[min(range(len(first)), key=lambda place: _worst_first(first[place])) :]:
            planned.append(self._with_best_lines(prepared, step, treatment, arc_mm=arc_mm))
            if _is_enough(planned[-1].lacking_mm):
                break
        return first[0], min(planned, key=lambda one: _worst_first(one.lacking_mm))

    def _with_best_lines(
        self, prepared: Prepared, concession: Concession, treatment: Treatment, *, arc_mm: float
    ) -> "_Planned":
        grooved, wishes = replace(treatment, grooves=concession.given_up.grooves), concession.wishes
        lines = self.drawn(clear_lines(prepared, wishes, grooved, arc_mm=arc_mm), grooved, prepared.limits)
        plan = judge_as_printed(prepared, wishes, lines, grooved)
        least = {name: g.least for name, g in plan.assessment.graded.items() if g is not None}
        return _Planned(concession=concession, plan=plan, lacking_mm=_lacking(least, wishes))

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
        now = thinner(now, thin)
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
    yield from with_more_bite(tooth, now, limits)


def thinner(now: Concession, thin_mm: float) -> Concession:
    """Return the concession with an occlusal surface of that thickness."""
    return Concession(wishes=with_reduction(now.wishes, thin_mm), given_up=replace(now.given_up, occlusal_reduction_mm=thin_mm))


def with_reduction(wishes: Wishes, reduction_mm: float) -> Wishes:
    """Return the wishes with another occlusal reduction."""
    return replace(wishes, reduction_mm=reduction_mm, top_mm=wishes.top_mm + wishes.reduction_mm - reduction_mm)


def with_more_bite(tooth: Tooth, now: Concession, limits: PlanLimits) -> Iterator[Concession]:
    """Give the concession with a little of the opposing tooth, then with a raised bite, where there is something to gain."""
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
class _Planned:
    """A concession with its plan and with what every decisive requirement lacks on it. [mm]"""

    concession: Concession
    plan: RoutePlan
    lacking_mm: Mapping[str, float]


def _worst_first(lacking_mm: Mapping[str, float]) -> list[float]:
    """Return what lacks, the worst requirement first: of two lists that are alike the earlier concession counts."""
    return sorted((round(mm, _COMPARED_DECIMALS) for mm in lacking_mm.values()), reverse=True)


def _is_enough(lacking_mm: Mapping[str, float]) -> bool:
    """Return whether nothing lacks that giving up more would mend."""
    return not any(mm for name, mm in lacking_mm.items() if _is_eased(name))


def _lacking(least: Mapping[str, Floats], wishes: Wishes) -> dict[str, float]:
    """Return what each decisive requirement lacks to its confidence. [mm]"""
    return {
        name: max(0.0, -float(np.quantile(amounts, 1 - wishes.rule(name).confidence)))
        for name, amounts in least.items()
        if decides(name)
    }


def _gain(as_wished_mm: Mapping[str, float], best: _Planned) -> Gain | None:
    """Return what giving up brings to the requirement that gains most; None if that is nothing."""
    lacking = best.lacking_mm
    gained = {name: mm - lacking.get(name, 0.0) for name, mm in as_wished_mm.items() if _is_eased(name)}
    most = max(gained, key=lambda name: gained[name], default=None)
    if most is None or gained[most] < best.plan.limits.short_by_least_mm:
        return None
    return Gain(requirement=most, gained_mm=gained[most], lacked_mm=as_wished_mm[most], lacking_mm=lacking.get(most, 0.0))


def _is_eased(name: str) -> bool:
    """Return whether giving up wishes for the preparation helps a requirement."""
    return any(change.input in _GIVEN for change in requirement_of(name).helps)

"""The procedure *restore without lengthening*: nothing is cut; the restoration asks for less.

What the dentist wished is tried first, then step by step what a short preparation can be given: a thinner occlusal surface,
less convergence, proximal grooves or boxes. The first that is kept is taken; else the one that stands best.
"""

from collections.abc import Iterator
from dataclasses import replace

import numpy as np

from collum.case.model import Tooth
from collum.core import tooth as anatomy
from collum.evidence import value
from collum.evidence.handed import PlanLimits
from collum.plan.lengthening.grounds import AS_WISHED, BuildUp, Concessions
from collum.plan.lengthening.levels.prepared import Prepared, thinned
from collum.plan.lengthening.procedures.lines import STEER_BY_EVERY, RoutePlan, plan_lines
from collum.plan.lengthening.procedures.procedure import Concession, Procedure, Treatment
from collum.plan.lengthening.requirements.assessment import least_of
from collum.plan.lengthening.requirements.table import decides
from collum.plan.lengthening.solver.bounds import bounds_of, programme_of
from collum.plan.lengthening.solver.programme import solve
from collum.plan.lengthening.wishes import Wishes

_MENDED = ("preparation_height", "resistance", "definitive_finish_line")


class WithoutLengthening(Procedure):
    """Nothing is cut or moved; the preparation is changed instead."""

    id = "restore without lengthening"
    option = "without-lengthening"
    burden = 1
    lengthens = False
    reads_nothing_for = frozenset({"no_attachment_cut", "clear_of_bone", "keratinised_tissue_left"})
    steps = ("prepare", "restore")

    def plan(self, prepared: Prepared, wishes: Wishes, *, returns_whole: bool, arc_mm: float) -> RoutePlan:
        """Return the plan with the least that has to be given up, and what that is."""
        best = self.conceded(prepared, wishes, arc_mm=arc_mm)
        planned = plan_lines(prepared, best.wishes, _treatment(self, best), arc_mm=arc_mm)
        return replace(planned, concessions=best.given_up, build_up=_build_up(prepared))

    def conceded(self, prepared: Prepared, wishes: Wishes, *, arc_mm: float) -> Concession:
        """Return the least concession with which the route is kept, else the one with which it does best."""
        few = thinned(prepared, STEER_BY_EVERY)
        tried: list[tuple[float, Concession]] = []
        for concession in concessions(prepared.inputs.tooth, wishes, prepared.limits):
            missed_by = _missed_by(few, concession, _treatment(self, concession), arc_mm=arc_mm)
            tried.append((-max(missed_by.values(), default=0), concession))
            if tried[-1][0] >= 0 or not any(missed_by.get(name, 0) > 0 for name in _MENDED):
                break
        return max(tried, key=lambda pair: pair[0])[1]

    def operations(self, *, trimmed: bool) -> int:
        """Return that there is none."""
        return 0


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
    yield Concession(wishes=grooved, given_up=replace(now.given_up, grooves=True, preparation_height_mm=height_mm))


def _grooved(tooth: Tooth, wishes: Wishes, limit_mm: float) -> Wishes:
    """Return the wishes with the height that grooved molars need; other teeth may be that short without."""
    rule = wishes.rule("preparation_height")
    key = "plan.limit.preparation_height_with_grooves_mm"
    if anatomy.tooth_class(tooth.number) != "molar" or rule.limit <= limit_mm:
        return wishes
    eased = replace(rule, limit=limit_mm, evidence=(key, *rule.evidence[1:]))
    return replace(wishes, rules={**wishes.rules, "preparation_height": eased})


def _build_up(prepared: Prepared) -> BuildUp | None:
    """Return whether a margin raised with filling material would be clear of the crest; None where it need not be."""
    if prepared.sound_edge_mm is None or not prepared.inputs.levels.soundings:
        return None
    above_crest = (prepared.sound_edge_mm + prepared.crest_depth_mm).mean(axis=1)
    lowest = int(np.argmin(above_crest))
    if prepared.sound_edge_mm.mean(axis=1).min() > 0:
        return None
    above_mm = float(above_crest[lowest])
    return BuildUp(above_crest_mm=above_mm, station=lowest, enough=above_mm >= prepared.limits.clear_of_crest_mm)


def _treatment(procedure: Procedure, concession: Concession) -> Treatment:
    return Treatment(procedure=procedure, grooves=concession.given_up.grooves)


def _missed_by(prepared: Prepared, concession: Concession, treatment: Treatment, *, arc_mm: float) -> dict[str, float]:
    """Return by how much every required rule misses its confidence with the first lines the programme gives."""
    wishes = concession.wishes
    lines = solve(programme_of(prepared, wishes, bounds_of(prepared, wishes, treatment), {}, treatment, arc_mm=arc_mm))
    least = least_of(prepared, wishes, lines.cut_mm, lines.finish_mm, treatment)
    return {
        name: wishes.rule(name).confidence - float(np.mean(amounts >= 0)) for name, amounts in least.items() if decides(name)
    }


WITHOUT_LENGTHENING = WithoutLengthening()

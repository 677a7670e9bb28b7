"""What a restoration that is bonded over the cusps asks of them, and what is said of the patient who bites on it."""

from collections.abc import Iterator

from collum.plan.lengthening.procedures.partial_coverage import cusps_of
from collum.plan.lengthening.route import Route
from collum.plan.lengthening.tooth_plan import ToothPlan
from collum.plan.sentence import Sentence, say


def covered_said(plan: ToothPlan, route: Route) -> tuple[Sentence, ...]:
    """Return where such a restoration ends, which cusps it covers, and how thick it is."""
    return tuple(_said(plan, route)) if _is_bonded(route) else ()


def bite_said(plan: ToothPlan, route: Route) -> tuple[Sentence, ...]:
    """Return that the patient grinds, where that is suspected or certain."""
    bruxism = plan.findings.patient.bruxism
    return (say(f"plan.explain.bruxism_{bruxism}"),) if _is_bonded(route) and bruxism in ("suspected", "certain") else ()


def _is_bonded(route: Route) -> bool:
    return route.plan is not None and route.plan.treatment.procedure.bonds


def _said(plan: ToothPlan, route: Route) -> Iterator[Sentence]:
    limits, cusps = plan.prepared.limits, cusps_of(plan.prepared.inputs.tooth, plan.prepared.limits)
    yield say("plan.means.on_enamel", above_mm=limits.coverage_above_gum_mm)
    if cusps.site is None or cusps.thinnest_mm is None:
        yield say("plan.means.cusps_unread", limit_mm=cusps.limit_mm)
    else:
        thin = cusps.thinnest_mm < cusps.limit_mm
        found = {"limit_mm": cusps.limit_mm, "thinnest_mm": cusps.thinnest_mm}
        yield say("plan.means.cusps_covered" if thin else "plan.means.cusps_left", site=cusps.site, **found)
    if route.concessions.occlusal_reduction_mm is None:
        yield say("plan.means.cover", ceramic_mm=limits.coverage_ceramic_mm, metal_mm=limits.coverage_metal_mm)

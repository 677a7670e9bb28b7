"""What is done instead of cutting: margins raised with composite, and cusps covered by what is bonded over them."""

from collections.abc import Iterator

from collum.core.ring import STATIONS_DEG
from collum.plan.lengthening.procedures.margin_elevation import raised_surfaces, seat_above_crest_mm, seats_mm
from collum.plan.lengthening.procedures.partial_coverage import cusps_of
from collum.plan.lengthening.route import Route
from collum.plan.lengthening.sounded import any_bone_read
from collum.plan.lengthening.tooth_plan import ToothPlan
from collum.plan.printed import rounded
from collum.plan.sentence import Sentence, say
from collum.wire.plan.document import RaisedSurfaceDocument

_BLEEDING = ("plan.elevation.known.bleeding_of_ten", "plan.elevation.known.bleeding_patients")


def raised_documents(route: Route) -> list[RaisedSurfaceDocument]:
    """Return the surfaces whose margin is raised, in the order of the stations."""
    seat = None if route.plan is None else route.plan.prepared.seat_mm
    if route.plan is None or seat is None:
        return []
    prepared, surfaces = route.plan.prepared, raised_surfaces(route.plan.treatment.raised)
    seats = seats_mm(prepared.inputs.tooth.facts)
    edge = seat.mean(axis=1)
    read = any_bone_read(prepared.inputs)
    return [
        RaisedSurfaceDocument(
            side=surface.side,
            from_deg=float(STATIONS_DEG[surface.stations[0]]),
            to_deg=float(STATIONS_DEG[surface.stations[-1]]),
            arc_deg=surface.arc_deg,
            below_margin_mm=rounded(-min(float(edge[station]) for station in surface.stations)),
            above_crest_mm=rounded(seat_above_crest_mm(prepared, surface)[1]) if read else None,
            seat_mm=seats.get(surface.side),
        )
        for surface in surfaces
    ]


def raised_said(route: Route) -> tuple[Sentence, ...]:
    """Return what raising a margin asks."""
    return tuple(_raised(route))


def _raised(route: Route) -> Iterator[Sentence]:
    found = raised_documents(route)
    if route.plan is None or not found:
        return
    limits = route.plan.limits
    for surface in found:
        where = {"arc_deg": surface.arc_deg, "below_mm": surface.below_margin_mm}
        if surface.above_crest_mm is None:
            yield say(f"plan.means.raised_unread.{surface.side}", **where)
        else:
            yield say(f"plan.means.raised.{surface.side}", **where, above_mm=surface.above_crest_mm)
    yield say("plan.means.raised_to", least_mm=limits.elevation_raised_least_mm, most_mm=limits.elevation_raised_most_mm)
    yield say("plan.means.no_ferrule_of_composite")


def raised_known(route: Route) -> tuple[Sentence, ...]:
    """Return what is known of margins that were raised, beside how long the restorations lasted."""
    if route.plan is None or not route.plan.treatment.raised.any():
        return ()
    known = route.plan.prepared.evidence.figures(_BLEEDING)
    return say("plan.explain.raised_bleeds", **known), say("plan.explain.raised_studies")


def covered_said(plan: ToothPlan, route: Route) -> tuple[Sentence, ...]:
    """Return where a bonded restoration ends, which cusps it covers, and how thick it is."""
    return tuple(_covered(plan, route)) if _is_bonded(route) else ()


def bite_said(plan: ToothPlan, route: Route) -> tuple[Sentence, ...]:
    """Return that the patient grinds, where that is suspected or certain."""
    bruxism = plan.findings.patient.bruxism
    return (say(f"plan.explain.bruxism_{bruxism}"),) if _is_bonded(route) and bruxism in ("suspected", "certain") else ()


def _is_bonded(route: Route) -> bool:
    return route.plan is not None and route.plan.treatment.procedure.bonds


def _covered(plan: ToothPlan, route: Route) -> Iterator[Sentence]:
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

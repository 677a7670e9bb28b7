"""What remains of a tooth whose every route is short or closed, in the order in which it is weighed.

Treat and plan again; the wish that collides; another restoration; another way; the physician; leave and watch; keep the root.
Extraction is named only for a reason that lasts.
"""

from collections.abc import Iterator, Sequence

import numpy as np

from collum.case.model import Tooth
from collum.plan.lengthening.choice.room import freely_placed, gained, spare_reduction_mm
from collum.plan.lengthening.findings import Findings
from collum.plan.lengthening.grounds import Closing, DoubtId, LeastChange, Remaining
from collum.plan.lengthening.levels.prepared import at_means
from collum.plan.lengthening.procedures.lines import RoutePlan
from collum.plan.lengthening.procedures.registry import procedure_of
from collum.plan.lengthening.requirements.situation import clearance_mm, lowest_top_mm
from collum.plan.lengthening.requirements.table import requirement_of
from collum.plan.lengthening.requirements.verdict import Graded
from collum.plan.lengthening.route import Route

_PERIODONTAL_CARE = "periodontal_care"
_LASTING = ("vertical_root_fracture", "perforation_not_restorable", "root_filling")
_TREATED = ("mobility", "through_furcation")
_EXTRACTION = ("extraction", "extraction_after.mobility", "extraction_after.through_furcation")
_TREAT: dict[DoubtId, str] = {
    "sound_edge_before_caries_out": "caries_out",
    "sound_edge_not_stated": "caries_out",
    "cause_not_controlled": "cause",
    "attachment_loss": _PERIODONTAL_CARE,
}
_OTHER_WAYS = ("ankylosis", "no_anchorage", "implant_beside")


def what_remains(tooth: Tooth, findings: Findings, routes: Sequence[Route]) -> tuple[Remaining, ...]:
    """Return what remains where every route is short or closed; each thing once, in the order in which it is weighed.

    Whom to ask about the patient comes first where that closes a route. An extraction that is closed for the patient is not
    named; one that is not open without more is named with that.
    """
    found = (*_of_patient(findings), *_in_order(tooth, findings, routes))
    if not any(one.id in _EXTRACTION for one in found):
        return found
    effects = [effect for effect in findings.patient.effects("extraction") if effect.standing not in ("note", "answered")]
    kept = tuple(one for one in found if one.id not in _EXTRACTION) if any(e.standing == "closed" for e in effects) else found
    return (*kept, *dict.fromkeys(Remaining(id=f"extraction_{effect.standing}") for effect in effects))


def _of_patient(findings: Findings) -> Iterator[Remaining]:
    """Give what opens, or does not open, the routes that are closed for this patient; each once."""
    closings = [closing for found in findings.by_patient.values() for closing in found]
    yield from dict.fromkeys(_to_change(closing.least_change) for closing in closings)


def _in_order(tooth: Tooth, findings: Findings, routes: Sequence[Route]) -> tuple[Remaining, ...]:
    if findings.closing is not None:
        return tuple(_after_finding(findings.closing))
    found = [*_treat(findings, routes), *_wishes(tooth, routes), *_walls(routes), *_closings(routes)]
    found += [Remaining(id="watch"), Remaining(id="keep_root")]
    if _unrestorable(tooth, routes):
        found.append(Remaining(id="extraction"))
    return tuple(dict.fromkeys(found))


def _after_finding(closing: Closing) -> Iterator[Remaining]:
    """Give what remains where one finding closes every way of keeping the tooth, or has to be treated first."""
    change, found = closing.least_change, closing.ground.id
    if closing.kind != "restorable_tooth":
        yield _to_change(change)
        return
    if found in _TREATED or change.id == "caries_out_first":
        yield _to_change(change)
    yield Remaining(id="watch")
    if found == "caries_not_restorable":
        yield Remaining(id="keep_root")
    if found in _TREATED:
        yield Remaining(id=f"extraction_after.{found}")
    elif change.id in (*_LASTING, "caries_not_restorable"):
        yield Remaining(id="extraction")


def _to_change(change: LeastChange) -> Remaining:
    return Remaining(id="change", change=change)


def _treat(findings: Findings, routes: Sequence[Route]) -> Iterator[Remaining]:
    doubts = [doubt.id for doubt in findings.doubts]
    yield from (Remaining(id=name) for doubt, name in _TREAT.items() if doubt in doubts)
    if any(route.closed_by is not None and route.closed_by.ground.id == "vertical_defect" for route in routes):
        yield Remaining(id=_PERIODONTAL_CARE)


def _wishes(tooth: Tooth, routes: Sequence[Route]) -> Iterator[Remaining]:
    """Give the wishes that collide, each as it does on the route that lacks least by it, and how much it holds back."""
    found: dict[str, Remaining] = {}
    for plan, missed, graded in sorted(_short(routes), key=lambda short: short[2].short_by or 0):
        short_by = graded.short_by or 0
        for wish, given_mm in _given_up(plan, missed):
            if given_mm >= plan.limits.short_by_least_mm:
                gained = Remaining(id=f"wish.{wish}", most_mm=min(given_mm, short_by), short_by=short_by)
                found.setdefault(wish, gained)
        own = _own_limit(tooth, plan, missed, short_by)
        if own is not None:
            found.setdefault(f"limit {missed}", own)
    yield from found.values()


def _short(routes: Sequence[Route]) -> Iterator[tuple[RoutePlan, str, Graded]]:
    """Give the plans of the short routes, each with the rule that decides against it."""
    for route in routes:
        if route.plan is None or route.closed_by is None:
            continue
        graded = route.plan.assessment.graded.get(route.closed_by.requirement)
        if graded is not None:
            yield route.plan, route.closed_by.requirement, graded


def _given_up(plan: RoutePlan, missed: str) -> Iterator[tuple[str, float]]:
    """Give how much the rule gains where a wish is given up, by wish. [mm]"""
    requirement, free = requirement_of(missed), freely_placed(plan)
    if requirement.remedy in ("reduction", "walls"):
        yield "reduction", spare_reduction_mm(plan.wishes)
    if requirement.remedy == "place" and free is not None:
        yield "place", gained(plan, missed, free)


def _own_limit(tooth: Tooth, plan: RoutePlan, missed: str, short_by: float) -> Remaining | None:
    """Return that a limit of the dentist's own is stricter than the usual one, where it is and decides."""
    own = next((wish.limit for wish in tooth.requirements if wish.id == missed and wish.limit is not None), None)
    if own is None or not requirement_of(missed).own_limit_named:
        return None
    usual = plan.prepared.evidence.values[plan.wishes.rule(missed).evidence[0]]
    return Remaining(id=f"limit.{missed}", own_mm=own, usual_mm=usual, short_by=short_by) if own > usual else None


def _walls(routes: Sequence[Route]) -> Iterator[Remaining]:
    changes = [route.closed_by.least_change for route in routes if route.closed_by is not None]
    if any(change is not None and change.id == "thin_wall" for change in changes):
        yield Remaining(id="thicker_wall")


def _closings(routes: Sequence[Route]) -> Iterator[Remaining]:
    """Give what opens a way that a fact of the tooth closes."""
    closed = [route.closed_by for route in routes if route.closed_by is not None]
    for kind in _OTHER_WAYS:
        changes = (by.least_change for by in closed if by.requirement == kind)
        yield from (_to_change(change) for change in changes if change is not None)


def _unrestorable(tooth: Tooth, routes: Sequence[Route]) -> bool:
    """Return whether, caries being out, no route has a place for the least ferrule: neither on most of the neck nor on the
    loaded sides. A route that a fact closes was not tried; one that leaves too little root is none. A margin raised with
    composite wins no ferrule, so that it does not count.
    """
    winning = [route for route in routes if not procedure_of(route.name).raises_margin]
    if tooth.sound_measured is not True or any(route.plan is None for route in winning):
        return False
    return not any(_has_ferrule(route.plan) for route in winning if route.plan is not None and not _rootless(route))


def _rootless(route: Route) -> bool:
    """Return whether what a route takes leaves too little root."""
    return route.closed_by is not None and requirement_of(route.closed_by.requirement).remedy == "less_taken"


def _has_ferrule(plan: RoutePlan) -> bool:
    """Return whether a finish line anywhere that crest and sulcus allow leaves the least ferrule, at the best estimate."""
    means = at_means(plan.prepared)
    if means.sound_edge_mm is None:
        return True
    settled = np.median(plan.assessment.settled_full_mm, axis=1)
    lowest = np.maximum(-clearance_mm(means, plan.wishes)[:, 0], settled + plan.wishes.low_mm)
    height = lowest_top_mm(means, plan.wishes)[:, 0] - lowest
    wall = plan.prepared.inputs.wall_mm
    if wall is not None:
        height = np.where(wall < plan.limits.wall_thickness_mm, 0, height)
    enough = height >= plan.limits.ferrule_least_mm
    return bool(360 * enough.mean() >= plan.limits.ferrule_arc_deg or enough[plan.wishes.loaded].all())

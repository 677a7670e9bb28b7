"""What remains of a tooth whose every route is short or closed, in the order in which it is weighed.

Treat and plan again; the wish that collides; another restoration; another way; the physician; leave and watch; keep the root.
Extraction is named only for a reason that lasts.
"""

from collections.abc import Iterator, Sequence

import numpy as np

from collum.case.model import Tooth
from collum.evidence import value
from collum.plan.lengthening.choice.advice import freely_placed, spare_reduction_mm
from collum.plan.lengthening.findings import Findings
from collum.plan.lengthening.levels.prepared import at_means
from collum.plan.lengthening.procedures.soft_tissue import RoutePlan
from collum.plan.lengthening.requirements.requirements import clearance_mm, least_of, lowest_top_mm
from collum.plan.lengthening.requirements.verdict import Graded
from collum.plan.lengthening.route import Route
from collum.plan.sentence import Sentence, say

_LASTING = ("vertical_root_fracture", "perforation_not_restorable", "root_filling")
_TREATED = ("mobility", "through_furcation", "caries_out_first")
_TREAT = {
    "plan.doubt.sound_edge_before_caries_out": "caries_out",
    "plan.doubt.sound_edge_not_stated": "caries_out",
    "plan.doubt.cause_not_controlled": "cause",
    "plan.doubt.attachment_loss": "periodontal_care",
    "plan.closing.vertical_defect": "periodontal_care",
}
_TOO_LITTLE_ROOT = ("crown_to_root", "attached_area")
_OTHER_WAYS = ("ankylosis", "no_anchorage", "implant_beside")
_OWN_LIMITS = ("preparation_height", "ferrule", "clear_of_crest", "keratinised_tissue_left", "furcation")


def what_remains(tooth: Tooth, findings: Findings, routes: Sequence[Route]) -> tuple[Sentence, ...]:
    """Return what remains where every route is short or closed; each thing once, in the order in which it is weighed.

    An extraction that the record of the patient speaks against is not named without that.
    """
    said = _in_order(tooth, findings, routes)
    extraction = any(s.key.startswith("plan.remains.extraction") for s in said)
    return (*said, say("plan.remains.jaw_at_risk")) if extraction and findings.jaw_at_risk else said


def _in_order(tooth: Tooth, findings: Findings, routes: Sequence[Route]) -> tuple[Sentence, ...]:
    if findings.closing is not None:
        return tuple(_after_finding(findings.closing.kind, findings.closing.least_change, findings.closing.reason))
    said = [*_treat(findings, routes), *_wishes(tooth, routes), *_walls(routes), *_closings(routes)]
    said += [say("plan.remains.watch"), say("plan.remains.keep_root")]
    if _unrestorable(tooth, routes):
        said.append(say("plan.remains.extraction"))
    return tuple({(s.key, tuple(s.parameters.items())): s for s in said}.values())


def _after_finding(kind: str, change: Sentence, reason: Sentence) -> Iterator[Sentence]:
    """Give what remains where one finding closes every way of keeping the tooth, or has to be treated first."""
    if kind != "restorable_tooth":
        yield change
        return
    change_of, found = (s.key.rsplit(".", 1)[1] for s in (change, reason))
    if change_of in _TREATED:
        yield change
    yield say("plan.remains.watch")
    if found == "caries_not_restorable":
        yield say("plan.remains.keep_root")
    if change_of in ("mobility", "through_furcation"):
        yield say(f"plan.remains.extraction_after.{change_of}")
    elif change_of in (*_LASTING, "caries_not_restorable"):
        yield say("plan.remains.extraction")


def _treat(findings: Findings, routes: Sequence[Route]) -> Iterator[Sentence]:
    keys = [doubt.key for doubt in findings.doubts]
    keys += [route.closed_by.reason.key for route in routes if route.closed_by is not None]
    for key, name in _TREAT.items():
        if key in keys:
            yield say(f"plan.remains.{name}")


def _wishes(tooth: Tooth, routes: Sequence[Route]) -> Iterator[Sentence]:
    """Give the wishes that collide, each as it does on the route that lacks least by it, and how much it holds back."""
    found: dict[str, Sentence] = {}
    for plan, missed, graded in sorted(_short(routes), key=lambda short: short[2].short_by or 0):
        short_by = graded.short_by or 0
        if missed == "visible_zone":
            found.setdefault("look", say("plan.remains.look", short_by=short_by))
        for wish, given_mm in _given_up(plan, missed):
            if given_mm >= value("plan.short_by_least_mm"):
                most_mm = min(given_mm, short_by)
                found.setdefault(wish, say(f"plan.remains.wish.{wish}", most_mm=most_mm, short_by=short_by))
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
    if missed in ("preparation_height", "resistance"):
        yield "reduction", spare_reduction_mm(plan.wishes)
    free = freely_placed(plan.prepared, plan.wishes)
    if missed == "definitive_finish_line" and free is not None:
        means = at_means(plan.prepared)
        now, then = (least_of(means, w, plan.cut_mm, plan.finish_mm, plan.act)[missed][0] for w in (plan.wishes, free))
        yield "place", float(then - now)


def _own_limit(tooth: Tooth, plan: RoutePlan, missed: str, short_by: float) -> Sentence | None:
    """Return that a limit of the dentist's own is stricter than the usual one, where it is and decides."""
    own = next((wish.limit for wish in tooth.requirements if wish.id == missed and wish.limit is not None), None)
    if own is None or missed not in _OWN_LIMITS:
        return None
    usual = value(plan.wishes.rule(missed).evidence[0])
    return say(f"plan.remains.limit.{missed}", own_mm=own, usual_mm=usual, short_by=short_by) if own > usual else None


def _walls(routes: Sequence[Route]) -> Iterator[Sentence]:
    changes = [route.closed_by.least_change for route in routes if route.closed_by is not None]
    if any(change is not None and change.key == "plan.least_change.thin_wall" for change in changes):
        yield say("plan.remains.thicker_wall")


def _closings(routes: Sequence[Route]) -> Iterator[Sentence]:
    """Give what opens a way that a fact closes, and last whom to ask."""
    closed = [route.closed_by for route in routes if route.closed_by is not None]
    for kind in (*_OTHER_WAYS, "recorded_stop"):
        yield from (by.least_change for by in closed if by.requirement == kind and by.least_change is not None)


def _unrestorable(tooth: Tooth, routes: Sequence[Route]) -> bool:
    """Return whether, caries being out, no route has a place for the least ferrule: neither on most of the neck nor on the
    loaded sides. A route that a fact closes was not tried; one that leaves too little root is none.
    """
    if tooth.sound_measured is not True or any(route.plan is None for route in routes):
        return False
    rooted = [route for route in routes if route.closed_by is None or route.closed_by.requirement not in _TOO_LITTLE_ROOT]
    return not any(_has_ferrule(route.plan) for route in rooted if route.plan is not None)


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
        height = np.where(wall < value("plan.limit.wall_thickness_mm"), 0, height)
    enough = height >= value("plan.limit.ferrule_least_mm")
    return bool(360 * enough.mean() >= value("plan.ferrule_arc_deg") or enough[plan.wishes.loaded].all())

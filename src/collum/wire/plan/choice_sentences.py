"""Sentences over all routes of a tooth: what is recommended and why, and what remains where none is open."""

from collections.abc import Callable, Mapping, Sequence

from collum.case.model import Tooth
from collum.core import tooth as anatomy
from collum.core.ring import STATIONS_DEG
from collum.plan.lengthening.choice.choice import Recommendation, Why, missing_readings, nothing_left
from collum.plan.lengthening.choice.looks import Looks
from collum.plan.lengthening.choice.staging import Staged, of_ten
from collum.plan.lengthening.course import weeks_to_final
from collum.plan.lengthening.findings import Findings
from collum.plan.lengthening.grounds import DoubtId, Remaining
from collum.plan.lengthening.procedures.margin_elevation import raised_surfaces
from collum.plan.lengthening.procedures.registry import procedure_of
from collum.plan.lengthening.route import Route
from collum.plan.sentence import Parameter, Sentence, say
from collum.vocabulary import RouteName
from collum.wire.plan.route_sentences import change_said, doubt_said, ground_said

_LEAST_TOLD_MM = 0.5  # less is finer than a hand: shown without a figure
# Doubts that are settled before anything is cut or moved.
_BEFORE: Mapping[DoubtId, str] = {
    "sound_edge_before_caries_out": "caries_out",
    "lesion_not_cleared": "canal",
    "root_filling_faulty": "canal",
    "canal_symptoms": "canal",
    "canal_open": "canal",
}
_OF_THE_PROGRAM: tuple[Why, ...] = ("failed", "held_line")
_AMOUNTS = ("own_mm", "usual_mm", "most_mm", "short_by")


def because(
    found: Recommendation,
    routes: Sequence[Route],
    findings: Findings,
    tooth: Tooth,
    words: Callable[[Sentence], str],
) -> Sentence:
    """Return why a route is recommended, or why none is; findings and readings that it rests on are told in `words`.

    What has to be done or to heal before anything is cut or moved is said first.
    """
    first = _first(found, findings, words)
    if found.route is not None:
        act = words(_act(found.route))
        if first is not None:
            return say("plan.recommended.afterwards", first=words(first), act=act)
        if found.without_look is not None and found.without_look.looks is not None:
            return _for_look_said(found.without_look.looks, tooth, act)
        if found.doubt is not None:
            return say("plan.recommended.doubt_left", act=act, doubt=words(doubt_said(found.doubt)))
        if found.staged is not None:
            return _staged_said(found.route, found.staged, tooth, act)
        if found.why == "kept":
            return say(f"plan.recommended.kept.{_kept(found.route)}", act=act)
        if found.why == "in_doubt":
            return say("plan.recommended.in_doubt", act=act, of_ten=of_ten(found.route.chance or 0))
    if first is not None:
        return first
    unread = missing_readings(routes)
    if found.why == "not_assessed" and unread:
        return say("plan.recommended.read_first", readings=", ".join(words(say(f"plan.reading.{kind}")) for kind in unread))
    return say(f"plan.recommended.{found.why}")


def conditions_said(found: Recommendation) -> tuple[Sentence, ...]:
    """Return what has to be so before a cut of gum goes first and more may have to follow."""
    if found.staged is None:
        return ()
    asked = () if found.staged.accepted else (say("plan.recommended_if.two_operations"),)
    return (say("plan.recommended_if.provisional"), *asked)


def closings(
    found: Recommendation, routes: Sequence[Route], words: Callable[[Sentence], str]
) -> tuple[tuple[Sentence, ...], bool]:
    """Return what decides against each route in `words`, or once the one fact that all share, and whether they share it.

    Nothing is told where a route is open.
    """
    if not nothing_left(routes, found):
        return (), False
    grounds = [route.closed_by.ground for route in routes if route.closed_by is not None]
    if all(ground == grounds[0] for ground in grounds):
        return (say("plan.last_resort.every_route", reason=words(ground_said(grounds[0]))),), True
    named = (
        say(f"plan.last_resort.{_key(route.name)}", reason=words(ground_said(ground)))
        for route, ground in zip(routes, grounds, strict=True)
    )
    return tuple(named), False


def remaining_said(remaining: Remaining) -> Sentence:
    """Return something that remains of a tooth with no open route."""
    if remaining.change is not None:
        return change_said(remaining.change)
    amounts = {name: getattr(remaining, name) for name in _AMOUNTS}
    given: dict[str, Parameter] = {name: amount for name, amount in amounts.items() if amount is not None}
    return say(f"plan.remains.{remaining.id}", **given)


def _for_look_said(without: Looks, tooth: Tooth, act: str) -> Sentence:
    """Return what is done for the look, and how the tooth would look without it."""
    told: dict[str, Parameter] = {"act": act, "by_mm": abs(without.settled_above_wish_mm or 0)}
    key = f"plan.recommended.for_look.{'shorter' if without.looks_shorter else 'longer'}"
    if without.drawn:
        return say(f"{key}_drawn", **told)
    return say(f"{key}_mirror", mirror=anatomy.mirrored(tooth.number), **told)


def _first(found: Recommendation, findings: Findings, words: Callable[[Sentence], str]) -> Sentence | None:
    """Return what has to precede the recommended route, or what decides that there is none; None where nothing does."""
    before = next((say(f"plan.recommended.before.{_BEFORE[one.id]}") for one in findings.doubts if one.id in _BEFORE), None)
    if found.route is not None:
        return before if procedure_of(found.route.name).lengthens else None
    if found.why in _OF_THE_PROGRAM:
        return None
    of_patient = (closing for closings in findings.by_patient.values() for closing in closings)
    closing = findings.closing or next(of_patient, None)
    if found.why != "none" or closing is None:
        return before
    reason = words(ground_said(closing.ground))
    return say("plan.recommended.stopped" if findings.tooth_stop else "plan.recommended.closed", reason=reason)


def _staged_said(route: Route, staged: Staged, tooth: Tooth, act: str) -> Sentence:
    """Return in whole numbers how often gum alone is enough, and what follows otherwise."""
    told: dict[str, Parameter] = {"act": act, "of_ten": staged.of_ten, "weeks": weeks_to_final(route, tooth) or 0}
    if staged.otherwise is None:
        return say("plan.recommended.staged.none", **told)
    likely = _key(staged.otherwise.name) if staged.likely else f"{_key(staged.otherwise.name)}_in_doubt"
    return say(f"plan.recommended.staged.{likely}", **told)


def _act(route: Route) -> Sentence:
    """Return what the recommended route does to the tooth: how many mm at most, and where."""
    key = f"plan.recommended.act.{_key(route.name)}"
    plan = route.plan
    if plan is not None and plan.treatment.raised.any():
        sides = dict.fromkeys(surface.side for surface in raised_surfaces(plan.treatment.raised))
        return say(f"{key}_{'_and_'.join(sorted(sides, reverse=True))}")
    if plan is None or not plan.treatment.procedure.lengthens:
        return say(key)
    treatment = plan.treatment
    if treatment.procedure.raises_tooth:
        raised = treatment.extruded_mm
        return say(key, amount_mm=raised) if raised >= _LEAST_TOLD_MM else say(f"{key}_least")
    taken = treatment.bone_mm if treatment.procedure.takes_bone else -plan.cut_mm
    most = plan.deepest_site(taken)
    if taken[most] < _LEAST_TOLD_MM:
        return say(f"{key}_least")
    return say(key, amount_mm=float(taken[most]), station_deg=float(STATIONS_DEG[most]))


def _kept(route: Route) -> str:
    without_bone = (
        route.plan is not None and route.plan.treatment.procedure.takes_bone and not route.plan.treatment.bone_mm.any()
    )
    return "flap_without_bone" if without_bone else _key(route.name)


def _key(name: RouteName) -> str:
    return name.replace(" ", "_")

"""Sentences over all routes of a tooth: what is recommended and why, and what remains where none is open."""

from collections.abc import Callable, Sequence

from collum.plan.lengthening.choice.choice import none_open, recommendation
from collum.plan.lengthening.grounds import Remaining
from collum.plan.lengthening.route import Route
from collum.plan.sentence import Parameter, Sentence, say
from collum.vocabulary import RouteName
from collum.wire.plan.route_sentences import change_said, doubt_said, ground_said

_AMOUNTS = ("own_mm", "usual_mm", "most_mm", "short_by")


def because(routes: Sequence[Route], words: Callable[[Sentence], str]) -> Sentence:
    """Return why a route is recommended, or why none is; a finding that leaves it in doubt is told in `words`."""
    found = recommendation(routes)
    if found.doubt is not None:
        return say("plan.recommended.doubt_left", doubt=words(doubt_said(found.doubt)))
    if found.why == "kept" and found.route is not None:
        return say(f"plan.recommended.kept.{_kept(found.route)}")
    return say(f"plan.recommended.{found.why}")


def closings(routes: Sequence[Route], words: Callable[[Sentence], str]) -> tuple[tuple[Sentence, ...], bool]:
    """Return the fact that closes each route in `words`, or once the one that all share, and whether they share it.

    Nothing is told where a route is open.
    """
    if not none_open(routes):
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


def _kept(route: Route) -> str:
    without_bone = (
        route.plan is not None and route.plan.treatment.procedure.takes_bone and not route.plan.treatment.bone_mm.any()
    )
    return "flap_without_bone" if without_bone else _key(route.name)


def _key(name: RouteName) -> str:
    return name.replace(" ", "_")

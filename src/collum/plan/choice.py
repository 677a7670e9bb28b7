"""What is recommended, why, and what remains where no route is open."""

from collections.abc import Callable, Sequence

from collum.plan.document import RouteName
from collum.plan.route import Route
from collum.plan.sentence import Sentence, say

_OPEN = ("kept", "in doubt")


def recommended(routes: Sequence[Route]) -> Route | None:
    """Return the least burdensome route that is kept; else the one in doubt with the highest joint chance; else None.

    `routes` stand in the order of their burden. A route that needs nothing is never recommended before one that is kept.
    """
    for wanted in ("kept", "not needed"):
        for route in routes:
            if route.verdict == wanted and route.plan is not None:
                return route
    doubtful = [route for route in routes if route.verdict == "in doubt" and route.plan is not None]
    return max(doubtful, key=_joint, default=None)


def because(routes: Sequence[Route]) -> Sentence:
    """Return why a route is recommended, or why none is."""
    best = recommended(routes)
    if best is None:
        waiting = any(route.verdict == "not assessed" for route in routes)
        return say("plan.recommended.not_assessed" if waiting else "plan.recommended.none")
    if best.verdict == "in doubt":
        return say("plan.recommended.in_doubt")
    if best.verdict == "not needed":
        return say("plan.recommended.not_needed")
    return say(f"plan.recommended.kept.{_key(best.name)}")


def last_resort(routes: Sequence[Route], words: Callable[[Sentence], str]) -> tuple[Sentence, ...]:
    """Return what remains where every route is short or closed, with the fact that closes each, in `words`."""
    if any(route.verdict not in ("short", "closed") for route in routes):
        return ()
    remains = say("plan.last_resort.extraction")
    reasons = [route.closed_by.reason for route in routes if route.closed_by is not None]
    if all(reason == reasons[0] for reason in reasons):
        return (say("plan.last_resort.every_route", reason=words(reasons[0])), remains)
    told = (
        say(f"plan.last_resort.{_key(route.name)}", reason=words(reason)) for route, reason in zip(routes, reasons, strict=True)
    )
    return (*told, remains)


def _joint(route: Route) -> float:
    assert route.plan is not None
    return route.plan.assessment.joint_probability or 0


def _key(name: RouteName) -> str:
    return name.replace(" ", "_")

"""What is recommended, why, and what remains where no route is open."""

from collections.abc import Callable, Sequence

from collum.plan.lengthening.requirements.requirements import WISHED
from collum.plan.lengthening.route import Route
from collum.plan.sentence import Sentence, say
from collum.vocabulary import RouteName


def recommended(routes: Sequence[Route]) -> Route | None:
    """Return the least burdensome route that is kept; else the one in doubt with the highest joint chance; else None.

    Without a reading that decides there is no such chance. `routes` stand in the order of their burden. A route that needs
    nothing is never recommended before one that is kept, and none where one that failed might have been recommended instead.
    """
    best = _best(routes)
    return None if best is not None and _failed_instead(routes, best) else best


def _best(routes: Sequence[Route]) -> Route | None:
    for wanted in ("kept", "not needed"):
        for route in routes:
            if route.verdict == wanted and route.plan is not None:
                return route
    doubtful = [route for route in routes if route.verdict == "in doubt" and _joint(route) is not None]
    return max(doubtful, key=lambda route: _joint(route) or 0, default=None)


def _failed_instead(routes: Sequence[Route], best: Route) -> bool:
    """Return whether a route failed that, had it been kept, would have gone before the best of the others."""
    before = routes if best.verdict == "in doubt" else routes[: routes.index(best)]
    return any(route.fault_id is not None for route in before)


def because(routes: Sequence[Route], words: Callable[[Sentence], str]) -> Sentence:
    """Return why a route is recommended, or why none is; a finding that leaves it in doubt is told in `words`."""
    best = recommended(routes)
    if best is None:
        if any(route.fault_id is not None for route in routes):
            return say("plan.recommended.failed")
        if any(said.key == "plan.explain.held_line" for route in routes for said in route.explanation):
            return say("plan.recommended.held_line")
        waiting = any(route.verdict in ("not assessed", "in doubt") for route in routes)
        return say("plan.recommended.not_assessed" if waiting else "plan.recommended.none")
    if best.verdict == "in doubt":
        doubt = _only_doubt(best)
        return say("plan.recommended.in_doubt") if doubt is None else say("plan.recommended.doubt_left", doubt=words(doubt))
    if best.verdict == "not needed":
        return say("plan.recommended.not_needed")
    if best.name == "soft tissue and bone" and best.plan is not None and not best.plan.act.bone_mm.any():
        return say("plan.recommended.kept.flap_without_bone")
    return say(f"plan.recommended.kept.{_key(best.name)}")


def last_resort(
    routes: Sequence[Route], remains: Callable[[], Sequence[Sentence]], words: Callable[[Sentence], str]
) -> tuple[Sentence, ...]:
    """Return, where every route is short or closed, the fact that closes each, in `words`, and what `remains`."""
    if any(route.verdict not in ("short", "closed") for route in routes):
        return ()
    reasons = [route.closed_by.reason for route in routes if route.closed_by is not None]
    if all(reason == reasons[0] for reason in reasons):
        return (say("plan.last_resort.every_route", reason=words(reasons[0])), *remains())
    named = (
        say(f"plan.last_resort.{_key(route.name)}", reason=words(reason)) for route, reason in zip(routes, reasons, strict=True)
    )
    return (*named, *remains())


def _only_doubt(route: Route) -> Sentence | None:
    """Return the first finding that leaves a route in doubt, where every rule by itself is kept."""
    assert route.plan is not None
    graded = route.plan.assessment.graded
    if any(g is not None and g.verdict != "kept" for name, g in graded.items() if name not in WISHED):
        return None
    return next((said for said in route.explanation if said.key.startswith("plan.doubt.")), None)


def _joint(route: Route) -> float | None:
    """Return the chance that all requirements hold; None where the route has no lines or lacks a reading that decides."""
    return None if route.plan is None else route.plan.assessment.joint_probability


def _key(name: RouteName) -> str:
    return name.replace(" ", "_")

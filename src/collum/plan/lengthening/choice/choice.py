"""What is recommended, and why."""

from collections.abc import Iterable, Sequence
from dataclasses import dataclass
from typing import Literal, Protocol

from collum.plan.lengthening.grounds import Doubt
from collum.plan.lengthening.requirements.table import decides
from collum.plan.lengthening.route import Route
from collum.vocabulary import Verdict

Why = Literal["failed", "held_line", "not_assessed", "none", "in_doubt", "doubt_left", "not_needed", "kept"]


class Judged(Protocol):
    """Something with the verdict of a route."""

    @property
    def verdict(self) -> Verdict: ...


@dataclass(frozen=True, slots=True, kw_only=True)
class Recommendation:
    """The route that is recommended, None where none is, and why. `doubt`: the finding that leaves it in doubt."""

    route: Route | None
    why: Why
    doubt: Doubt | None = None


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


def recommendation(routes: Sequence[Route]) -> Recommendation:
    """Return which route is recommended and why, or why none is."""
    best = recommended(routes)
    if best is None:
        return Recommendation(route=None, why=_why_none(routes))
    if best.verdict == "in doubt":
        doubt = _only_doubt(best)
        return Recommendation(route=best, why="in_doubt" if doubt is None else "doubt_left", doubt=doubt)
    return Recommendation(route=best, why="not_needed" if best.verdict == "not needed" else "kept")


def none_open(routes: Iterable[Judged]) -> bool:
    """Return whether every route is short or closed."""
    return all(route.verdict in ("short", "closed") for route in routes)


def _why_none(routes: Sequence[Route]) -> Why:
    if any(route.fault_id is not None for route in routes):
        return "failed"
    if any(route.set_aside == "held_line" for route in routes):
        return "held_line"
    return "not_assessed" if any(route.verdict in ("not assessed", "in doubt") for route in routes) else "none"


def _only_doubt(route: Route) -> Doubt | None:
    """Return the first finding that leaves a route in doubt, where every rule by itself is kept."""
    assert route.plan is not None
    graded = route.plan.assessment.graded
    if any(g is not None and g.verdict != "kept" for name, g in graded.items() if decides(name)):
        return None
    return next(iter(route.doubts), None)


def _joint(route: Route) -> float | None:
    """Return the chance that all requirements hold; None where the route has no lines or lacks a reading that decides."""
    return None if route.plan is None else route.plan.assessment.joint_probability

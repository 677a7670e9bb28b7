"""What is recommended, and why: floors by how little can be taken back, order by burden, gum first where that is worth it."""

from collections.abc import Iterable, Iterator, Sequence
from dataclasses import dataclass
from typing import Literal, Protocol

from collum.case.model import Tooth
from collum.case.reading_kinds import READING_KINDS, ReadingKind
from collum.evidence.handed import PlanLimits
from collum.plan.lengthening.choice.burdens import Circumstances, burden_of, circumstances_of, least_chance
from collum.plan.lengthening.choice.staging import Staged, staged_start
from collum.plan.lengthening.grounds import Doubt
from collum.plan.lengthening.procedures.registry import procedure_of
from collum.plan.lengthening.requirements.table import REQUIREMENTS, decides
from collum.plan.lengthening.route import Route
from collum.vocabulary import Verdict

_UNDER_ANAESTHETIC: ReadingKind = "bone_sounding"

Why = Literal[
    "failed",
    "held_line",
    "not_assessed",
    "none",
    "talk_it_over",
    "in_doubt",
    "staged",
    "doubt_left",
    "not_needed",
    "kept",
    "for_look",
]


class Judged(Protocol):
    """Something with the verdict of a route."""

    @property
    def verdict(self) -> Verdict: ...


@dataclass(frozen=True, slots=True, kw_only=True)
class Recommendation:
    """The route that is recommended, if any, and why. `doubt`: the finding that leaves it in doubt. `staged`: how it goes
    first, if more may have to follow. `without_look`: the lesser route that serves the function alone, where the look asks for
    more.
    """

    route: Route | None
    why: Why
    doubt: Doubt | None = None
    staged: Staged | None = None
    without_look: Route | None = None


def recommendation(routes: Sequence[Route], tooth: Tooth, limits: PlanLimits) -> Recommendation:
    """Return which route of a tooth is recommended and why, or why no route is. `routes` come in the order of their burden.

    Of routes that lengthen no further than the gum one that is kept comes first, then the likelier one that reaches its least
    chance; bone and movement come after them. Where what serves the function leaves a difference that is seen, a
    greater route that serves both goes before it. A route that needs nothing is never recommended before one that is kept, and
    none where one that failed might have been recommended instead.
    """
    around = circumstances_of(tooth, limits)
    best = _best(routes, around)
    if best is None:
        return Recommendation(route=None, why=_why_none(routes))
    assert best.route is not None
    if _failed_instead(routes, best.route, around):
        return Recommendation(route=None, why="failed")
    return _for_look(routes, best.route, around) or best


def nothing_left(routes: Sequence[Route], found: Recommendation) -> bool:
    """Return whether nothing is recommended and something decides against every route, short, closed or unlikely."""
    return found.route is None and all(route.closed_by is not None for route in routes)


def _best(routes: Sequence[Route], around: Circumstances) -> Recommendation | None:
    offered = [route for route in routes if route.plan is not None]
    lesser = [route for route in offered if not procedure_of(route.name).moves_crest]
    greater = sorted(
        (route for route in offered if procedure_of(route.name).moves_crest),
        key=lambda route: burden_of(procedure_of(route.name), around),
    )
    following = _of_greater(greater, around)
    sure = (next((one for one in lesser if one.verdict == verdict), None) for verdict in ("kept", "not needed"))
    for route in (*sure, _by_its_rules(lesser)):
        if route is not None:
            return _plainly(route)
    likely: list[tuple[float, Recommendation]] = []
    for route in lesser:
        staged = staged_start(route, following, greater, around)
        if staged is not None:
            likely.append((route.chance or 0, Recommendation(route=route, why="staged", staged=staged)))
        elif not procedure_of(route.name).goes_first and _reaches(route, around):
            likely.append((route.chance or 0, _plainly(route)))
    if likely:
        return max(likely, key=lambda pair: pair[0])[1]
    if following is None:
        following = next((one for one in greater if one.verdict == "not needed"), None)
    return None if following is None else _plainly(following)


def _of_greater(greater: Sequence[Route], around: Circumstances) -> Route | None:
    """Return the route to recommend of those that take bone or move the tooth, least burden first."""
    enough = [route for route in greater if route.verdict == "kept" or _reaches(route, around)]
    raised = next((route for route in enough if procedure_of(route.name).raises_tooth), None)
    if around.raised_before_bone and raised is not None:
        return raised
    return _by_its_rules(enough) or max(enough, key=lambda route: route.chance or 0, default=None)


def _by_its_rules(routes: Sequence[Route]) -> Route | None:
    """Return the first route that is kept, else the first whose every rule is, so that only a finding leaves it in doubt."""
    kept = next((route for route in routes if route.verdict == "kept"), None)
    return kept or next((route for route in routes if _only_doubt(route) is not None), None)


def _reaches(route: Route, around: Circumstances) -> bool:
    """Return whether a route in doubt reaches the chance from which it is recommended."""
    if route.verdict != "in doubt" or route.chance is None:
        return False
    return route.chance >= least_chance(procedure_of(route.name), around)


def _plainly(route: Route) -> Recommendation:
    if route.verdict == "in doubt":
        doubt = _only_doubt(route)
        return Recommendation(route=route, why="in_doubt" if doubt is None else "doubt_left", doubt=doubt)
    return Recommendation(route=route, why="not_needed" if route.verdict == "not needed" else "kept")


def _for_look(routes: Sequence[Route], by_function: Route, around: Circumstances) -> Recommendation | None:
    """Return the least burdensome route that serves the function and brings the margin to the wish, where what serves the
    function alone does not.
    """
    plan, looks = by_function.plan, by_function.looks
    if plan is None or looks is None or looks.chance is None or _reaches_look(by_function, around):
        return None
    if looks.looks_shorter and not plan.wishes.aims_mm:
        return None
    least = burden_of(procedure_of(by_function.name), around)
    enough = [
        route
        for route in routes
        if burden_of(procedure_of(route.name), around) > least and _serves(route) and _reaches_look(route, around)
    ]
    found = min(enough, key=lambda route: burden_of(procedure_of(route.name), around), default=None)
    if found is None or not _serves(by_function, needed=False):
        return None
    return Recommendation(route=found, why="for_look", doubt=_only_doubt(found), without_look=by_function)


def _serves(route: Route, *, needed: bool = True) -> bool:
    """Return whether every rule of the function is kept; without `needed` a route that changes nothing serves too."""
    return route.verdict == "kept" or _only_doubt(route) is not None or (not needed and route.verdict == "not needed")


def _reaches_look(route: Route, around: Circumstances) -> bool:
    """Return whether the margin settles as wished with the chance from which a route is recommended."""
    if route.looks is None or route.looks.chance is None:
        return False
    procedure, limits = procedure_of(route.name), around.limits
    gum = procedure.cuts_by_current and not procedure.moves_crest
    return route.looks.chance >= (limits.least_chance_gum_for_looks if gum else least_chance(procedure, around))


def _failed_instead(routes: Sequence[Route], best: Route, around: Circumstances) -> bool:
    """Return whether a route failed that, had it been kept, might have gone before the best of the others."""
    burden = burden_of(procedure_of(best.name), around)
    before = [one for one in routes if best.verdict == "in doubt" or burden_of(procedure_of(one.name), around) <= burden]
    return any(route.fault_id is not None for route in before)


def none_open(routes: Iterable[Judged]) -> bool:
    """Return whether every route is short or closed."""
    return all(route.verdict in ("short", "closed") for route in routes)


def _why_none(routes: Sequence[Route]) -> Why:
    if any(route.fault_id is not None for route in routes):
        return "failed"
    if any(route.set_aside == "held_line" for route in routes):
        return "held_line"
    doubtful = [route for route in routes if route.verdict == "in doubt"]
    if any(route.verdict == "not assessed" for route in routes) or any(route.chance is None for route in doubtful):
        return "not_assessed"
    return "talk_it_over" if doubtful else "none"


def _only_doubt(route: Route) -> Doubt | None:
    """Return the first finding that leaves a route in doubt, where every rule by itself is kept."""
    if route.verdict != "in doubt" or route.plan is None or route.chance is None:
        return None
    graded = route.plan.assessment.graded
    if any(g is not None and g.verdict != "kept" for name, g in graded.items() if decides(name)):
        return None
    return next(iter(route.doubts), None)


def missing_readings(routes: Sequence[Route]) -> tuple[ReadingKind, ...]:
    """Return the kinds of reading without which a decisive requirement of a route is not assessed.

    In the order of the rules they block; of equals the easier one to take first.
    """
    first: dict[ReadingKind, int] = {}
    for place, kind in _blocked(routes):
        first[kind] = min(place, first.get(kind, place))
    return tuple(sorted(first, key=lambda kind: (first[kind], kind == _UNDER_ANAESTHETIC)))


def _blocked(routes: Sequence[Route]) -> Iterator[tuple[int, ReadingKind]]:
    """Give the place in the table of each decisive requirement that is blocked, with the kind of reading that blocks it."""
    for route in routes:
        missing = {} if route.plan is None else route.plan.assessment.missing
        for place, requirement in enumerate(REQUIREMENTS):
            lacking = missing.get(requirement.id)
            for kind in READING_KINDS:
                if requirement.decisive and kind == lacking:
                    yield place, kind

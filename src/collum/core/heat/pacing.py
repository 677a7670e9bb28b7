"""The round of strokes as an optimisation: the shortest order and pauses that keep every rest and every limit of heat.

A round is a list of strokes by one hand. Between two strokes the hand moves; a place rests between its strokes, longer from
its third stroke on; a place beside it rests too. Where responses to heat are given, every organ keeps its limits in the
band they are stated for. Where no pause does that, the answer says how many strokes at one place do.

Rests and heat give the order and the earliest starts; what the hands take comes on top. Places of one form and one hand
position come together, unless heat allows no such round.
"""

from collections.abc import Sequence
from dataclasses import dataclass, replace

from collum.core.heat.limits import OrganVerdict, judge_course
from collum.core.heat.pacing_hands import with_hands
from collum.core.heat.pacing_search import best_orders, earliest_starts
from collum.core.heat.pacing_task import NO_HANDS, PacingTask, Stroke, Together
from collum.core.heat.pacing_warm import hottest_points, paced_by_heat, points_over, task_at
from collum.evidence import value


@dataclass(frozen=True, slots=True, kw_only=True)
class Pacing:
    """A round that keeps every rule. `organs`: how much of its limits each organ uses, none where no responses were given.

    `soonest`: the same strokes as rests and heat alone allow them, the lower bound of every start. `together`: how places of
    one form and one hand position come together. `waiting_s`: idle time, what the hands take left out. `neighbours_apart_s`:
    the least time between the end of a stroke and a stroke beside it, None where no stroke has one.
    """

    strokes: tuple[Stroke, ...]
    soonest: tuple[Stroke, ...]
    together: Together
    duration_s: float
    waiting_s: float
    longest_wait_s: float
    neighbours_apart_s: float | None
    organs: tuple[OrganVerdict, ...]


@dataclass(frozen=True, slots=True, kw_only=True)
class NoPacing:
    """No pause keeps the limits. `worst`: the organ that passes them by most where the hands rest as long as allowed.

    `passes_that_hold`: the most passes at any one place for which a round exists, 0 where one all round is too many.
    `with_fewer`: that round; where one pass is too many the round of the places that can be stroked in one go, without
    `left_out`; None where not even one place can. `longest_wait_s`: the wait before each stroke in that trial.
    """

    worst: OrganVerdict
    passes_asked: int
    passes_that_hold: int
    with_fewer: Pacing | None
    left_out: tuple[int, ...]
    longest_wait_s: float


def plan_pacing(task: PacingTask) -> Pacing | NoPacing:
    """Return the shortest round found for a task, or why there is none and what would keep the limits.

    Among rounds of one length the one that keeps neighbours further apart in time is taken. Always answers: the search runs
    over a bounded number of orders and waits.

    Parameters
    ----------
    task : PacingTask
        Places with passes and rests [s], rules of the hand [s], responses to heat [K].

    Returns
    -------
    Pacing or NoPacing
        Strokes with starts and ends [s] and shares of the limits [1]; or the worst organ and the round of fewer passes.

    Source
    ------
    Derived: earliest starts over a beam of orders. Speed and rests [kalkwarf1983_speed]; other rules [collum_decision].

    Examples
    --------
    Six places round a tooth, two strokes each: the rests of 8 s never make the hand wait.

    >>> from collum.core.heat.pacing_task import Place, hand_rules, ring_neighbours
    >>> places = tuple(
    ...     Place(length_mm=5, speed_mm_s=7, passes=2, pause_s=8, neighbours=near) for near in ring_neighbours(6, closed=True)
    ... )
    >>> task = PacingTask(places=places, rules=hand_rules())
    >>> found = plan_pacing(task)
    >>> round(found.duration_s, 1), round(found.waiting_s, 1)
    (19.6, 0.0)
    """
    found = shortest_round(task)
    if found is not None:
        return found
    asked = max(place.passes for place in task.places)
    passes, left_out, found = _with_fewer(task, asked)
    return NoPacing(
        worst=worst_of_longest_waits(task),
        passes_asked=asked,
        passes_that_hold=passes,
        with_fewer=found,
        left_out=left_out,
        longest_wait_s=task.rules.longest_wait_s,
    )


def _with_fewer(task: PacingTask, asked: int) -> tuple[int, tuple[int, ...], Pacing | None]:
    """Return how many passes hold, else which places have to be left out, and the round that is left."""
    for fewer in range(asked - 1, 0, -1):
        found = shortest_round(_capped(task, fewer))
        if found is not None:
            return fewer, (), found
    left_out: list[int] = []
    rest = _capped(task, 1)
    for _ in range(sum(place.passes for place in rest.places) - 1):
        left_out.append(_warmest_place(rest))
        rest = _without(rest, left_out[-1])
        found = shortest_round(rest)
        if found is not None:
            return 0, tuple(sorted(left_out)), found
    return 0, (), None


def judge_strokes(task: PacingTask, strokes: Sequence[Stroke]) -> tuple[OrganVerdict, ...]:
    """Return how much of its limits each organ uses over a round; nothing where the task has no responses or no stroke.

    Parameters
    ----------
    task : PacingTask
        The task with the responses to heat [K].
    strokes : sequence of Stroke
        The round [s].

    Returns
    -------
    tuple of OrganVerdict
        Share of the limits used [1] for each organ.

    Source
    ------
    Derived from `superpose` and `judge_course`.

    Examples
    --------
    >>> from collum.core.heat.pacing_task import Place, hand_rules
    >>> import numpy as np
    >>> from collum.core.heat import StrokeResponse
    >>> times = np.arange(0, 120, 0.5)
    >>> warm = StrokeResponse(times_s=times, rise_degC=7 * np.exp(-times / 20)[None, :], organs=("bone",), stroke_s=0.7)
    >>> place = Place(length_mm=5, speed_mm_s=7, passes=2, pause_s=8)
    >>> task = PacingTask(places=(place,), rules=hand_rules(), responses=(warm,))
    >>> (verdict,) = judge_strokes(task, earliest_starts(task, (0, 0)))
    >>> verdict.kind, round(verdict.share, 2)
    ('rise', 1.14)
    """
    if not task.responses or not strokes:
        return ()
    return judge_course(task.course(strokes))


def shortest_round(task: PacingTask) -> Pacing | None:
    """Return the shortest round found, with what the hands take; None where no round keeps the limits.

    The first way in which places come together decides that has a round.

    Parameters
    ----------
    task : PacingTask
        Places with passes and rests [s], rules of the hand [s], responses to heat [K].

    Returns
    -------
    Pacing or None
        Strokes with starts and ends [s] and the shares of the limits used [1].

    Source
    ------
    Derived.

    Examples
    --------
    >>> from collum.core.heat.pacing_task import Place, hand_rules
    >>> import numpy as np
    >>> from collum.core.heat import StrokeResponse
    >>> times = np.arange(0, 120, 0.5)
    >>> warm = StrokeResponse(times_s=times, rise_degC=7 * np.exp(-times / 20)[None, :], organs=("bone",), stroke_s=0.7)
    >>> place = Place(length_mm=5, speed_mm_s=7, passes=2, pause_s=8)
    >>> task = PacingTask(places=(place,), rules=hand_rules(), responses=(warm,))
    >>> found = shortest_round(task)
    >>> [stroke.start_s for stroke in found.strokes], round(found.organs[0].share, 2)
    ([0.0, 17.0], 1.0)
    """
    alone = _with_room(task)
    for together in task.ways_together():
        soonest = _soonest(alone, together)
        strokes = None if soonest is None else with_hands(task, soonest)
        if soonest is not None and strokes is not None and not points_over(task, strokes):
            return _pacing(task, strokes, soonest, together)
    return None


def _with_room(task: PacingTask) -> PacingTask:
    """Return the task of rests and heat alone, with some room below the limits where hands will start strokes later."""
    room_share = 0 if task.rules.hands in (None, NO_HANDS) else value("pacing.late_room_share")
    return replace(task.without_hands(), strength=task.strength * (1 + room_share))


def _soonest(task: PacingTask, together: Together) -> tuple[Stroke, ...] | None:
    """Return the shortest round that rests and heat allow, None where they allow none.

    Heat is computed at few points first: the hottest of each stroke. Where the round found passes a limit elsewhere, those
    points join. What cannot be kept at some of the points cannot be kept at all of them.
    """
    orders = best_orders(task, together)
    rounds = [earliest_starts(task, order) for order in orders]
    found: tuple[Stroke, ...] | None = min(rounds, key=lambda strokes: (_end_s(strokes), -(_apart_s(task, strokes) or 0)))
    watched: frozenset[int] = frozenset()
    while found is not None:
        further = points_over(task, found) - watched
        if not further:
            return found
        watched |= further | hottest_points(task)
        found = paced_by_heat(task_at(task, watched), orders, together)
    return None


def _pacing(task: PacingTask, strokes: tuple[Stroke, ...], soonest: tuple[Stroke, ...], together: Together) -> Pacing:
    return Pacing(
        strokes=strokes,
        soonest=soonest,
        together=together,
        duration_s=_end_s(strokes),
        waiting_s=sum(s.waited_s for s in strokes),
        longest_wait_s=max((s.waited_s for s in strokes), default=0),
        neighbours_apart_s=_apart_s(task, strokes),
        organs=judge_strokes(task, strokes),
    )


def _apart_s(task: PacingTask, strokes: Sequence[Stroke]) -> float | None:
    """Return the least time from the end of a stroke to a later stroke beside it, None where there is no such pair. [s]"""
    gaps = [
        later.start_s - earlier.end_s
        for i, earlier in enumerate(strokes)
        for later in strokes[i + 1 :]
        if later.place in task.places[earlier.place].neighbours
    ]
    return min(gaps, default=None)


def _end_s(strokes: tuple[Stroke, ...]) -> float:
    return max((stroke.end_s for stroke in strokes), default=0)


def _capped(task: PacingTask, most: int) -> PacingTask:
    places = tuple(replace(place, passes=min(place.passes, most)) for place in task.places)
    return replace(task, places=places)


def _without(task: PacingTask, left_out: int) -> PacingTask:
    places = [replace(place, passes=0) if position == left_out else place for position, place in enumerate(task.places)]
    return replace(task, places=tuple(places))


def _warmest_place(task: PacingTask) -> int:
    """Return the place whose stroke warms the organ that passes its limit by most."""
    point = worst_of_longest_waits(task).point
    stroked = [position for position, place in enumerate(task.places) if place.passes]
    return max(stroked, key=lambda position: float(task.responses[position].rise_degC[point].max()))


def worst_of_longest_waits(task: PacingTask) -> OrganVerdict:
    """Return the verdict on the organ that uses most of its limits where the longest wait precedes every stroke.

    Parameters
    ----------
    task : PacingTask
        The task with the responses to heat [K] and the longest wait [s].

    Returns
    -------
    OrganVerdict
        Share of the limit used [1].

    Raises
    ------
    ValueError
        Where the task has no responses.

    Source
    ------
    Derived; the longest wait is a decision [collum_decision].

    Examples
    --------
    >>> from collum.core.heat.pacing_task import Place, hand_rules
    >>> import numpy as np
    >>> from collum.core.heat import StrokeResponse
    >>> times = np.arange(0, 120, 0.5)
    >>> warm = StrokeResponse(times_s=times, rise_degC=7 * np.exp(-times / 20)[None, :], organs=("bone",), stroke_s=0.7)
    >>> place = Place(length_mm=5, speed_mm_s=7, passes=2, pause_s=8)
    >>> task = PacingTask(places=(place,), rules=hand_rules(), responses=(warm,))
    >>> round(worst_of_longest_waits(task).share, 2)
    0.83
    """
    alone = _with_room(task)
    waiting = earliest_starts(alone, best_orders(alone)[0], wait_s=task.rules.longest_wait_s)
    return max(judge_strokes(alone, waiting), key=lambda verdict: verdict.share)

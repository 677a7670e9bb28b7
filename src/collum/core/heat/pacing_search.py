"""Search for the order of the strokes: a beam over partial rounds, worked on side by side as arrays.

A partial round is known by how often each place was stroked, when each place is ready again, and when the hand is free. Every
rule is a lower bound on a start, so that for a given order the earliest starts are the best ones. Partial rounds are ranked by
the least length they can still end with: the work that is left, or the rests of the place that needs longest.
"""

from collections.abc import Sequence
from dataclasses import dataclass

import numpy as np
from numpy.typing import NDArray

from collum.core.heat.pacing_task import PacingTask, Stroke, Together
from collum.core.ring import Floats

_BEAM = 48
_ORDERS = 8
Whole = NDArray[np.int64]


@dataclass(slots=True, kw_only=True)
class _Beam:
    """R partial rounds over N places: strokes left and ready time (R, N), end of the last stroke and of any there, order."""

    left: Whole
    ready_s: Floats
    ended_s: Floats
    now_s: Floats
    apart_s: Floats
    order: Whole


def best_orders(task: PacingTask, together: Together = "free") -> tuple[tuple[int, ...], ...]:
    """Return up to eight different orders of all strokes, the shortest round first.

    Neither heat nor what the hands take is regarded. Among equals the order that keeps neighbours further apart in time comes
    first.

    Parameters
    ----------
    task : PacingTask
        Places with passes and rests [s], rules of the hand [s].
    together : {"whole", "by pass", "free"}
        How places of one form and one hand position come together.

    Returns
    -------
    tuple of tuples of int
        Positions of the places in the order of their strokes.

    Source
    ------
    Derived: a beam over partial rounds, ranked by a lower bound on their length.

    Examples
    --------
    >>> from collum.core.heat.pacing_task import Place, hand_rules, ring_neighbours
    >>> places = tuple(
    ...     Place(length_mm=5, speed_mm_s=7, passes=1, pause_s=8, neighbours=near) for near in ring_neighbours(6, closed=True)
    ... )
    >>> task = PacingTask(places=places, rules=hand_rules())
    >>> best_orders(task)[0]
    (0, 2, 4, 1, 3, 5)
    """
    facts = _Facts.of(task, together)
    beam = _start(facts)
    for _ in range(int(facts.passes.sum())):
        beam = _best_of(_grown(beam, facts), facts)
    ranked = np.lexsort((-beam.apart_s, _rounded(beam.now_s)))
    return tuple(tuple(int(place) for place in beam.order[row]) for row in ranked[:_ORDERS])


def earliest_starts(task: PacingTask, order: Sequence[int], wait_s: float = 0) -> tuple[Stroke, ...]:
    """Return the strokes of an order, each as early as the rests and an idle wait allow.

    Parameters
    ----------
    task : PacingTask
        Places with passes and rests [s], rules of the hand [s].
    order : sequence of int
        Positions of the places in the order of their strokes.
    wait_s : float
        Least idle wait before each stroke but the first [s].

    Returns
    -------
    tuple of Stroke
        Strokes with starts, ends and waits [s].

    Source
    ------
    Derived: every rule is a lower bound on a start.

    Examples
    --------
    >>> from collum.core.heat.pacing_task import Place, hand_rules
    >>> task = PacingTask(places=(Place(length_mm=7, speed_mm_s=7, passes=3, pause_s=8),), rules=hand_rules())
    >>> [stroke.start_s for stroke in earliest_starts(task, (0, 0, 0))]
    [0.0, 9.0, 20.0]
    """
    clock = RoundClock(task)
    for place in order:
        start_s = clock.earliest_s(place)
        free_s = clock.free_s()
        clock.stroke(place, start_s if free_s is None else max(start_s, free_s + wait_s))
    return tuple(clock.strokes)


class RoundClock:
    """The strokes of one round so far, and from when on rests and a hand that only moves allow one at each place."""

    def __init__(self, task: PacingTask) -> None:
        self._task = task
        self._ready_s = [0.0] * len(task.places)
        self._done = [0] * len(task.places)
        self.strokes: list[Stroke] = []

    def free_s(self) -> float | None:
        """Return when the hand has moved on from the last stroke, None before the first. [s]"""
        return self.strokes[-1].end_s + self._task.rules.move_s if self.strokes else None

    def earliest_s(self, place: int) -> float:
        """Return from when on the rests and the hand allow a stroke at this place. [s]"""
        return max(self._ready_s[place], self.free_s() or 0)

    def rested_s(self, place: int) -> float:
        """Return from when on the rests allow a stroke at this place, wherever the hand is. [s]"""
        return self._ready_s[place]

    def stroke(self, place: int, start_s: float, lasted_s: float | None = None) -> None:
        """Take a stroke as done; it lasted as long as planned where nothing is said."""
        task = self._task
        end_s = start_s + (task.places[place].stroke_s if lasted_s is None else lasted_s)
        self._done[place] += 1
        free_s = self.free_s()
        waited_s = 0 if free_s is None else max(start_s - free_s, 0)
        number = self._done[place]
        self.strokes.append(Stroke(place=place, number=number, start_s=start_s, end_s=end_s, waited_s=waited_s))
        self._ready_s[place] = max(self._ready_s[place], end_s + task.rest_s(place, number))
        for beside in task.places[place].neighbours:
            self._ready_s[beside] = max(self._ready_s[beside], end_s + task.rules.neighbour_s)


@dataclass(frozen=True, slots=True, kw_only=True)
class _Facts:
    """The task as arrays over its N places; `tail_s`, `turn` (N, most passes + 1), by strokes left.

    `tail_s`: least time from ready to the last end; `turn`: the turn of the next stroke.
    """

    passes: Whole
    stroke_s: Floats
    rest_s: Floats
    repeat: float
    beside: NDArray[np.bool_]
    tail_s: Floats
    turn: Whole
    move_s: float
    neighbour_s: float

    @staticmethod
    def of(task: PacingTask, together: Together) -> "_Facts":
        places = task.places
        count = len(places)
        beside = np.zeros((count, count), dtype=bool)
        for position, place in enumerate(places):
            beside[position, list(place.neighbours)] = True
        passes = np.array([place.passes for place in places], dtype=np.int64)
        most = int(passes.max(initial=0))
        tail_s = np.zeros((count, most + 1))
        turn = np.full((count, most + 1), np.iinfo(np.int64).max)
        for position, place in enumerate(places):
            for left in range(1, place.passes + 1):
                done_after = place.passes - left + 1
                rest_s = task.rest_s(position, done_after) if left > 1 else 0
                turn[position, left] = task.turn(together, position, done_after - 1)
                tail_s[position, left] = place.stroke_s + rest_s + tail_s[position, left - 1]
        return _Facts(
            passes=passes,
            stroke_s=np.array([place.stroke_s for place in places]),
            rest_s=np.array([place.pause_s for place in places]),
            repeat=task.rules.repeat_factor,
            beside=beside,
            tail_s=tail_s,
            turn=turn,
            move_s=task.rules.move_s,
            neighbour_s=task.rules.neighbour_s,
        )


def _start(facts: _Facts) -> _Beam:
    count = facts.passes.size
    return _Beam(
        left=facts.passes[None, :].copy(),
        ready_s=np.zeros((1, count)),
        ended_s=np.full((1, count), -np.inf),
        now_s=np.full(1, -facts.move_s),
        apart_s=np.full(1, np.inf),
        order=np.zeros((1, 0), dtype=np.int64),
    )


def _grown(beam: _Beam, facts: _Facts) -> _Beam:
    """Return every partial round with one stroke more, of those whose turn it is."""
    turn = facts.turn[np.arange(facts.passes.size), beam.left]
    rows, place = np.nonzero((beam.left > 0) & (turn == turn.min(axis=1, keepdims=True)))
    every = np.arange(rows.size)
    start_s = np.maximum(beam.ready_s[rows, place], beam.now_s[rows] + facts.move_s)
    end_s = start_s + facts.stroke_s[place]
    beside = facts.beside[place]
    ended_s = beam.ended_s[rows]
    since_s = start_s - np.where(beside, ended_s, -np.inf).max(axis=1)
    left = beam.left[rows]
    left[every, place] -= 1
    ready_s = beam.ready_s[rows]
    first = left[every, place] == facts.passes[place] - 1
    ready_s[every, place] = end_s + facts.rest_s[place] * np.where(first, 1, facts.repeat)
    ready_s = np.where(beside, np.maximum(ready_s, (end_s + facts.neighbour_s)[:, None]), ready_s)
    ended_s[every, place] = end_s
    return _Beam(
        left=left,
        ready_s=ready_s,
        ended_s=ended_s,
        now_s=end_s,
        apart_s=np.minimum(beam.apart_s[rows], since_s),
        order=np.concatenate([beam.order[rows], place[:, None]], axis=1),
    )


def _best_of(beam: _Beam, facts: _Facts) -> _Beam:
    """Return the partial rounds that can still end soonest, no two of them alike."""
    ready_s = np.maximum(beam.ready_s, (beam.now_s + facts.move_s)[:, None])
    tail_s = facts.tail_s[np.arange(facts.passes.size), beam.left]
    work_s = beam.now_s + (beam.left * (facts.stroke_s + facts.move_s)).sum(axis=1)
    rests_s = np.where(beam.left > 0, ready_s + tail_s, 0).max(axis=1, initial=0)
    bound_s = np.maximum(work_s, rests_s)
    slack_s = np.where(beam.left > 0, ready_s + tail_s, 0).sum(axis=1)
    ranked = np.lexsort((slack_s, -beam.apart_s, _rounded(bound_s)))
    state = np.concatenate([np.where(beam.left > 0, ready_s, 0), beam.left, beam.now_s[:, None]], axis=1)
    _, kept = np.unique(_rounded(state @ np.sqrt(np.arange(2, state.shape[1] + 2)))[ranked], return_index=True)
    chosen = ranked[np.sort(kept)[:_BEAM]]
    return _Beam(
        left=beam.left[chosen],
        ready_s=beam.ready_s[chosen],
        ended_s=beam.ended_s[chosen],
        now_s=beam.now_s[chosen],
        apart_s=beam.apart_s[chosen],
        order=beam.order[chosen],
    )


def _rounded(times_s: Floats) -> Floats:
    """Return times without the dust of sums, so that equal rounds are seen as equal."""
    return np.round(times_s, 6)

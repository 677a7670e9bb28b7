"""Pauses where heat asks for more than the rests: each stroke as early as the limits of every organ allow for ever after.

Starts lie on the steps of the responses, so that what is summed here is what `superpose` sums, to the last digit. The warmth
left by earlier strokes falls once its peak has passed; where it still rises a later start may be worse than an earlier one,
hence each start is tried and not computed.
"""

from collections import Counter
from collections.abc import Callable, Sequence
from dataclasses import replace
from itertools import combinations
from math import factorial, prod

import numpy as np
from numpy.typing import NDArray

from collum.core.heat.damage import dose_min
from collum.core.heat.limits import OrganLimit
from collum.core.heat.pacing_search import RoundClock, earliest_starts
from collum.core.heat.pacing_task import PacingTask, Stroke, Together
from collum.core.heat.superposition import StrokeResponse
from collum.core.ring import Floats
from collum.evidence import value

_HALVINGS = 9
_MOST_ORDERS = 120
_MOST_EXCHANGES = 100
_BELOW = 1 - float(np.finfo(np.float32).eps)  # so that the same sum in another order keeps the limit too


def paced_by_heat(task: PacingTask, orders: Sequence[Sequence[int]], together: Together = "free") -> tuple[Stroke, ...] | None:
    """Return the shortest round found that keeps the limits, None where no order does.

    Three ways are tried for each order: every stroke as early as the limits allow, one common addition to the rests of all
    places, one common wait before all strokes. All orders of a small round are tried; of a large one those given, of which
    the best is improved by exchanging strokes.

    Parameters
    ----------
    task : PacingTask
        The task with the responses to heat [K].
    orders : sequence of sequences of int
        Orders to try: positions of the places.
    together : {"whole", "by pass", "free"}
        How places of one form and one hand position come together in these orders, and in those tried beside them.

    Returns
    -------
    tuple of Stroke or None
        Strokes with starts, ends and waits [s].

    Source
    ------
    Derived.

    Examples
    --------
    Two strokes that each warm bone by 7 K need more than the rest of 8 s between them.

    >>> from collum.core.heat.pacing_task import Place, hand_rules
    >>> times = np.arange(0, 120, 0.5)
    >>> warm = StrokeResponse(times_s=times, rise_degC=7 * np.exp(-times / 20)[None, :], organs=("bone",), stroke_s=0.7)
    >>> place = Place(length_mm=5, speed_mm_s=7, passes=2, pause_s=8)
    >>> task = PacingTask(places=(place,), rules=hand_rules(), responses=(warm,))
    >>> first, second = paced_by_heat(task, ((0, 0),))
    >>> second.start_s - first.start_s
    17.0
    """
    warmth = _Warmth(task)
    every = _all_orders(orders[0], _turns(task, orders[0], together))
    best: tuple[Stroke, ...] | None = None
    for order in every or orders:
        for way in (_as_early, _rested, _evenly):
            found = way(task, warmth, order, _end_s(best))
            if found is not None and _end_s(found) < _end_s(best):
                best = found
    if every or best is None:
        return best
    return _exchanged(task, warmth, best, _turns(task, [stroke.place for stroke in best], together))


def hottest_points(task: PacingTask) -> frozenset[int]:
    """Return for each place and organ the watched point that its stroke warms most.

    Parameters
    ----------
    task : PacingTask
        The task with the responses to heat at P points [K].

    Returns
    -------
    frozenset of int
        Positions of the points; none where the task has no responses.

    Source
    ------
    Derived.

    Examples
    --------
    >>> from collum.core.heat.pacing_task import Place, hand_rules
    >>> rise = np.array([[0.0, 2, 1], [0, 3, 2]])
    >>> warm = StrokeResponse(times_s=np.arange(3.0), rise_degC=rise, organs=("bone", "bone"), stroke_s=0.7)
    >>> place = Place(length_mm=5, speed_mm_s=7, passes=1, pause_s=8)
    >>> sorted(hottest_points(PacingTask(places=(place,), rules=hand_rules(), responses=(warm,))))
    [1]
    """
    if not task.responses:
        return frozenset()
    organs = np.array(task.responses[0].organs)
    rows = [np.flatnonzero(organs == organ) for organ in sorted(set(organs.tolist()))]
    peaks = [response.rise_degC.max(axis=1) for response in (*task.responses, *task.later_responses)]
    return frozenset(int(row[peak[row].argmax()]) for peak in peaks for row in rows)


def points_over(task: PacingTask, strokes: Sequence[Stroke]) -> frozenset[int]:
    """Return the watched points that pass a limit over a round.

    Parameters
    ----------
    task : PacingTask
        The task with the responses to heat at P points [K].
    strokes : sequence of Stroke
        The round [s].

    Returns
    -------
    frozenset of int
        Positions of the points; none where the task has no responses or there is no stroke.

    Source
    ------
    Derived; limits as in `judge_course`.

    Examples
    --------
    >>> from collum.core.heat.pacing_task import Place, hand_rules
    >>> times = np.arange(0, 120, 0.5)
    >>> warm = StrokeResponse(times_s=times, rise_degC=7 * np.exp(-times / 20)[None, :], organs=("bone",), stroke_s=0.7)
    >>> place = Place(length_mm=5, speed_mm_s=7, passes=2, pause_s=8)
    >>> task = PacingTask(places=(place,), rules=hand_rules(), responses=(warm,))
    >>> sorted(points_over(task, earliest_starts(task, (0, 0)))), sorted(points_over(task, earliest_starts(task, (0,))))
    ([0], [])
    """
    if not task.responses or not strokes:
        return frozenset()
    warmth = _Warmth(task)
    rise = task.course(strokes).rise_degC
    over = (rise.max(axis=1) > warmth.most_degC) | (warmth.dose(rise) > warmth.most_min)
    return frozenset(np.flatnonzero(over).tolist())


def task_at(task: PacingTask, points: frozenset[int]) -> PacingTask:
    """Return the task with the responses at some watched points alone.

    Parameters
    ----------
    task : PacingTask
        The task with the responses to heat at P points [K].
    points : frozenset of int
        Positions of the points to keep.

    Returns
    -------
    PacingTask
        The same task, its responses (points, T) [K].

    Source
    ------
    Derived.

    Examples
    --------
    >>> from collum.core.heat.pacing_task import Place, hand_rules
    >>> times = np.arange(0, 120, 0.5)
    >>> warm = StrokeResponse(times_s=times, rise_degC=7 * np.exp(-times / 20)[None, :], organs=("bone",), stroke_s=0.7)
    >>> place = Place(length_mm=5, speed_mm_s=7, passes=2, pause_s=8)
    >>> task = PacingTask(places=(place,), rules=hand_rules(), responses=(warm,))
    >>> task_at(task, frozenset({0})).responses[0].rise_degC.shape
    (1, 240)
    """
    rows = sorted(points)

    def at(responses: Sequence[StrokeResponse]) -> tuple[StrokeResponse, ...]:
        organs = tuple(task.responses[0].organs[row] for row in rows)
        return tuple(replace(one, rise_degC=one.rise_degC[rows], organs=organs) for one in responses)

    return replace(task, responses=at(task.responses), later_responses=at(task.later_responses))


def _turns(task: PacingTask, order: Sequence[int], together: Together) -> list[int]:
    """Return the turn of each stroke of an order."""
    done: Counter[int] = Counter()
    found = []
    for place in order:
        found.append(task.turn(together, place, done[place]))
        done[place] += 1
    return found


def _all_orders(order: Sequence[int], turns: Sequence[int]) -> list[tuple[int, ...]]:
    """Return every different order of these strokes that keeps each in its turn, none where there are too many to try."""
    of_turn = [Counter(place for place, own in zip(order, turns, strict=True) if own == turn) for turn in dict.fromkeys(turns)]
    if prod(_orders_of(strokes) for strokes in of_turn) > _MOST_ORDERS:
        return []
    found: list[tuple[int, ...]] = [()]
    for strokes in of_turn:
        found = [(*start, *rest) for start in found for rest in _arranged(strokes)]
    return found


def _orders_of(strokes: Counter[int]) -> int:
    return factorial(strokes.total()) // prod(factorial(count) for count in strokes.values())


def _arranged(strokes: Counter[int]) -> list[tuple[int, ...]]:
    """Return every different order of strokes, of which each place has so many."""
    if not strokes.total():
        return [()]
    return [(place, *rest) for place in sorted(+strokes) for rest in _arranged(strokes - Counter([place]))]


def _as_early(task: PacingTask, warmth: "_Warmth", order: Sequence[int], before_s: float) -> tuple[Stroke, ...] | None:
    """Return the order with each stroke at the first step the limits allow.

    None where the longest wait is not enough, or the round could not end before `before_s` even without heat.
    """
    if _end_s(earliest_starts(task, order)) >= before_s:
        return None
    clock = RoundClock(task)
    field = warmth.cold()
    for place in order:
        free_s = clock.free_s()
        first = warmth.step_at(clock.earliest_s(place))
        last = first if free_s is None else max(first, int((free_s + task.rules.longest_wait_s) / warmth.step_s))
        step = field.first_step(place, first, last)
        if step is None:
            return None
        field = field.stroked(place, step)
        clock.stroke(place, step * warmth.step_s)
    return tuple(clock.strokes)


def _evenly(task: PacingTask, warmth: "_Warmth", order: Sequence[int], before_s: float) -> tuple[Stroke, ...] | None:
    """Return the order with the least common wait before every stroke that keeps the limits; None as in `_as_early`."""
    return _least(warmth, lambda wait_s: _on_steps(task, warmth, order, wait_s), task.rules.longest_wait_s, before_s)


def _rested(task: PacingTask, warmth: "_Warmth", order: Sequence[int], before_s: float) -> tuple[Stroke, ...] | None:
    """Return the order with the least common addition to the rests that keeps the limits; None as in `_as_early`."""

    def rested(more_s: float) -> tuple[Stroke, ...]:
        places = tuple(replace(place, pause_s=place.pause_s + more_s) for place in task.places)
        return _on_steps(replace(task, places=places), warmth, order, 0)

    longest_s = task.rules.longest_wait_s + _end_s(earliest_starts(task, order))
    found = _least(warmth, rested, longest_s, before_s)
    too_long = found is not None and any(stroke.waited_s > task.rules.longest_wait_s for stroke in found)
    return None if too_long else found


def _on_steps(task: PacingTask, warmth: "_Warmth", order: Sequence[int], wait_s: float) -> tuple[Stroke, ...]:
    """Return the order with an idle wait before each stroke, each start at the first step of the responses from then on."""
    clock = RoundClock(task)
    for place in order:
        free_s = clock.free_s()
        asked_s = clock.earliest_s(place) if free_s is None else max(clock.earliest_s(place), free_s + wait_s)
        clock.stroke(place, warmth.step_at(asked_s) * warmth.step_s)
    return tuple(clock.strokes)


def _least(
    warmth: "_Warmth", stretched: Callable[[float], tuple[Stroke, ...]], most_s: float, before_s: float
) -> tuple[Stroke, ...] | None:
    """Return the round of the least stretch found, from 0 to `most_s`, that keeps the limits and may end before `before_s`."""
    if _end_s(stretched(0)) >= before_s:
        return None
    best = stretched(most_s)
    if not warmth.holds(best):
        return None
    short_s, long_s = 0.0, most_s
    for _ in range(_HALVINGS):
        middle_s = (short_s + long_s) / 2
        tried = stretched(middle_s)
        if warmth.holds(tried):
            best, long_s = tried, middle_s
        else:
            short_s = middle_s
    return best


def _exchanged(task: PacingTask, warmth: "_Warmth", strokes: tuple[Stroke, ...], turns: Sequence[int]) -> tuple[Stroke, ...]:
    """Return the round after exchanging any two strokes of one turn where that shortens it, for a bounded number of tries."""
    best = strokes
    order = [stroke.place for stroke in strokes]
    tries = 0
    for i, j in combinations(range(len(order)), 2):
        if order[i] == order[j] or turns[i] != turns[j] or tries == _MOST_EXCHANGES:
            continue
        tries += 1
        order[i], order[j] = order[j], order[i]
        tried = _as_early(task, warmth, order, _end_s(best))
        if tried is not None and _end_s(tried) < _end_s(best):
            best = tried
        else:
            order[i], order[j] = order[j], order[i]
    return best


def _end_s(strokes: Sequence[Stroke] | None) -> float:
    return np.inf if strokes is None else max(stroke.end_s for stroke in strokes)


class _Warmth:
    """The responses in the band of the task, with the limits of every watched point."""

    def __init__(self, task: PacingTask) -> None:
        first = task.responses[0]
        limits = [OrganLimit.of(organ) for organ in first.organs]
        self.step_s = first.step_s
        self.times_s = first.times_s
        self.first_degC = [response.rise_degC * task.strength for response in task.responses]
        self.later_degC = [response.rise_degC * task.strength for response in task.later_responses or task.responses]
        self.most_degC = _BELOW * np.array([limit.rise_degC for limit in limits])
        self.most_min = _BELOW * np.array([np.inf if limit.dose_min is None else limit.dose_min for limit in limits])
        self.counted_degC = value("heat.dose.counted_from_degc") - value("heat.rest_degc")

    def step_at(self, time_s: float) -> int:
        """Return the first step at or after a time."""
        return int(np.ceil(np.round(time_s / self.step_s, 6)))

    def cold(self) -> "_Field":
        """Return the field before the first stroke."""
        return _Field(self, 0, np.zeros_like(self.first_degC[0]), np.zeros(self.most_min.size), frozenset())

    def holds(self, strokes: Sequence[Stroke]) -> bool:
        """Return whether a round with starts on the steps keeps every limit."""
        field = self.cold()
        for stroke in strokes:
            step = self.step_at(stroke.start_s)
            if field.first_step(stroke.place, step, step) is None:
                return False
            field = field.stroked(stroke.place, step)
        return True

    def dose(self, rise_degC: Floats) -> Floats:
        """Return (P,) the dose of a course (P, n); points that never grow warm enough to count are passed over. [min]"""
        dose = np.zeros(self.most_min.size)
        warm = np.flatnonzero(np.isfinite(self.most_min) & (rise_degC.max(axis=1, initial=0) >= self.counted_degC))
        if warm.size:
            times_s = self.step_s * np.arange(rise_degC.shape[1], dtype=np.float64)
            dose[warm] = dose_min(times_s, rise_degC[warm] + value("heat.rest_degc"))
        return dose


class _Field:
    """What the strokes so far have left: the rise from `step` on (P, T), the dose up to there (P,), the places stroked."""

    def __init__(self, warmth: _Warmth, step: int, rise_degC: Floats, dose_min: Floats, stroked: frozenset[int]) -> None:
        self._warmth = warmth
        self._step = step
        self._rise = rise_degC
        self._dose = dose_min
        self._stroked = stroked

    def first_step(self, place: int, first: int, last: int) -> int | None:
        """Return the first step found, from `first` to `last`, at which a stroke keeps the limits; None where no step does."""
        if self._allows(place, first):
            return first
        low, width = first, 1
        while low < last:
            high = min(first + width, last)
            if self._allows(place, high):
                return self._between(place, low, high)
            low, width = high, 2 * width
        return None

    def stroked(self, place: int, step: int) -> "_Field":
        """Return the field after one more stroke."""
        passed = np.concatenate([self._rise, self._held(step)], axis=1)[:, : step - self._step + 1]
        after = self._shifted(step) + self._one_more(place)
        return _Field(self._warmth, step, after, self._dose + self._warmth.dose(passed), self._stroked | {place})

    def _between(self, place: int, low: int, high: int) -> int:
        while high - low > 1:
            middle = (low + high) // 2
            low, high = (low, middle) if self._allows(place, middle) else (middle, high)
        return high

    def _allows(self, place: int, step: int) -> bool:
        warmth = self._warmth
        after = self._shifted(step) + self._one_more(place)
        if (after.max(axis=1) > warmth.most_degC).any():
            return False
        passed = np.concatenate([self._rise, self._held(step)], axis=1)[:, : step - self._step + 1]
        dose = self._dose + warmth.dose(passed) + warmth.dose(after)
        return bool((dose <= warmth.most_min).all())

    def _one_more(self, place: int) -> Floats:
        return (self._warmth.later_degC if place in self._stroked else self._warmth.first_degC)[place]

    def _shifted(self, step: int) -> Floats:
        """Return the rise from `step` on; after the last instant it stays as it is."""
        by = step - self._step
        return np.concatenate([self._rise[:, by:], self._held(step)], axis=1)[:, : self._rise.shape[1]]

    def _held(self, step: int) -> NDArray[np.float64]:
        return np.repeat(self._rise[:, -1:], step - self._step + 1, axis=1)

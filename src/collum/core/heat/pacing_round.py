"""The round at the chair: its present state, from the instant it began and the log of what was done.

Nothing is counted down. Every answer follows from the plan, the log and the present instant, so that a screen that slept wakes
up right. Instants are seconds of one monotonic clock with any origin. What was done decides what comes next: a late stroke
moves all later ones, a stroke too soon makes the next rest count from it.
"""

from collections.abc import Sequence
from dataclasses import dataclass
from itertools import pairwise
from typing import Literal

from collum.core.heat.pacing_search import RoundClock
from collum.core.heat.pacing_task import PacingTask, Stroke
from collum.evidence import value

EventKind = Literal["began", "stroke", "metal", "stopped"]
Phase = Literal["not begun", "rest", "stroke", "done", "stopped"]
DeviationKind = Literal["too soon", "too slow", "other place", "stroke too many", "metal", "metal, pulp at risk"]


@dataclass(frozen=True, slots=True, kw_only=True)
class RoundEvent:
    """One line of the log. `at_s`: when it began. `place` and `lasted_s` belong to a stroke and to a touch of metal.

    Raises ValueError where a stroke has no place or no length of time, or a touch of metal no length of time.
    """

    kind: EventKind
    at_s: float
    place: int | None = None
    lasted_s: float | None = None

    def __post_init__(self) -> None:
        if self.kind == "stroke" and (self.place is None or self.lasted_s is None):
            raise ValueError("a stroke needs its place and how long it lasted")
        if self.kind == "metal" and self.lasted_s is None:
            raise ValueError("a touch of metal needs how long it lasted")
        if self.lasted_s is not None and self.lasted_s < 0:
            raise ValueError("nothing lasts less than no time")


@dataclass(frozen=True, slots=True, kw_only=True)
class Deviation:
    """What was done otherwise than planned. `by_s`: by how long (rest cut short, stroke over its time, touch of metal)."""

    kind: DeviationKind
    at_s: float
    place: int | None
    by_s: float


@dataclass(frozen=True, slots=True, kw_only=True)
class RoundState:
    """The state of the round at one instant.

    `next_place`: where the next stroke belongs, None before the start and after the end. `due_at_s`: from when on; `wait_s`:
    how long that still is, never negative. `passes_done` for each place. `touches`: seconds of each touch of metal.
    """

    phase: Phase
    elapsed_s: float
    next_place: int | None
    due_at_s: float | None
    wait_s: float
    passes_done: tuple[int, ...]
    strokes_left: int
    touches_s: tuple[float, ...]
    deviations: tuple[Deviation, ...]


def round_state(task: PacingTask, planned: Sequence[Stroke], log: Sequence[RoundEvent], now_s: float) -> RoundState:
    """Return the state of the round at an instant; one before the last line of the log counts as that line's.

    A planned stroke counts as done once a stroke at its place is logged, in whatever order.

    Parameters
    ----------
    task : PacingTask
        Places with passes and rests [s].
    planned : sequence of Stroke
        The planned round [s].
    log : sequence of RoundEvent
        What was done [s].
    now_s : float
        Present instant on the clock of the log [s].

    Returns
    -------
    RoundState
        Phase, next place, the time until its stroke is due [s] and the deviations.

    Raises
    ------
    ValueError
        Where the log does not begin with "began", runs backwards in time, goes on after "stopped", or names a place the task
        does not have.

    Source
    ------
    Derived: all later strokes move by what a late stroke is behind. Rests [kalkwarf1983_speed].

    Examples
    --------
    One place, two strokes: 2 s after the end of the first one 6 s of its rest are left.

    >>> from collum.core.heat.pacing_search import earliest_starts
    >>> from collum.core.heat.pacing_task import Place, hand_rules
    >>> task = PacingTask(places=(Place(length_mm=7, speed_mm_s=7, passes=2, pause_s=8),), rules=hand_rules())
    >>> log = (RoundEvent(kind="began", at_s=100), RoundEvent(kind="stroke", at_s=100, place=0, lasted_s=1))
    >>> state = round_state(task, earliest_starts(task, (0, 0)), log, 103)
    >>> state.phase, state.wait_s
    ('rest', 6.0)
    """
    _check(task, log)
    told = _Told(task, planned, log)
    phase, next_stroke, due_at_s = _standing(told, log, now_s)
    passes_done = [sum(e.kind == "stroke" and e.place == place for e in log) for place in range(len(task.places))]
    until_s = log[-1].at_s if phase == "stopped" else max([now_s, *(event.at_s for event in log[-1:])])
    return RoundState(
        phase=phase,
        elapsed_s=until_s - log[0].at_s if log else 0,
        next_place=None if next_stroke is None else next_stroke.place,
        due_at_s=due_at_s,
        wait_s=0 if due_at_s is None else max(due_at_s - until_s, 0),
        passes_done=tuple(passes_done),
        strokes_left=len(told.left),
        touches_s=tuple(event.lasted_s or 0 for event in log if event.kind == "metal"),
        deviations=tuple(told.deviations),
    )


def _standing(told: "_Told", log: Sequence[RoundEvent], now_s: float) -> tuple[Phase, Stroke | None, float | None]:
    """Return the phase, the next stroke and from when on it is due; no stroke is next before the start or after the end."""
    if not log:
        return "not begun", None, None
    if log[-1].kind == "stopped":
        return "stopped", None, None
    if not told.left:
        return "done", None, None
    due_at_s = log[0].at_s + told.due_s(told.left[0])
    return "stroke" if now_s >= due_at_s else "rest", told.left[0], due_at_s


def _check(task: PacingTask, log: Sequence[RoundEvent]) -> None:
    if log and log[0].kind != "began":
        raise ValueError("the log of a round starts with its beginning")
    for earlier, later in pairwise(log):
        if later.kind == "began" or earlier.kind == "stopped":
            raise ValueError("a round begins once and ends when it is stopped")
        if not later.at_s >= earlier.at_s:
            raise ValueError(f"the log goes back from {earlier.at_s:g} s to {later.at_s:g} s")
    for event in log:
        if event.place is not None and not 0 <= event.place < len(task.places):
            raise ValueError(f"there is no place {event.place}")


class _Told:
    """The log as it is read: which planned strokes are left, what the rests allow, what went otherwise.

    Times inside are seconds from the beginning. `behind_s`: how late the round is; all that is left moves by it.
    """

    def __init__(self, task: PacingTask, planned: Sequence[Stroke], log: Sequence[RoundEvent]) -> None:
        self._task = task
        self._clock = RoundClock(task)
        self._behind_s: float = 0
        self.left = list(planned)
        self.deviations: list[Deviation] = []
        for event in log:
            if event.kind == "metal":
                self._metal(event, event.lasted_s or 0)
            elif event.kind == "stroke" and event.place is not None:
                self._stroke(event, event.place, event.at_s - log[0].at_s, event.lasted_s or 0)

    def due_s(self, stroke: Stroke) -> float:
        """Return from when on a stroke is due: as planned, later by what the round is behind, never before the rests. [s]"""
        return max(stroke.start_s + self._behind_s, self._clock.earliest_s(stroke.place))

    def _metal(self, event: RoundEvent, lasted_s: float) -> None:
        self._note("metal, pulp at risk" if lasted_s > value("safety.metal_contact_s") else "metal", event, lasted_s)

    def _stroke(self, event: RoundEvent, place: int, start_s: float, lasted_s: float) -> None:
        taken = next((stroke for stroke in self.left if stroke.place == place), None)
        if taken is None:
            self._note("stroke too many", event, lasted_s)
        elif taken is not self.left[0]:
            self._note("other place", event, 0)
        allowed_s = self._clock.rested_s(place)
        if taken is not None and taken.waited_s > 0:
            allowed_s = max(allowed_s, taken.start_s + self._behind_s)
        if start_s < allowed_s - value("pacing.tolerance_s"):
            self._note("too soon", event, allowed_s - start_s)
        over_s = lasted_s - self._task.places[place].stroke_s
        if over_s > value("pacing.tolerance_s"):
            self._note("too slow", event, over_s)
        self._clock.stroke(place, start_s, lasted_s)
        if taken is not None:
            self.left.remove(taken)
            self._behind_s = max(self._behind_s, start_s + lasted_s - taken.end_s)

    def _note(self, kind: DeviationKind, event: RoundEvent, by_s: float) -> None:
        self.deviations.append(Deviation(kind=kind, at_s=event.at_s, place=event.place, by_s=by_s))

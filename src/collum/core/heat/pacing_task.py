"""What a round is asked to do: places round the neck with passes and rests, the rules of the hand, the warmth of a stroke."""

from collections.abc import Sequence
from dataclasses import dataclass, replace
from typing import Literal, get_args

from collum.core.heat.superposition import HeatCourse, StrokeResponse, superpose
from collum.evidence import get, value

ElectrodeForm = Literal["straight wire", "angled wire", "loop"]
HandPosition = Literal["facial", "oral", "proximal"]
Together = Literal["whole", "by pass", "free"]
_FORMS: tuple[ElectrodeForm, ...] = get_args(ElectrodeForm)
_POSITIONS: tuple[HandPosition, ...] = get_args(HandPosition)


@dataclass(frozen=True, slots=True, kw_only=True)
class Place:
    """One stretch of the margin that is cut in one stroke.

    `passes`: strokes it takes, 0 to leave it alone. `pause_s`: rest from the end of its first stroke to the start of the
    next. `neighbours`: positions of the places that share an end with it. `form`, `hand_position`: what is in the hand there,
    and where hand, mirror and suction are. Raises ValueError where the stroke is slower than the least speed or the pause
    shorter than the least one.
    """

    length_mm: float
    speed_mm_s: float
    passes: int
    pause_s: float
    neighbours: tuple[int, ...] = ()
    form: ElectrodeForm = "straight wire"
    hand_position: HandPosition = "facial"

    def __post_init__(self) -> None:
        slowest = get("heat.speed.reference_mm_s").low
        if not self.speed_mm_s >= slowest:
            raise ValueError(f"a stroke of {self.speed_mm_s:g} mm/s is slower than {slowest:g} mm/s")
        shortest = get("pacing.pause_s").low
        if not self.pause_s >= shortest:
            raise ValueError(f"a rest of {self.pause_s:g} s is shorter than {shortest:g} s")
        if self.passes < 0 or not self.length_mm > 0:
            raise ValueError(f"{self.passes} passes over {self.length_mm:g} mm")

    @property
    def stroke_s(self) -> float:
        """Time the wire is in the tissue. [s]"""
        return self.length_mm / self.speed_mm_s


@dataclass(frozen=True, slots=True, kw_only=True)
class HandTimes:
    """What the hands take between two strokes, beyond lifting and setting on. [s]

    `position_s`: to move hand, mirror and suction to another side. `wipe_s`: to wipe the wire. `change_s`: to put in another
    form of it, instead of wiping. Raises ValueError where a time is outside its range.
    """

    position_s: float
    wipe_s: float
    change_s: float

    def __post_init__(self) -> None:
        for name in ("position_s", "wipe_s", "change_s"):
            asked, allowed = getattr(self, name), get(f"pacing.{name}")
            if not allowed.low <= asked <= allowed.high:
                raise ValueError(f"{name} {asked:g} is not within {allowed.low:g} to {allowed.high:g}")


NO_HANDS = HandTimes(position_s=0, wipe_s=0, change_s=0)


@dataclass(frozen=True, slots=True, kw_only=True)
class HandRules:
    """Rules of the hand: time to move, rest of a place beside a stroke, longer rests for repeats, longest idle wait. [s]

    `hands`: what else the hands take; None reckons with none, as rests and heat alone would have it.
    """

    move_s: float
    neighbour_s: float
    repeat_factor: float
    longest_wait_s: float
    hands: HandTimes | None = None


@dataclass(frozen=True, slots=True, kw_only=True)
class PacingTask:
    """A round to plan. `responses`: the rise one stroke at each place causes at unit strength, empty to plan by rests alone.

    `later_responses`: the same for every stroke at a place after its first, which has less tissue to go to; empty where it is
    the same. `strength`: the band the limits have to hold in, as a factor of the responses. Raises ValueError where there are
    neither no responses nor one for each place, or a neighbour is none of the places or not mutual.
    """

    places: tuple[Place, ...]
    rules: HandRules
    responses: tuple[StrokeResponse, ...] = ()
    later_responses: tuple[StrokeResponse, ...] = ()
    strength: float = 1

    def __post_init__(self) -> None:
        for given in (self.responses, self.later_responses):
            if given and len(given) != len(self.places):
                raise ValueError(f"{len(given)} responses for {len(self.places)} places")
        for position, place in enumerate(self.places):
            for other in place.neighbours:
                if other == position or not 0 <= other < len(self.places) or position not in self.places[other].neighbours:
                    raise ValueError(f"place {position} calls {other} its neighbour")

    def rest_s(self, place: int, strokes_done: int) -> float:
        """Return the rest of a place after so many strokes at it, 1 or more. [s]"""
        pause_s = self.places[place].pause_s
        return pause_s if strokes_done == 1 else pause_s * self.rules.repeat_factor

    def between_s(self, earlier: int, later: int) -> float:
        """Return what the hand takes from the end of a stroke at one place to a stroke at another. [s]"""
        hands = self.rules.hands
        if hands is None:
            return self.rules.move_s
        here, there = self.places[earlier], self.places[later]
        wire_s = hands.wipe_s if here.form == there.form else hands.change_s
        return self.rules.move_s + wire_s + (hands.position_s if here.hand_position != there.hand_position else 0)

    def without_hands(self) -> "PacingTask":
        """Return the task as rests and heat alone would have it: the lower bound of every start."""
        return replace(self, rules=replace(self.rules, hands=None))

    def ways_together(self) -> tuple[Together, ...]:
        """Return how places of one form and one hand position may come together, the best way first.

        "whole": all passes of a group before the next; "by pass": the same within each pass; "free": in any order. Where it
        takes no time to go from one to another, or there is one group, any order is as good.
        """
        hands = self.rules.hands
        stroked = [place for place in range(len(self.places)) if self.places[place].passes]
        one_group = len({self.rank(place) for place in stroked}) <= 1
        if hands is None or hands.position_s + hands.change_s == 0 or one_group:
            return ("free",)
        several = max(self.places[place].passes for place in stroked) > 1
        return ("whole", "by pass", "free") if several else ("whole", "free")

    def rank(self, place: int) -> int:
        """Return where the form and the hand position of a place come in the order of work: a form is put in once."""
        asked = self.places[place]
        return _FORMS.index(asked.form) * len(_POSITIONS) + _POSITIONS.index(asked.hand_position)

    def turn(self, together: Together, place: int, strokes_done: int) -> int:
        """Return the turn in which the next stroke of a place comes; the strokes of a turn come before those of the next."""
        if together == "free":
            return 0
        return self.rank(place) + (strokes_done * len(_FORMS) * len(_POSITIONS) if together == "by pass" else 0)

    def course(self, strokes: Sequence["Stroke"]) -> HeatCourse:
        """Return the rise over a round in the band of the task, until the response to the last stroke has ended."""
        count = len(self.places)
        first: list[list[float]] = [[] for _ in range(count)]
        later: list[list[float]] = [[] for _ in range(count)]
        for stroke in strokes:
            (first if stroke.number == 1 else later)[stroke.place].append(stroke.start_s)
        responses = (*self.responses, *(self.later_responses or self.responses))
        return superpose(responses, [*first, *later]).scaled(self.strength)


@dataclass(frozen=True, slots=True, kw_only=True)
class Stroke:
    """One stroke of a round: which place, its number there (from 1), start and end, idle wait before it. [s]"""

    place: int
    number: int
    start_s: float
    end_s: float
    waited_s: float


def usual_hands() -> HandTimes:
    """Return what the hands take where it was not entered.

    Returns
    -------
    HandTimes
        Times [s].

    Source
    ------
    Decisions [collum_decision].

    Examples
    --------
    >>> usual_hands()
    HandTimes(position_s=8, wipe_s=3, change_s=20)
    """
    return HandTimes(position_s=value("pacing.position_s"), wipe_s=value("pacing.wipe_s"), change_s=value("pacing.change_s"))


def hand_rules(hands: HandTimes | None = None) -> HandRules:
    """Return the rules of the hand from the registry.

    Parameters
    ----------
    hands : HandTimes, optional
        What the hands take beyond lifting and setting on [s]; none where it is not reckoned with.

    Returns
    -------
    HandRules
        Times [s] and the factor of longer rests [1].

    Source
    ------
    Decisions [collum_decision].

    Examples
    --------
    >>> rules = hand_rules()
    >>> rules.move_s, rules.repeat_factor
    (1, 1.25)
    """
    return HandRules(
        move_s=value("pacing.move_s"),
        neighbour_s=value("pacing.neighbour_s"),
        repeat_factor=value("pacing.repeat_factor"),
        longest_wait_s=value("pacing.longest_wait_s"),
        hands=hands,
    )


def pause_s(form: ElectrodeForm) -> float:
    """Return the rest of a place after one stroke of an electrode.

    Parameters
    ----------
    form : ElectrodeForm
        "straight wire", "angled wire" or "loop".

    Returns
    -------
    float
        Rest [s].

    Source
    ------
    Wire [kalkwarf1983_speed], loop [common_practice].

    Examples
    --------
    >>> pause_s("straight wire"), pause_s("loop")
    (8, 15)
    """
    return value("pacing.loop_pause_s" if form == "loop" else "pacing.pause_s")


def ring_neighbours(count: int, *, closed: bool) -> tuple[tuple[int, ...], ...]:
    """Return the neighbours of each place in a row.

    Parameters
    ----------
    count : int
        Number of places.
    closed : bool
        Whether the last place joins the first.

    Returns
    -------
    tuple of tuples of int
        Positions of the neighbours of each place, rising.

    Source
    ------
    Derived.

    Examples
    --------
    >>> ring_neighbours(4, closed=True)
    ((1, 3), (0, 2), (1, 3), (0, 2))
    """
    found = []
    for position in range(count):
        beside = {position - 1, position + 1}
        if closed:
            beside = {place % count for place in beside} - {position}
        found.append(tuple(sorted(place for place in beside if 0 <= place < count)))
    return tuple(found)

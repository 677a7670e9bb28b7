"""Depths in whole steps: how a depth is rounded, which depths fit beside each other, how depths that no line fits are eased.

How much a line changes from a station to the next is bounded, so that no place may be deeper than another by more than the
bounds on the way allow. Whole steps that keep this are found without a solver.
"""

from collections.abc import Callable, Mapping
from dataclasses import dataclass, field
from typing import Generic, TypeVar

import numpy as np

from collum.core.ring import STATIONS, Floats
from collum.evidence.handed import PlanLimits

Place = TypeVar("Place")
_DEEPENED = 4  # how often depths beside each other are matched; then the deepest is reduced
_DIGITS = 3  # of a number of steps: the solver is exact to less than that


def down(depth_mm: float, step_mm: float) -> float:
    """Return the whole steps in a depth, 0 at least."""
    return max(float(np.floor(round(depth_mm / step_mm, _DIGITS))) * step_mm, 0)


def up(depth_mm: float, step_mm: float) -> float:
    """Return the fewest whole steps that reach a depth, 0 at least."""
    return max(float(np.ceil(round(depth_mm / step_mm, _DIGITS))) * step_mm, 0)


def off_printed(off_mm: Mapping[Place, float], limits: PlanLimits) -> dict[Place, float]:
    """Return the places, of lines that are so far off printed depths, where they do not pass through them."""
    return {place: mm for place, mm in off_mm.items() if abs(mm) > limits.hand_off_printed_mm}


def most_apart_mm(fall_mm: Floats, rise_mm: Floats, pairs: Mapping[tuple[int, int], float] | None = None) -> Floats:
    """Return (36, 36) how much deeper the first of two stations may be than the second.

    `rise_mm`, `fall_mm` (36,): how much deeper and how much less deep a line may become at the next station; `pairs`: bounds on
    stations that are not beside each other.
    """
    here = np.arange(STATIONS)
    most = np.full((STATIONS, STATIONS), np.inf)
    most[here, here] = 0
    most[np.roll(here, -1), here] = rise_mm
    most[here, np.roll(here, -1)] = fall_mm
    for pair, mm in (pairs or {}).items():
        most[pair] = min(most[pair], mm)
    for by in range(STATIONS):
        most = np.minimum(most, most[:, by, None] + most[None, by, :])
    return np.asarray(most)


def fitted(
    depth_mm: Mapping[int, float], deepest_mm: Floats, most_apart: Floats, step_mm: float, *, deepen: bool
) -> dict[int, float]:
    """Return whole steps of depth at stations that fit beside each other and under the deepest (36,) all round.

    `deepen`: a place beside a deep one is deepened where it may be; otherwise the deep one is reduced.
    """
    stations = list(depth_mm)
    most = {i: down(float(np.min(deepest_mm + most_apart[i])), step_mm) for i in stations}
    fits = {i: min(down(depth_mm[i], step_mm), most[i]) for i in stations}
    if deepen:
        needed = {i: max(up(fits[j] - float(most_apart[j, i]), step_mm) for j in stations) for i in stations}
        fits = {i: min(max(needed[i], fits[i]), most[i]) for i in stations}
    while True:
        least = {i: min(down(fits[j] + float(most_apart[i, j]), step_mm) for j in stations) for i in stations}
        if least == fits:
            return fits
        fits = least


@dataclass(kw_only=True)
class Easing(Generic[Place]):
    """How printed depths are eased where no line passes through all of them, never the same depths twice.

    Where the line is deeper than printed the place is deepened, a few times and as far as that is allowed; where it is less
    deep the place is reduced, and where that was tried, the deepest place of the same line. So it ends: nothing cut.
    `line_of`: which line a place belongs to.
    """

    step_mm: float
    off_mm: float
    line_of: Callable[[Place], object] = lambda _: None
    _seen: list[dict[Place, float]] = field(default_factory=list)

    def eased(
        self, depths: dict[Place, float], off_mm: dict[Place, float], deepest_mm: Mapping[Place, float]
    ) -> dict[Place, float]:
        """Return depths that are nearer to what a line can pass through; `off_mm`: how much less deep than printed it is."""
        self._seen.append(depths)
        eased = dict(depths)
        for place, off in off_mm.items():
            deeper = up(depths[place] - off, self.step_mm)
            if off > 0:
                eased[place] = down(depths[place] - off, self.step_mm)
            elif deeper <= deepest_mm[place] + self.off_mm:
                eased[place] = deeper
        if len(self._seen) <= _DEEPENED and eased not in self._seen:
            return eased
        eased = dict(depths)
        lines = {self.line_of(place) for place in off_mm}
        worked = [place for place in eased if eased[place] > 0]
        of_line = [place for place in worked if self.line_of(place) in lines]
        deepest = max(of_line or worked, key=lambda place: eased[place])
        eased[deepest] = max(eased[deepest] - self.step_mm, 0)
        return eased

"""The lines as they are printed: at a site a whole number of steps or nothing, between the sites one line through them.

First the lines of least burden in their shape, of any depth. From these every site gets a depth that can be printed, and the
lines are solved again through those depths; where no line of that shape passes through all of them, the depths are eased. A cut
is left out between two sites that are left, and at a papilla that neither a rule nor the line beside it needs cut.
"""

from collections.abc import Callable
from dataclasses import dataclass, replace

import numpy as np

from collum.core.ring import STATIONS, Floats
from collum.plan.lengthening.solver.hand import (
    PAPILLAE,
    Neck,
    deepest_between_mm,
    depth_over_run_out_mm,
    with_one_low_place,
)
from collum.plan.lengthening.solver.programme import (
    Lines,
    Programme,
    cut_for_upper_rules,
    deepest_cut_mm,
    finish_bounds,
    reserve_share,
    solve,
    wished_cut_mm,
)
from collum.plan.lengthening.solver.whole_steps import Easing, down, fitted, most_apart_mm, off_printed, up

Depths = dict[int, float]  # at the stations of the sites, 0 where nothing is cut
LOW_PLACES = 4  # how often a second low place may come up elsewhere when one is levelled


class PrintedCut:
    """The lines of a programme as they are printed; its lines of any depth are found once."""

    def __init__(self, programme: Programme) -> None:
        self._programme = programme
        self._start = None if programme.shape is None else _start(programme, programme.shape.neck)
        self._needed = {} if self._start is None else self._start.fitted(self._start.depth_mm, deepen=True)

    def needed(self) -> Lines:
        """Return the lines with every site taken to the step that a rule needs, where the guards of bone allow it.

        As solved where the procedure cuts nothing.
        """
        start = self._start
        if start is None:
            return solve(self._programme)
        depths = self._needed
        limits, deepest_mm = self._programme.limits, dict(enumerate(start.deepest_mm))
        easing = Easing[int](step_mm=limits.hand_step_mm, off_mm=limits.hand_off_printed_mm)
        while True:
            lines, off_mm = _through(start, depths)
            if not off_mm or not any(depths.values()):
                return lines
            depths = easing.eased(depths, off_mm, deepest_mm)

    def with_less(self) -> Lines | None:
        """Return the lines with every site taken to the step before; None where there is no such line, or no lesser one."""
        start = self._start
        if start is None:
            return None
        depths = start.fitted(start.step_before_mm, deepen=False)
        if depths == self._needed:
            return None
        lines, off_mm = _through(start, depths)
        return None if off_mm else lines


@dataclass(frozen=True, slots=True, kw_only=True)
class _Start:
    """What the depths are chosen from: the programme without and with a cut at the papillae that need none, its lines of any
    depth (36,), what the rules need, what the guards allow. [mm]
    """

    neck: Neck
    whole: Programme
    left: Programme
    line_mm: Floats
    needed_mm: Floats
    deepest_mm: Floats

    def fitted(self, depth_mm: Callable[[int], float], *, deepen: bool) -> Depths:
        """Return the depths of all sites that fit beside each other; held handles and what no shape bounds as they are."""
        depths = {site: depth_mm(site) for site in self.neck.sites}
        shape = self.left.shape
        if shape is None or self.left.held_cut:
            return depths
        apart = most_apart_mm(shape.step_high_mm, -shape.step_low_mm)
        fits = fitted(depths, self.deepest_mm, apart, self.neck.limits.hand_step_mm, deepen=deepen)
        if self.whole is self.left or all(fits[site] >= depths[site] for site in depths):
            return fits
        return fitted(depths, _deepest_mm(self.whole), apart, self.neck.limits.hand_step_mm, deepen=deepen)

    def depth_mm(self, site: int) -> float:
        """Return the depth of a site in whole steps: of the line, and no less than what is needed there."""
        limits = self.neck.limits
        step = limits.hand_step_mm
        wanted = max(up(self.needed_mm[site] - limits.hand_overlooked_mm, step), down(self.line_mm[site] + step / 2, step))
        return min(wanted, down(self.deepest_mm[site], step))

    def step_before_mm(self, site: int) -> float:
        """Return the depth of a site in whole steps that is no more than the line's; a wished one as it is."""
        if site in self.left.wished_mm:
            return self.depth_mm(site)
        return down(self.line_mm[site], self.neck.limits.hand_step_mm)


def _start(programme: Programme, neck: Neck) -> _Start:
    whole = _as_held(programme)
    left = _left_at_papillae(whole, neck)
    return _Start(
        neck=neck,
        whole=whole,
        left=left,
        line_mm=-solve(left).cut_mm,
        needed_mm=_needed_mm(whole),
        deepest_mm=_deepest_mm(left),
    )


def _as_held(programme: Programme) -> Programme:
    """Return the programme without its shape where a handle is held so that no line of that shape passes through it."""
    if not programme.held_cut:
        return programme
    low = programme.cut_low_mm.copy()
    for station, height in programme.held_cut.items():
        low[station] = min(low[station], height)
    free = solve(replace(programme, held_cut={}, cut_low_mm=low, printed=programme.held_cut))
    return replace(programme, shape=None) if off_printed(free.off_printed_mm, programme.limits) else programme


def _left_at_papillae(programme: Programme, neck: Neck) -> Programme:
    """Return the programme with nothing cut at a papilla that no rule needs cut, there or for a cut beside it."""
    half, needed = neck.limits.hand_step_mm / 2, np.maximum(_needed_mm(programme), -wished_cut_mm(programme))
    low = programme.cut_low_mm.copy()
    for station in PAPILLAE:
        beside = bool((needed <= depth_over_run_out_mm(neck, station) + half).all())
        if station not in programme.held_cut and beside:  # the run-out is 0 at the papilla itself
            low[station] = 0
    return programme if (low == programme.cut_low_mm).all() else replace(programme, cut_low_mm=low)


def _needed_mm(programme: Programme) -> Floats:
    """Return (36,) how deep the rules that bound the finish line from above need the cut, no deeper than the guards allow."""
    share, lacking = reserve_share(programme, programme.cut_low_mm)
    _, high = finish_bounds(programme, share, lacking, programme.cut_low_mm)
    deepest = _deepest_mm(programme)
    needed = programme.gap_low_mm + share * programme.gap_reserve_mm - high
    if lacking.any():
        needed = np.where(lacking > 0, -cut_for_upper_rules(programme, -deepest, np.zeros(STATIONS)), needed)
    return np.asarray(np.clip(needed, 0, np.maximum(deepest, 0)))


def _deepest_mm(programme: Programme) -> Floats:
    """Return (36,) how deep the guards allow the cut, with the share of their reserves that can be kept."""
    share, _ = reserve_share(programme, programme.cut_low_mm)
    return -deepest_cut_mm(programme, share, programme.cut_low_mm)


def _through(start: _Start, depths: Depths) -> tuple[Lines, Depths]:
    """Return the lines through the depths, and how far they are off those that no line passes through: with the papillae
    left, else with them cut as the line needs.
    """
    lines, off_mm = _tied(start.left, start.neck, depths)
    if off_mm and start.whole is not start.left:
        return _tied(start.whole, start.neck, depths)
    return lines, off_mm


def _tied(programme: Programme, neck: Neck, depths: Depths) -> tuple[Lines, Depths]:
    held = programme.held_cut
    between = deepest_between_mm(neck, {site: -held.get(site, -depth) for site, depth in depths.items()})
    low = np.maximum(programme.cut_low_mm, -between)
    printed = {site: -depth for site, depth in depths.items() if site not in held}
    if programme.shape is None:
        return solve(replace(programme, cut_low_mm=low, held_cut={**printed, **held}, wished_mm={})), {}
    tied = replace(programme, cut_low_mm=low, printed=printed, wished_mm={})
    lines, shape = solve(tied), programme.shape
    for _ in range(LOW_PLACES):
        tighter = with_one_low_place(shape, lines.cut_mm)
        if tighter is shape:
            break
        shape = tighter
        lines = solve(replace(tied, shape=shape))
    off = off_printed(lines.off_printed_mm, programme.limits)
    cut = lines.cut_mm.copy()
    cut[list(printed)] = list(printed.values())
    return replace(lines, cut_mm=cut), off

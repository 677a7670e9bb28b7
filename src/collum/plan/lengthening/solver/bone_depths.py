"""Bone surgery as it is printed: at a site the sutured margin and the bone taken in whole steps, or nothing.

As for a cut: the lines of any depth first, then those through the depths that can be printed. Bone is taken over a width that
an instrument needs, and nowhere next to nothing.
"""

from collections.abc import Iterator
from dataclasses import replace

import numpy as np

from collum.core.ring import STATIONS, Floats
from collum.plan.lengthening.solver.bone_programme import BoneLines, BoneProgramme, BoneSolver, Printed
from collum.plan.lengthening.solver.hand import deepest_between_mm, with_one_low_place
from collum.plan.lengthening.solver.hand_bone import bone_steps_mm, changes_of, most_between_mm, width_mm
from collum.plan.lengthening.solver.site_depths import LOW_PLACES
from collum.plan.lengthening.solver.whole_steps import Easing, down, fitted, most_apart_mm, off_printed, up

_DEEPER = 2  # how often the margin is sutured a step deeper where height lacks
_TIDIED = 4  # how often bone that is next to nothing, or too narrow, is looked at again
Depths = dict[Printed, float]


def printed_bone(programme: BoneProgramme, free: BoneLines) -> Iterator[BoneLines]:
    """Yield the lines of bone surgery as they can be printed, those that take less first; `free`: the lines of any depth.

    Every place is taken to the step before, to the nearest one, to the one that it needs but for a little, or to that one.
    Where height lacks then and does not in the lines of any depth, the margin beside it is sutured a step deeper.
    """
    solver, limits, tried = BoneSolver(programme, _places(programme)), programme.limits, list[Depths]()

    def untried(depths: Depths) -> BoneLines | None:
        if depths in tried:
            return None
        tried.append(depths)
        return _printed(programme, solver, depths)

    step, lines, lacked = limits.hand_step_mm, free, _lacks(programme, free)
    for short_mm in (step - limits.hand_overlooked_mm, step / 2, limits.hand_overlooked_mm, limits.hand_off_printed_mm):
        found = untried(_rounded(programme, free, short_mm, deepen=short_mm <= step / 2))
        if found is not None:
            yield (lines := found)
    for _ in range(_DEEPER):
        lacks = _lacks(programme, lines) & ~lacked
        depths = _deeper_beside(programme, _depths_of(programme, lines), lacks)
        found = untried(_margins_fitted(programme, depths, deepen=True)) if lacks.any() else None
        if found is None:
            return
        yield (lines := found)


def _lacks(programme: BoneProgramme, lines: BoneLines) -> np.ndarray:
    """Return (36,) bool: where height lacks."""
    return np.asarray(lines.lacking_mm > programme.limits.hand_off_printed_mm)


def _deeper_beside(programme: BoneProgramme, depths: Depths, lacks: np.ndarray) -> Depths:
    """Return the depths with the sutured margin a step deeper at the sites beside every station where height lacks."""
    neck, step = programme.shape.neck, programme.limits.hand_step_mm
    beside = (neck.beside(int(i)) if i not in neck.sites else {int(i)} for i in np.flatnonzero(lacks))
    return depths | {("cut", site): depths[("cut", site)] + step for site in set().union(*beside)}


def _depths_of(programme: BoneProgramme, lines: BoneLines) -> Depths:
    """Return the depths that lines have at the sites."""
    step = programme.limits.hand_step_mm
    depth_mm = {"bone": lines.bone_mm, "cut": -lines.cut_mm}
    return {(line, site): down(float(depth_mm[line][site]), step) for line, site in _places(programme)}


def _places(programme: BoneProgramme) -> tuple[Printed, ...]:
    return tuple((line, site) for line in ("bone", "cut") for site in programme.shape.neck.sites)


def _rounded(programme: BoneProgramme, free: BoneLines, short_mm: float, *, deepen: bool) -> Depths:
    """Return every place in whole steps that fit beside each other, each up to `short_mm` less than in the lines `free`."""
    step, shape, sites = programme.limits.hand_step_mm, programme.shape, programme.shape.neck.sites
    fall, rise = bone_steps_mm(programme.crest_mm, shape.neck.arc_mm, programme.limits)
    apart = most_apart_mm(-fall, rise, most_between_mm(programme.crest_mm))
    wanted = {site: up(float(free.bone_mm[site]) - short_mm, step) for site in sites}
    bone = fitted(wanted, programme.bone_high_mm, apart, step, deepen=deepen)
    depths: Depths = {("bone", site): depth for site, depth in bone.items()}
    depths |= {("cut", site): up(float(-free.cut_mm[site]) - short_mm, step) for site in sites}
    return _margins_fitted(programme, depths, deepen=deepen)


def _margins_fitted(programme: BoneProgramme, depths: Depths, *, deepen: bool) -> Depths:
    """Return the depths with sutured margins over the bone that is left, and such that they fit beside each other."""
    shape, sites = programme.shape, programme.shape.neck.sites
    depths = _over_bone(programme, depths)
    allowed, deepest = _deepest(programme, depths), np.full(STATIONS, np.inf)
    deepest[list(sites)] = [allowed[("cut", site)] for site in sites]
    apart = most_apart_mm(shape.step_high_mm, -shape.step_low_mm)
    wanted = {site: depths[("cut", site)] for site in sites}
    cut = fitted(wanted, deepest, apart, programme.limits.hand_step_mm, deepen=deepen)
    return depths | {("cut", site): depth for site, depth in cut.items()}


def _printed(programme: BoneProgramme, solver: BoneSolver, depths: Depths) -> BoneLines:
    """Return the lines through the depths, eased as far as they have to be."""
    limits = programme.limits
    easing = Easing[Printed](step_mm=limits.hand_step_mm, off_mm=limits.hand_off_printed_mm, line_of=lambda place: place[0])
    while True:
        lines, off_mm = _through(programme, solver, depths)
        if not off_mm or not any(depths.values()):
            return lines
        depths = _over_bone(programme, easing.eased(depths, off_mm, _deepest(programme, depths)))


def _over_bone(programme: BoneProgramme, depths: Depths) -> Depths:
    """Return the depths with every sutured margin as far over the bone that is left as it has to be."""
    step, deepest = programme.limits.hand_step_mm, _deepest(programme, depths)
    return {place: min(depth, down(float(deepest[place]), step)) for place, depth in depths.items()}


def _deepest(programme: BoneProgramme, depths: Depths) -> Depths:
    """Return how deep each place may be: bone as far as it may be taken, the margin as far as the bone taken allows."""
    return {
        (line, site): programme.bone_high_mm[site] if line == "bone" else depths[("bone", site)] - programme.cut_low_mm[site]
        for line, site in depths
    }


def _through(programme: BoneProgramme, solver: BoneSolver, depths: Depths) -> tuple[BoneLines, Depths]:
    """Return the lines through the depths, and how much less deep they are where no line passes through."""
    step, neck = programme.limits.hand_step_mm, programme.shape.neck
    cut_most, bone_most = (
        deepest_between_mm(neck, {site: depth for (of, site), depth in depths.items() if of == line})
        for line in ("cut", "bone")
    )
    tied = replace(
        programme,
        printed=depths,
        margin_low_mm=np.maximum(programme.margin_low_mm, -cut_most),
        bone_high_mm=np.minimum(programme.bone_high_mm, bone_most),
    )
    lines = solver.solve(tied)
    for _ in range(LOW_PLACES):
        shape = with_one_low_place(tied.shape, lines.cut_mm)
        if shape is tied.shape:
            break
        tied = replace(tied, shape=shape)
        lines = solver.solve(tied)
    for _ in range(_TIDIED):
        tidied = _tidied(tied, lines)
        if tidied is None or off_printed(lines.off_printed_mm, programme.limits):
            break
        tied, lines = tidied, solver.solve(tidied)
    cut, bone = lines.cut_mm.copy(), np.where(lines.bone_mm < programme.limits.least_bone_mm, 0, lines.bone_mm)
    for (line, site), depth in depths.items():
        if line == "cut":
            cut[site] = -depth
        else:
            bone[site] = depth
    narrow = _narrow(programme, bone)
    off_mm: Depths = {("bone", site): step for site in neck.sites if depths[("bone", site)] and site in narrow}
    if narrow and not off_mm:
        off_mm[max(depths, key=lambda place: depths[place] if place[0] == "bone" else 0)] = step
    return replace(lines, cut_mm=cut, bone_mm=bone), off_mm | off_printed(lines.off_printed_mm, programme.limits)


def _narrow(programme: BoneProgramme, bone_mm: Floats) -> set[int]:
    """Return the stations of changes of the crest that are narrower than an instrument needs."""
    changes, arc = changes_of(bone_mm >= programme.limits.least_bone_mm), programme.shape.neck.arc_mm
    return {int(i) for one in changes if width_mm(one, arc) < programme.limits.hand_bone_width_mm for i in one}


def _tidied(programme: BoneProgramme, lines: BoneLines) -> BoneProgramme | None:
    """Return the programme with the least bone where there is next to none, and with changes of the crest as wide as asked.

    None where the lines are so already.
    """
    least, arc = programme.limits.least_bone_mm, programme.shape.neck.arc_mm
    low, high = programme.bone_low_mm.copy(), programme.bone_high_mm.copy()
    taken = lines.bone_mm > programme.limits.hand_off_printed_mm
    for change in changes_of(taken):
        wider = _widened(change, arc, programme.limits.hand_bone_width_mm, high >= 2 * least)
        low[wider] = np.maximum(low[wider], least + programme.limits.hand_off_printed_mm)
    low = np.minimum(low, high)
    return None if (low <= np.maximum(programme.bone_low_mm, lines.bone_mm)).all() else replace(programme, bone_low_mm=low)


def _widened(change: np.ndarray, arc_mm: Floats, width: float, free: np.ndarray) -> np.ndarray:
    """Return the stations of a change made as wide as asked, on both sides in turn as far as stations are free."""
    stations = [int(station) for station in change]
    for turn in range(STATIONS):
        if width_mm(np.array(stations), arc_mm) >= width:
            break
        beside = (stations[-1] + 1) % STATIONS if turn % 2 else (stations[0] - 1) % STATIONS
        if free[beside] and beside not in stations:
            stations = [*stations, beside] if turn % 2 else [beside, *stations]
    return np.array(stations)

"""What a hand can cut: bounds on the depth of a cut and on the margin that it leaves, and where a given line breaks them.

Everything here is about the line round the neck: how steeply its depth changes, how steep and how bent the new margin is,
where it is lowest. Where today's margin is steeper or more bent than the bound, today's is the bound, so that leaving the
margin as it is never breaks one. Heights relative to today's margin, coronal positive, at 36 stations. [mm]
"""

from collections.abc import Iterator
from dataclasses import dataclass, replace
from functools import partial
from typing import Literal

import numpy as np

from collum.core.ring import QUARTER_DEG, STATIONS, Floats
from collum.evidence.handed import PlanLimits

CutFaultId = Literal["shallow_site", "depth_change", "margin_slope", "margin_bend", "ridge", "second_low"]
BoneFaultId = Literal["shallow_bone", "crest_slope", "neighbour_bone", "narrow_bone", "low_between"]
HandFaultId = CutFaultId | BoneFaultId
PAPILLAE = tuple(STATIONS * degrees // 360 for degrees in (QUARTER_DEG, 3 * QUARTER_DEG))
_ROUND = np.arange(STATIONS)
_FACES = (np.roll(_ROUND, PAPILLAE[0])[: STATIONS // 2 + 1], np.roll(_ROUND, -PAPILLAE[0])[: STATIONS // 2 + 1])


@dataclass(frozen=True, slots=True, kw_only=True)
class Neck:
    """The margin as it is (36,) in the tooth frame, the arc (36,) from each station to the next, the stations of read sites."""

    margin_mm: Floats
    arc_mm: Floats
    sites: tuple[int, ...]
    limits: PlanLimits

    def beside(self, station: int) -> set[int]:
        """Return the nearest sites on both sides of a station, itself left out; one where there is but one other."""
        sites = np.array([site for site in self.sites if site != station])
        return {int(sites[np.argmin((sites - station) * way % STATIONS)]) for way in (1, -1)} if sites.size else set()

    def between(self) -> Iterator[tuple[int, int, np.ndarray]]:
        """Yield every two sites that follow each other round the neck, with the stations between them."""
        for one, other in zip(self.sites, (*self.sites[1:], *self.sites[:1]), strict=True):
            yield one, other, (one + np.arange(1, (other - one - 1) % STATIONS + 1)) % STATIONS


@dataclass(frozen=True, slots=True, kw_only=True)
class Shape:
    """Bounds on a cut of a neck, each (36,): on its step from a station to the next, and on its bend. [mm, 1/mm]"""

    neck: Neck
    step_low_mm: Floats
    step_high_mm: Floats
    bend_low: Floats
    bend_high: Floats

    def rows(self) -> tuple[Floats, Floats]:
        """Return matrix and limit of: matrix line <= limit."""
        step, bend = steps_of(np.eye(STATIONS)), bends_of(np.eye(STATIONS), self.neck.arc_mm)
        return np.vstack([step, -step, bend, -bend]), self.most()

    def most(self) -> Floats:
        """Return the limits of the rows."""
        return np.concatenate([self.step_high_mm, -self.step_low_mm, self.bend_high, -self.bend_low])


@dataclass(frozen=True, slots=True, kw_only=True)
class HandFault:
    """The worst place where a line breaks a bound: its station, what it has there and what a hand can make."""

    id: HandFaultId
    station: int
    amount: float
    limit: float


def shape_of_cut(neck: Neck) -> Shape:
    """Return the bounds on the cut: change of its depth, slope and bend of the margin it leaves. Cutting nothing keeps them."""
    limits, today = neck.limits, steps_of(neck.margin_mm)
    bends, bend = bends_of(neck.margin_mm, neck.arc_mm), 1 / limits.hand_bend_radius_mm
    change, slope = limits.hand_depth_change * neck.arc_mm, limits.hand_margin_slope * neck.arc_mm
    return Shape(
        neck=neck,
        step_low_mm=np.maximum(-change, np.minimum(-slope - today, 0)),
        step_high_mm=np.minimum(change, np.maximum(slope - today, 0)),
        bend_low=np.minimum(-bend - bends, 0),
        bend_high=np.maximum(bend - bends, 0),
    )


def with_one_low_place(shape: Shape, cut_mm: Floats) -> Shape:
    """Return the shape without a second low place in a face that has one with this cut: away from its lowest place the margin
    falls no more than today's does. The shape itself where no face has one.
    """
    neck, today = shape.neck, steps_of(shape.neck.margin_mm)
    low, high = shape.step_low_mm.copy(), shape.step_high_mm.copy()
    for face in _FACES:
        if _second_low(neck, cut_mm, face) is None:
            continue
        lowest = int(np.argmin((neck.margin_mm + cut_mm)[face]))
        onwards, back = face[lowest:-1], face[:lowest]
        low[onwards] = np.maximum(low[onwards], -np.maximum(today[onwards], 0))
        high[back] = np.minimum(high[back], np.maximum(-today[back], 0))
    if (low == shape.step_low_mm).all() and (high == shape.step_high_mm).all():
        return shape
    return replace(shape, step_low_mm=low, step_high_mm=high)


def deepest_between_mm(neck: Neck, depth_mm: dict[int, float]) -> Floats:
    """Return (36,) how deep a cut may be between the sites: hardly deeper than the deeper of two, nothing where both are left.

    `depth_mm`: depths at the stations of all sites, 0 where nothing is cut.
    """
    most = np.full(STATIONS, np.inf)
    for one, other, between in neck.between():
        deeper = max(depth_mm[one], depth_mm[other])
        most[between] = deeper + neck.limits.hand_ridge_mm if deeper else 0
    return most


def depth_over_run_out_mm(neck: Neck, station: int) -> Floats:
    """Return (36,) how deep a cut can be that runs out to nothing at a station, by the change of its depth and its bend."""
    ends = np.concatenate([[0], np.cumsum(neck.arc_mm)])
    ahead = np.abs(ends[:-1] - ends[station])
    along = np.minimum(ahead, ends[-1] - ahead)
    change, radius = neck.limits.hand_depth_change, neck.limits.hand_bend_radius_mm
    straight = along - change * radius  # until then it bends into its slope
    return np.asarray(np.where(straight < 0, along**2 / (2 * radius), change * straight + change**2 * radius / 2))


def hand_faults(neck: Neck, cut_mm: Floats) -> tuple[HandFault, ...]:
    """Return where a cut is not one that a hand can make: for each bound that is broken its worst place."""
    limits, margin = neck.limits, neck.margin_mm + cut_mm
    shape = shape_of_cut(neck)
    step, bend = steps_of(cut_mm), bends_of(cut_mm, neck.arc_mm)
    slopes = steps_of(margin) / neck.arc_mm
    change, slope_most = step / neck.arc_mm, limits.hand_margin_slope
    today = steps_of(neck.margin_mm) / neck.arc_mm
    over_slope = np.maximum(slopes - np.maximum(today, slope_most), np.minimum(today, -slope_most) - slopes)
    over_bend = np.maximum(bend - shape.bend_high, shape.bend_low - bend)
    worst = partial(worst_fault, check=limits.hand_check)
    found: list[HandFault | None] = [
        shallow_site(neck, cut_mm, "shallow_site", limits.least_cut_mm),
        worst("depth_change", np.abs(change) - limits.hand_depth_change, np.abs(change), limits.hand_depth_change),
        worst("margin_slope", over_slope, np.abs(slopes), slope_most),
        worst("margin_bend", over_bend, _radius(bends_of(margin, neck.arc_mm)), limits.hand_bend_radius_mm),
        _ridge(neck, cut_mm),
        *(_second_low(neck, cut_mm, face) for face in _FACES),
    ]
    return tuple(fault for fault in found if fault is not None)


def worst_fault(fault: HandFaultId, over: Floats, amounts: Floats, limit: float, *, check: float) -> HandFault | None:
    """Return the station that is over its bound by most, with what it has there; None where it is by `check` or less."""
    worst = int(np.argmax(over))
    if over[worst] <= check:
        return None
    return HandFault(id=fault, station=worst, amount=float(amounts[worst]), limit=limit)


def shallow_site(neck: Neck, line_mm: Floats, fault: HandFaultId, none_mm: float) -> HandFault | None:
    """Return the shallowest site that is worked on by less than a step; up to `none_mm` is nothing.

    A site on the way to a deeper place is run over, not worked on.
    """
    least = neck.limits.hand_step_mm
    deepest_here = line_mm <= np.minimum(np.roll(line_mm, 1), np.roll(line_mm, -1))
    shallow = [site for site in neck.sites if deepest_here[site] and none_mm < -line_mm[site] < least - neck.limits.hand_check]
    if not shallow:
        return None
    site = max(shallow, key=lambda one: float(line_mm[one]))
    return HandFault(id=fault, station=site, amount=float(-line_mm[site]), limit=least)


def steps_of(line_mm: Floats) -> Floats:
    """Return how much a line (36, ...) rises from each station to the next."""
    return np.asarray(np.roll(line_mm, -1, axis=0) - line_mm)


def bends_of(line_mm: Floats, arc_mm: Floats) -> Floats:
    """Return how much the slope of a line (36, ...) changes at each station, per mm of arc: 1 / radius where it is level."""
    arc = arc_mm.reshape(-1, *(1,) * (line_mm.ndim - 1))
    slope = steps_of(line_mm) / arc
    before, arc_before = np.roll(slope, 1, axis=0), np.roll(arc, 1, axis=0)
    return np.asarray(2 * (slope - before) / (arc + arc_before))


def _radius(bends: Floats) -> Floats:
    return np.asarray(1 / np.maximum(np.abs(bends), np.finfo(float).eps))


def _ridge(neck: Neck, cut_mm: Floats) -> HandFault | None:
    """Return where the cut is deeper than at both sites beside the place."""
    over = np.zeros(STATIONS)
    for one, other, between in neck.between():
        over[between] = min(cut_mm[one], cut_mm[other]) - cut_mm[between]
    most = neck.limits.hand_ridge_mm
    return worst_fault("ridge", over - most, over, most, check=neck.limits.hand_check)


def _second_low(neck: Neck, cut_mm: Floats, face: np.ndarray) -> HandFault | None:
    """Return the second low place of a face: away from its lowest place the new margin falls again and rises after that."""
    heights, today, most = (neck.margin_mm + cut_mm)[face], neck.margin_mm[face], neck.limits.hand_ridge_mm
    lowest = int(np.argmin(heights))
    onwards, back = _depth_of_second(heights[lowest:], today[lowest:]), _depth_of_second(heights[lowest::-1], today[lowest::-1])
    depths = np.concatenate([back[:0:-1], onwards])
    at = int(np.argmax(depths))
    if depths[at] <= most + neck.limits.hand_check:
        return None
    return HandFault(id="second_low", station=int(face[at]), amount=float(depths[at]), limit=most)


def _depth_of_second(heights_mm: Floats, today_mm: Floats) -> Floats:
    """Return how deep a low place each station is, outwards from the lowest: what the margin falls before it, less what today's
    falls on the way, and no more than what it rises after it.
    """
    kept = heights_mm + np.concatenate([[0], np.cumsum(np.maximum(-np.diff(today_mm), 0))])
    falls = np.maximum.accumulate(kept) - kept
    rises = np.maximum.accumulate(heights_mm[::-1])[::-1] - heights_mm
    return np.asarray(np.minimum(falls, rises))

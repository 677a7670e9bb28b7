"""Where the wire goes: stretches of the margin that are cut and free of keep-outs, each parted into strokes of one length.

Current stays away from metal, from bone too near to the cut, from bony ledges and from movable mucosa; the round is not closed
behind the last molar. What is kept out is cut by other means or not at all.
"""

from collections.abc import Callable, Mapping
from dataclasses import dataclass
from typing import Literal

import numpy as np
from numpy.typing import NDArray

from collum.case.model import SITE_ANGLE_DEG, Tooth, site_angle_deg
from collum.core.heat.pacing_task import HandPosition, ring_neighbours
from collum.core.ring import ORAL_DEG, STATIONS_DEG, Floats, angular_distance_deg
from collum.evidence import value
from collum.plan.heat.neck import CutNeck

KeepOutReason = Literal["metal", "thin_over_bone", "bony_ledge", "movable_mucosa", "behind_last_molar"]
_SIDE_WITHIN_DEG = 60  # the three sites of a side: middle, mesial, distal
_HALF_STATION_DEG = 360 / STATIONS_DEG.size / 2
_TURN_DEG = 360
_EDGE_DECIMALS = 6  # so that an edge or a middle that falls on a station is on it, whatever the last places of the arc
Marks = NDArray[np.bool_]


@dataclass(frozen=True, slots=True, kw_only=True)
class Stretch:
    """A part of the neck from one angle to a greater one; past facial the angles run on over 360. [deg]"""

    from_deg: float
    to_deg: float

    @property
    def centre_deg(self) -> float:
        """Return the middle, 0 to 360. [deg]"""
        return (self.from_deg + self.to_deg) / 2 % _TURN_DEG

    def stations(self) -> Marks:
        """Return (36,) which stations lie in it or on its edge; the nearest to its middle at least."""
        away = angular_distance_deg(STATIONS_DEG, self.centre_deg)
        within = max((self.to_deg - self.from_deg) / 2, away.min())
        return np.asarray((away - within).round(_EDGE_DECIMALS) <= 0)


@dataclass(frozen=True, slots=True, kw_only=True)
class KeptOut:
    """A stretch that is cut in the plan but not with current, and why."""

    reason: KeepOutReason
    stretch: Stretch


@dataclass(frozen=True, slots=True, kw_only=True)
class StrokeSector:
    """A stretch cut in one stroke. `neighbours`: positions that share an end; `open_before`, `open_after`: a keep-out there."""

    stretch: Stretch
    neighbours: tuple[int, ...]
    open_before: bool
    open_after: bool

    @property
    def hand_position(self) -> HandPosition:
        """Return from where hand, mirror and suction reach it."""
        if abs(self.stretch.centre_deg - ORAL_DEG) <= _SIDE_WITHIN_DEG:
            return "oral"
        facial = angular_distance_deg(np.zeros(1), self.stretch.centre_deg)[0] <= _SIDE_WITHIN_DEG
        return "facial" if facial else "proximal"


def stroke_sectors(neck: CutNeck, kept_out: Mapping[KeepOutReason, Marks]) -> tuple[StrokeSector, ...]:
    """Return the sectors of the stations (36,) that are cut and not kept out, in order round the neck."""
    out = np.any([marks for marks in kept_out.values()], axis=0) if kept_out else np.zeros_like(neck.cut)
    sectors: list[StrokeSector] = []
    for run in runs_of(neck.cut & ~out):
        parts = _parted(run, _arc_of(neck))
        closed = run.to_deg - run.from_deg >= _TURN_DEG
        beside = ring_neighbours(len(parts), closed=closed)
        before, after = (out[_station(edge)] for edge in (run.from_deg - _HALF_STATION_DEG, run.to_deg + _HALF_STATION_DEG))
        for position, stretch in enumerate(parts):
            sectors.append(
                StrokeSector(
                    stretch=stretch,
                    neighbours=tuple(len(sectors) - position + other for other in beside[position]),
                    open_before=bool(before and not closed and position == 0),
                    open_after=bool(after and not closed and position == len(parts) - 1),
                )
            )
    return tuple(sectors)


def keep_outs(neck: CutNeck) -> dict[KeepOutReason, Marks]:
    """Return (36,) marks for each reason there is, the cut ones alone, each station under its first reason."""
    tooth = neck.tooth
    found: dict[KeepOutReason, Marks] = {
        "metal": _flagged(tooth, tooth.facts.metal),
        "thin_over_bone": _near(neck, neck.crest_mm, value("plan.limit.clear_of_bone_mm")),
        "bony_ledge": _flagged(tooth, tooth.facts.bony_ledge),
        "movable_mucosa": _near(neck, neck.mucogingival_mm, 0) & ~_not_applicable(tooth),
        "behind_last_molar": _behind_last_molar(tooth),
    }
    taken = ~neck.cut
    kept: dict[KeepOutReason, Marks] = {}
    for reason, marks in found.items():
        if (marks & ~taken).any():
            kept[reason] = marks & ~taken
        taken = taken | marks
    return kept


def kept_out_stretches(kept: Mapping[KeepOutReason, Marks]) -> tuple[KeptOut, ...]:
    """Return the stretches of each reason, in order round the neck."""
    found = [KeptOut(reason=reason, stretch=run) for reason, marks in kept.items() for run in runs_of(marks)]
    return tuple(sorted(found, key=lambda one: one.stretch.from_deg))


def runs_of(marks: Marks) -> tuple[Stretch, ...]:
    """Return the unbroken stretches of marked stations (36,); a full ring is one of 360 degrees that begins at facial."""
    if marks.all():
        return (Stretch(from_deg=0, to_deg=_TURN_DEG),)
    begins = np.flatnonzero(marks & ~np.roll(marks, 1))
    found = []
    for first in begins:
        count = int(np.argmin(np.roll(marks, -int(first))))
        start_deg = float(STATIONS_DEG[first]) - _HALF_STATION_DEG
        found.append(Stretch(from_deg=start_deg, to_deg=start_deg + 2 * _HALF_STATION_DEG * count))
    return tuple(found)


def _parted(run: Stretch, arc_mm: Callable[[float], float]) -> tuple[Stretch, ...]:
    """Return the run in as many parts of equal length as come nearest to the length of a stroke.

    A full ring is turned so that the middle of its first part lies facial.
    """
    begin_mm, end_mm = arc_mm(run.from_deg), arc_mm(run.to_deg)
    count = max(round((end_mm - begin_mm) / value("pacing.sector_mm")), 1)
    part_mm = (end_mm - begin_mm) / count
    if run.to_deg - run.from_deg >= _TURN_DEG:
        begin_mm -= part_mm / 2
    fine_deg = np.arange(run.from_deg - _TURN_DEG, run.to_deg + _TURN_DEG + 1)
    fine_mm = np.array([arc_mm(float(angle)) for angle in fine_deg])
    edges = np.interp(begin_mm + part_mm * np.arange(count + 1), fine_mm, fine_deg).round(_EDGE_DECIMALS)
    return tuple(Stretch(from_deg=float(a), to_deg=float(b)) for a, b in zip(edges[:-1], edges[1:], strict=True))


def _arc_of(neck: CutNeck) -> Callable[[float], float]:
    """Return the length along the neck from facial to any angle, over any number of turns. [mm]"""
    stations = np.append(STATIONS_DEG, _TURN_DEG)
    arc = np.append(neck.arc_mm, neck.perimeter_mm)

    def arc_mm(angle_deg: float) -> float:
        turns, rest_deg = divmod(angle_deg, _TURN_DEG)
        return float(turns * neck.perimeter_mm + np.interp(rest_deg, stations, arc))

    return arc_mm


def _near(neck: CutNeck, level_mm: Floats | None, least_mm: float) -> Marks:
    """Return (36,) where the outer start of the cut may come nearer to a level than `least_mm`; nowhere if never read."""
    if level_mm is None:
        return np.zeros(STATIONS_DEG.size, dtype=bool)
    return np.asarray(neck.outer_cut_mm - level_mm < least_mm)


def _flagged(tooth: Tooth, flags: Mapping[str, bool] | None) -> Marks:
    """Return (36,) the stations that belong to a site flagged in the case; sites without a flag part the neck with it."""
    if flags is None:
        return np.zeros(STATIONS_DEG.size, dtype=bool)
    return _belonging({site for site, flag in flags.items() if flag}, {*tooth.sites, *flags})


def _not_applicable(tooth: Tooth) -> Marks:
    """Return (36,) the stations of sites where keratinised width does not apply: the palate."""
    given = tooth.readings.get("keratinised_width", {})
    exempt = {site for site, readings in given.items() if any(r.outcome == "not applicable" for r in readings)}
    return _belonging(exempt, set(given))


def _behind_last_molar(tooth: Tooth) -> Marks:
    if tooth.contact_distal != "behind last molar":
        return np.zeros(STATIONS_DEG.size, dtype=bool)
    return _belonging({"D"}, set(SITE_ANGLE_DEG))


def _belonging(chosen: set[str], sites: set[str]) -> Marks:
    """Return (36,) the stations whose nearest site, or one of the nearest, is a chosen one."""
    if not chosen:
        return np.zeros(STATIONS_DEG.size, dtype=bool)
    away = {site: angular_distance_deg(STATIONS_DEG, site_angle_deg(site)) for site in sites}
    nearest = np.min(list(away.values()), axis=0)
    return np.asarray(np.any([away[site] <= nearest for site in chosen], axis=0))


def _station(angle_deg: float) -> int:
    return round(angle_deg / (2 * _HALF_STATION_DEG)) % STATIONS_DEG.size

"""The procedure *deep margin elevation*: a deep proximal margin is raised with composite above the gum; nothing is cut.

The composite sits on the sound edge as it is, which has to be clear of crest and attachment (`seat_clear_of_crest`); the crown
ends on the composite, which is no ferrule.
"""

from abc import abstractmethod
from collections.abc import Iterator, Mapping
from dataclasses import dataclass, replace
from typing import get_args

import numpy as np

from collum.case.facts import ProximalSide, ToothFacts
from collum.case.model import site_angle_deg
from collum.core.ring import QUARTER_DEG, STATIONS, Floats, angular_distance_deg
from collum.evidence.handed import PlanLimits
from collum.plan.lengthening.grounds import Closing, Doubt, DoubtId, ElevationFactId, Ground, LeastChange, Way
from collum.plan.lengthening.levels.prepared import Prepared
from collum.plan.lengthening.procedures.conceding import Conceding
from collum.plan.lengthening.procedures.procedure import Treatment
from collum.plan.lengthening.solver.programme import Lines
from collum.plan.lengthening.wishes import Wishes, is_front

_SIDES: dict[ProximalSide, float] = {"mesial": QUARTER_DEG, "distal": 3 * QUARTER_DEG}
_STEP_DEG = 360 / STATIONS


@dataclass(frozen=True, slots=True, kw_only=True)
class RaisedSurface:
    """A run of neighbouring stations (indices) whose margin is raised, and the proximal side nearest to it."""

    stations: tuple[int, ...]
    side: ProximalSide

    @property
    def arc_deg(self) -> float:
        """The way round the neck from its first to its last station."""
        return (len(self.stations) - 1) * _STEP_DEG

    @property
    def off_side_deg(self) -> float:
        """How far its middle is from the middle of the side."""
        return _off_deg(self.middle_deg, self.side)

    @property
    def middle_deg(self) -> float:
        return (self.stations[0] + (len(self.stations) - 1) / 2) * _STEP_DEG % 360

    def holds(self, angle_deg: float) -> bool:
        """Return whether a place round the neck is on this surface."""
        return bool(angular_distance_deg(np.array([self.middle_deg]), angle_deg)[0] <= self.arc_deg / 2 + _STEP_DEG / 2)


class RaisingMargins(Conceding):
    """A procedure that raises the deep margin of one or two proximal surfaces above the gum with composite, under the dam."""

    acts = ("restoration",)
    raises_margin = True

    def raised_at(self, prepared: Prepared, wishes: Wishes) -> np.ndarray:
        """Return (36,) bool: where too seldom sound tooth reaches up to where a finish line may lie against the gum."""
        edge = prepared.sound_edge_mm
        if edge is None:
            return np.zeros(STATIONS, dtype=bool)
        reaches = np.mean(edge >= wishes.low_mm, axis=1)
        return np.asarray(reaches < wishes.rule("definitive_finish_line").confidence)

    def closed_by(self, prepared: Prepared, wishes: Wishes) -> Closing | None:
        """Return the first thing that speaks against the procedure."""
        found = next(self.against(prepared, wishes), None)
        if found is None:
            return None
        ways: tuple[Way, ...] | None = get_args(Way) if found.id == "seat_too_near_bone" else None
        return Closing(kind=found.id, ground=found, least_change=LeastChange(id=found.id, ways=ways))

    @abstractmethod
    def against(self, prepared: Prepared, wishes: Wishes) -> Iterator[Ground]:
        """Give all that speaks against the procedure, what decides first in front."""

    def doubts(self, prepared: Prepared, treatment: Treatment, cut_mm: Floats) -> tuple[Doubt, ...]:
        """Return what has still to be found out at the tooth."""
        facts = prepared.inputs.tooth.facts
        seats = seats_mm(facts)
        holds: dict[DoubtId, bool] = {
            "dam_not_tried": facts.dam_and_matrix is None,
            "seat_not_measured": any(surface.side not in seats for surface in raised_surfaces(treatment.raised)),
        }
        return tuple(Doubt(id=name) for name, found in holds.items() if found)

    def after(self, prepared: Prepared, treatment: Treatment) -> Prepared:
        """Return the neck with composite over the sound edge where the margin is raised: it is placed against the gum."""
        edge, covered = prepared.sound_edge_mm, treatment.raised[:, None]
        if edge is None or not covered.any():
            return prepared
        height, whole = _height_mm(prepared.limits), prepared.whole
        if whole is not None:
            whole = replace(whole, sound_edge_mm=np.where(covered, height, whole.sound_edge_mm))
        return replace(prepared, sound_edge_mm=np.where(covered, height, edge), seat_mm=edge, whole=whole)

    def drawn(self, lines: Lines, treatment: Treatment, limits: PlanLimits) -> Lines:
        """Return the lines with the finish line on the edge of the composite where there is some."""
        on_edge = _height_mm(limits) - limits.solver_slack_room_mm  # rounding does not carry it past the edge
        return replace(lines, finish_mm=np.where(treatment.raised, on_edge, lines.finish_mm))


class MarginElevation(RaisingMargins):
    """The deep margin is raised and the tooth crowned: the ferrule comes from the other walls."""

    id = "deep margin elevation"
    option = "margin-elevation"
    burden = 2
    reads_nothing_for = frozenset({"no_attachment_cut", "clear_of_bone", "keratinised_tissue_left"})
    steps = ("isolate", "raise_margin", "bitewing", "restore_on_composite")
    survival = "elevation"
    survival_figures = (
        "plan.elevation.known.survival_percent",
        "plan.elevation.known.longest_years",
        "plan.elevation.known.mean_months",
    )
    visits = "plan.price.visits.margin_elevation"

    def against(self, prepared: Prepared, wishes: Wishes) -> Iterator[Ground]:
        raised = self.raised_at(prepared, wishes)
        facts: dict[ElevationFactId, bool] = {
            "front_tooth": is_front(prepared.inputs.tooth.number),
            "no_deep_margin": prepared.sound_edge_mm is not None and not raised.any(),
            "not_dry": prepared.inputs.tooth.facts.dam_and_matrix == "not dry",
        }
        yield from (Ground(id=name) for name, holds in facts.items() if holds)
        yield from against_raising(prepared, raised)


def raised_surfaces(raised: np.ndarray) -> tuple[RaisedSurface, ...]:
    """Return the runs of neighbouring raised stations (36,) bool; all round is one."""
    if raised.all():
        return (_surface(tuple(range(STATIONS))),)
    starts = np.flatnonzero(raised & ~np.roll(raised, 1))
    ends = np.flatnonzero(raised & ~np.roll(raised, -1))
    runs = ((int(start), int(ends[np.argmin((ends - start) % STATIONS)])) for start in starts)
    return tuple(_surface(tuple((first + i) % STATIONS for i in range((last - first) % STATIONS + 1))) for first, last in runs)


def _surface(stations: tuple[int, ...]) -> RaisedSurface:
    middle = (stations[0] + (len(stations) - 1) / 2) * _STEP_DEG
    return RaisedSurface(stations=stations, side=min(_SIDES, key=lambda side: _off_deg(middle, side)))


def _off_deg(angle_deg: float, side: ProximalSide) -> float:
    return float(angular_distance_deg(np.array([angle_deg]), _SIDES[side])[0])


def seats_mm(facts: ToothFacts) -> Mapping[ProximalSide, float]:
    """Return the width of the dentine at the deep margin of each side where it was measured."""
    return {} if facts.dentine_seat_mm is None else facts.dentine_seat_mm.by_side()


def seat_above_crest_mm(prepared: Prepared, surface: RaisedSurface) -> tuple[int, float]:
    """Return the station of a surface whose sound edge is nearest to the crest, and how far above it, at the means."""
    edge = prepared.sound_edge_mm if prepared.seat_mm is None else prepared.seat_mm
    assert edge is not None
    above = (edge + prepared.crest_depth_mm).mean(axis=1)
    lowest = min(surface.stations, key=lambda station: float(above[station]))
    return lowest, float(above[lowest])


def _height_mm(limits: PlanLimits) -> float:
    """Return where the composite ends above the gum: in the middle of what is allowed."""
    return (limits.elevation_raised_least_mm + limits.elevation_raised_most_mm) / 2


def against_raising(prepared: Prepared, raised: np.ndarray) -> Iterator[Ground]:
    """Give all that speaks against raising the margin at the stations `raised`, what decides first in front."""
    tooth, limits = prepared.inputs.tooth, prepared.limits
    surfaces, seats = raised_surfaces(raised), seats_mm(tooth.facts)
    walls = tooth.facts.missing_walls or ()
    off_side = any(surface.off_side_deg > limits.elevation_off_side_deg for surface in surfaces)
    gone = not all(any(surface.holds(site_angle_deg(site)) for surface in surfaces) for site in walls)
    if off_side or gone:
        yield Ground(id="walls_not_standing")
    yield from _too_wide(surfaces, limits)
    yield from _narrow_seats(surfaces, seats, limits)
    if prepared.inputs.levels.soundings:
        yield from _too_near_bone(prepared, surfaces)


def _too_wide(surfaces: tuple[RaisedSurface, ...], limits: PlanLimits) -> Iterator[Ground]:
    widest = max((surface.arc_deg for surface in surfaces), default=0)
    if widest > limits.elevation_arc_most_deg:
        yield Ground(id="margin_too_wide", found=widest, limit=limits.elevation_arc_most_deg)


def _narrow_seats(
    surfaces: tuple[RaisedSurface, ...], seats: Mapping[ProximalSide, float], limits: PlanLimits
) -> Iterator[Ground]:
    narrowest = min((seats[surface.side] for surface in surfaces if surface.side in seats), default=None)
    if narrowest is not None and narrowest < limits.elevation_seat_width_mm:
        yield Ground(id="narrow_seat", found=narrowest, limit=limits.elevation_seat_width_mm)


def _too_near_bone(prepared: Prepared, surfaces: tuple[RaisedSurface, ...]) -> Iterator[Ground]:
    nearest = min((seat_above_crest_mm(prepared, surface)[::-1] for surface in surfaces), default=None)
    if nearest is not None and nearest[0] < prepared.limits.elevation_seat_closed_mm:
        above_mm, station = nearest
        yield Ground(id="seat_too_near_bone", station=station, found=above_mm, limit=prepared.limits.elevation_seat_closed_mm)


MARGIN_ELEVATION = MarginElevation()

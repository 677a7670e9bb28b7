"""What a route leaves, in every draw: finish line, top of the preparation and post, and the room each rule has.

The finish line is placed from the sound edge, which is seen and measured then, so that it moves with it, as in the plan. Lines
are (36, n) heights in the tooth frame, coronal positive. [mm]
"""

from dataclasses import dataclass

import numpy as np

from collum.core.ring import STATIONS, STATIONS_DEG, Floats
from collum.plan.lengthening.levels.prepared import Prepared
from collum.plan.lengthening.procedures.procedure import line_moves_mm
from collum.plan.lengthening.requirements.ferrule import ferrule_reserve_mm
from collum.plan.lengthening.requirements.root import root_length_mm
from collum.plan.restoration.basis import RestorationBasis, diameter_mm


@dataclass(frozen=True, slots=True, kw_only=True)
class RouteDraws:
    """The draws after the treatment of a route. `top_mm` is None where no edge was read, `cej_mm` as usual over the crest if
    the junction was not read.

    `lowered_mm`: how far the crest is apical of its place along the root.
    """

    prepared: Prepared
    line_mm: Floats
    sound_mm: Floats | None
    top_mm: Floats | None
    edge_mm: Floats | None
    cej_mm: Floats
    crest_mm: Floats
    lowered_mm: Floats

    @property
    def height_mm(self) -> Floats | None:
        """Top of the preparation above the finish line."""
        return None if self.top_mm is None else np.asarray(self.top_mm - self.line_mm)


def route_draws(basis: RestorationBasis) -> RouteDraws:
    """Return the draws of a route that offers lines."""
    planned, lines = basis.planned, basis.route.lines
    assert lines is not None
    before, prepared = planned.draws, planned.after(lines)
    margin = before.margin_mm[:, None]
    edge = before.occlusal_edge_mm
    planned_edge = (planned.tooth.restoration.planned_edge_mm or 0) + basis.route.concessions.bite_raised_mm
    new_edge = None if edge is None else edge + (margin + planned_edge - basis.extruded_mm)
    crest = margin - before.crest_depth_mm
    return RouteDraws(
        prepared=prepared,
        line_mm=basis.finish_mm[:, None] + line_moves_mm(prepared),
        sound_mm=None if prepared.sound_edge_mm is None else prepared.sound_edge_mm + (margin - basis.extruded_mm),
        top_mm=None if new_edge is None else new_edge - basis.reduction_mm,
        edge_mm=new_edge,
        cej_mm=crest + basis.limits.healthy_crest_below_cej_mm if before.cej_mm is None else before.cej_mm + margin,
        crest_mm=crest,
        lowered_mm=prepared.lowered_mm,
    )


def least_loaded_mm(basis: RestorationBasis, draws: RouteDraws) -> Floats | None:
    """Return (n,) the least ferrule where the load is, 0 at least; None if the sound edge was not read."""
    wishes, lines = basis.route.wishes, basis.route.lines
    if draws.prepared.sound_edge_mm is None or wishes is None or lines is None:
        return None
    line = draws.line_mm - (draws.prepared.margin_mm - lines.treatment.extruded_mm)[:, None]
    reserve = ferrule_reserve_mm(draws.prepared, wishes, line)[wishes.loaded]
    return np.asarray(np.maximum(reserve.min(axis=0) + wishes.rule("ferrule").limit, 0))


def resistance_room_mm(basis: RestorationBasis, draws: RouteDraws, share: Floats, widths_mm: tuple[float, float]) -> Floats:
    """Return (36, n) by how much the wall is higher than that of which half resists, as the crown tips in each direction.

    In the section of each direction the room has a closed form. The facets at the means, of whose opposite wall `share` (36,)
    resists, correct it for what a section leaves out: by as much in every draw. Between the stations at which the edge was read
    its relief is not known, and the doubt of the read ones counts. Raises ValueError where no edge was read.
    """
    height = basis.height_mm
    if height is None or draws.height_mm is None:
        raise ValueError("no edge was read")
    in_section = _room_mm(basis, basis.finish_mm[:, None], height[:, None], widths_mm)[:, 0]
    by_facets = _opposite(height) * (2 * share - 1)
    # A wall none of which resists may lack any height: there the section alone says how much.
    correction = np.where(share > 0, by_facets - in_section, 0)
    line, drawn = (_between_read(basis, draws_mm) for draws_mm in (draws.line_mm, draws.height_mm))
    return _room_mm(basis, line, drawn, widths_mm) + correction[:, None]


def weakest_share(basis: RestorationBasis, draws: RouteDraws, room_mm: Floats) -> Floats:
    """Return (n,) the share of the weakest wall that resists, from its room. Raises ValueError where no edge was read."""
    if draws.height_mm is None:
        raise ValueError("no edge was read")
    wall = np.maximum(_opposite(_between_read(basis, draws.height_mm)), basis.limits.solver_slack_room_mm)
    return np.asarray(np.clip((1 + room_mm / wall) / 2, 0, 1).min(axis=0))


def root_mm(draws: RouteDraws, mean_mm: float) -> Floats:
    """Return (n,) the length of a root whose length is on the mean `mean_mm`, with the doubt of the root of the tooth."""
    drawn = root_length_mm(draws.prepared)
    return np.asarray(mean_mm + drawn - drawn.mean())


def _room_mm(basis: RestorationBasis, line: Floats, height: Floats, widths_mm: tuple[float, float]) -> Floats:
    """Return the room in the section of each direction: B sin T cos T, and a step of the line by cos² T, do not resist.

    Grooves between the teeth give facial and oral walls a base that is less.
    """
    taper = np.deg2rad(basis.convergence_deg / 2)
    blind = diameter_mm(widths_mm, STATIONS_DEG)[:, None] * np.sin(taper) * np.cos(taper)
    wall, step = _opposite(height), line - _opposite(line)
    room = wall - 2 * (blind + step * np.cos(taper) ** 2)
    if not basis.grooves:
        return np.asarray(room)
    grooved = wall - 2 * blind * basis.limits.groove_base_share
    return np.asarray(np.where(basis.across_grooves[:, None], np.maximum(room, grooved), room))


def _between_read(basis: RestorationBasis, line_mm: Floats) -> Floats:
    """Return (36, n) a line whose doubt between the stations read is that of the two beside it."""
    if line_mm.shape[1] == 1:
        return line_mm
    mean, read = line_mm.mean(axis=1, keepdims=True), np.sort(basis.read_stations())
    apart = (line_mm - mean)[read]
    after = np.searchsorted(read, np.arange(STATIONS), side="right") % read.size
    before = (after - 1) % read.size
    gap = (read[after] - read[before]) % STATIONS
    share = np.where(gap > 0, (np.arange(STATIONS) - read[before]) % STATIONS / np.maximum(gap, 1), 0)[:, None]
    return np.asarray(mean + (1 - share) * apart[before] + share * apart[after])


def _opposite(line: Floats) -> Floats:
    """Return the line as met across the tooth: the wall that resists is opposite to where the crown tips."""
    return np.roll(line, -STATIONS // 2, axis=0)

"""All that a requirement may look at: the neck after a treatment, the wishes and, once there are lines, the lines.

Heights relative to the margin as the treatment leaves the tooth, coronal positive; draws (36, n), lines (36,). [mm]
What several requirements need is computed once for each situation.
"""

from dataclasses import dataclass
from functools import cached_property

import numpy as np

from collum.case.model import site_angle_deg
from collum.case.reading_kinds import ReadingKind
from collum.core.ring import STATIONS, STATIONS_DEG, Floats, angular_distance_deg
from collum.evidence.handed import PlanLimits
from collum.plan.lengthening.levels.prepared import Prepared
from collum.plan.lengthening.procedures.procedure import Procedure, Treatment, is_cut, line_moves_mm
from collum.plan.lengthening.wishes import Rule, Wishes

HEIGHT_STATIONS = np.isin(STATIONS_DEG, [site_angle_deg(site) for site in ("F", "MF", "ML", "L", "DL", "DF")])


@dataclass(frozen=True, kw_only=True)
class Conditions:
    """The neck after a treatment and the wishes: what the bounds of the solver are made from."""

    prepared: Prepared
    wishes: Wishes
    treatment: Treatment

    @property
    def procedure(self) -> Procedure:
        return self.treatment.procedure

    @property
    def limits(self) -> PlanLimits:
        return self.prepared.limits

    @cached_property
    def line_moves_mm(self) -> Floats:
        """How far the finish line is off its plan in every draw, (36, n) or (1, 1)."""
        return line_moves_mm(self.prepared)

    @cached_property
    def clearance_mm(self) -> Floats:
        """How far the margin is above the lowest place for a finish line over crest and attachment, (36, n)."""
        return clearance_mm(self.prepared, self.wishes)

    @cached_property
    def lowest_top_mm(self) -> Floats:
        """The lower of sound edge and top of the preparation, (36, n)."""
        return lowest_top_mm(self.prepared, self.wishes)

    @property
    def step_mm(self) -> float:
        """The coarsest reading step of the tooth."""
        levels = self.prepared.inputs.levels
        steps = [r.step_mm for r in (*levels.probing, *levels.soundings)]
        return max(steps, default=1)

    def was_read(self, kind: ReadingKind) -> bool:
        """Return whether a kind of reading was taken; what is believed beforehand is no reading."""
        inputs = self.prepared.inputs
        match kind:
            case "probing_depth":
                return bool(inputs.levels.probing)
            case "bone_sounding":
                return bool(inputs.levels.soundings)
            case "sound_height":
                return bool(inputs.levels.sound_edge)
            case "crown_height":
                return bool(inputs.levels.occlusal_edge)
            case "cej_height":
                return bool(inputs.levels.cej)
            case "keratinised_width":
                return bool(inputs.levels.mucogingival) or bool(inputs.keratinised_exempt.all())
            case _:
                return bool(inputs.tooth.readings.get(kind))


@dataclass(frozen=True, kw_only=True)
class Situation(Conditions):
    """Conditions with the lines to be judged. On a flap the cut line is where its margin is sutured."""

    cut_mm: Floats
    finish_mm: Floats

    @cached_property
    def line_mm(self) -> Floats:
        """The finish line (36, n): it is placed from the sound edge, which is seen and measured then."""
        return self.finish_mm[:, None] + self.line_moves_mm

    @cached_property
    def fresh_margin_mm(self) -> Floats:
        """The margin as cut (36, 1) or sutured (36, n)."""
        return self.procedure.sutured_mm(self.prepared, self.cut_mm)

    @cached_property
    def forecasts_mm(self) -> tuple[Floats, ...]:
        """The forecasts (36, n) of the settled margin that must all hold."""
        return self.procedure.forecasts_mm(self.prepared, self.cut_mm, self.treatment)

    @property
    def lowest_lines_mm(self) -> tuple[Floats, ...]:
        """How low a line may be over crest, attachment and each forecast of the settled margin, (36, n)."""
        return tuple(np.maximum(settled + self.wishes.low_mm, -self.clearance_mm) for settled in self.forecasts_mm)

    @cached_property
    def cut_stations(self) -> np.ndarray:
        """The stations that are cut, (36,) bool; on a flap all of them."""
        if self.procedure.takes_bone:
            return np.ones(STATIONS, dtype=bool)
        return is_cut(self.cut_mm, self.limits)

    @cached_property
    def outer_cut_mm(self) -> Floats:
        """The outer start of the bevel, (36, 1)."""
        return (self.cut_mm - self.wishes.bevel_mm)[:, None]


def clearance_mm(prepared: Prepared, wishes: Wishes) -> Floats:
    """Return (36, n) how far the margin is above the lowest place a finish line may have over crest and attachment."""
    return np.asarray(prepared.crest_depth_mm - height_asked_over_crest_mm(prepared, wishes.rule("clear_of_crest")))


def height_asked_over_crest_mm(prepared: Prepared, rule: Rule) -> Floats:
    """Return (36, n) how far above the crest the edge of a restoration has to be, over the attachment too."""
    attachment = np.maximum(prepared.attachment_mm, prepared.limits.attachment_floor_mm)
    return np.asarray(np.maximum(rule.limit, attachment + prepared.limits.finish_above_attachment_mm))


def lowest_top_mm(prepared: Prepared, wishes: Wishes) -> Floats:
    """Return (36, n) the sound edge or, where it is read, the top of the preparation, whichever is lower."""
    assert prepared.sound_edge_mm is not None
    if prepared.occlusal_edge_mm is None:
        return prepared.sound_edge_mm
    top = prepared.occlusal_edge_mm + wishes.top_mm
    return np.minimum(top, prepared.sound_edge_mm, out=top)


def height_edge_mm(prepared: Prepared) -> Floats:
    """Return (36, n) the occlusal edge as the preparation height counts it at the `HEIGHT_STATIONS`.

    These stations always take part, read or not: a rule is not easier because less was read. Between them the relief of the
    edge is not known, and a lower place that was read there lowers the station next to it.
    """
    edge = prepared.occlusal_edge_mm
    assert edge is not None
    read = {nearest_station(r.theta_deg) for r in prepared.inputs.levels.occlusal_edge}
    between = sorted(station for station in read if not HEIGHT_STATIONS[station])
    if not between:
        return edge
    counted, mean = edge.copy(), edge.mean(axis=1)
    sites = np.flatnonzero(HEIGHT_STATIONS)
    for station in between:
        site = sites[np.argmin(angular_distance_deg(STATIONS_DEG[sites], float(STATIONS_DEG[station])))]
        counted[site] = np.minimum(counted[site], edge[site] + min(float(mean[station] - mean[site]), 0))
    return counted


def nearest_station(angle_deg: float) -> int:
    """Return the index of the station nearest to an angle."""
    return int(np.argmin(angular_distance_deg(STATIONS_DEG, angle_deg)))

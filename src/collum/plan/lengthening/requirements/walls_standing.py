"""What is bonded over a tooth rests on sound walls over enough of the way round."""

import numpy as np

from collum.case.model import Tooth
from collum.core.ring import STATIONS
from collum.plan.lengthening.requirements.places import reserve_of_share, stations_at
from collum.plan.lengthening.requirements.requirement import Change, Requirement
from collum.plan.lengthening.requirements.situation import Conditions, Situation
from collum.plan.lengthening.requirements.verdict import Reserve


class WallsStanding(Requirement):
    """Share of the way round with enough sound tooth above the line; a thin wall and composite do not count."""

    id = "walls_standing"
    place = 64
    remedy = "bonding"
    idle = "not_bonded"
    steers = False
    told_apart = True
    rests_on = ("sound_height", "crown_height")
    limit = "plan.coverage.walls_share"
    unit = "share"
    helps = (Change(input="finish_line", way="less"),)

    def missing(self, conditions: Conditions) -> str | None:
        return super().missing(conditions) if conditions.procedure.bonds else None

    def applies(self, situation: Situation) -> bool:
        prepared = situation.prepared
        return situation.procedure.bonds and prepared.sound_edge_mm is not None and prepared.occlusal_edge_mm is not None

    def reserves(self, situation: Situation) -> tuple[Reserve, ...]:
        rule, limits, wall = situation.wishes.rule(self.id), situation.limits, situation.prepared.inputs.wall_mm
        counted = ~(situation.treatment.raised | _gone(situation.prepared.inputs.tooth))
        if wall is not None:
            counted = counted & (wall >= limits.wall_thickness_mm)
        high = situation.lowest_top_mm - situation.line_mm >= limits.coverage_wall_height_mm
        return (reserve_of_share(rule, high & counted[:, None]),)


def _gone(tooth: Tooth) -> np.ndarray:
    """Return (36,) bool: stations whose wall is recorded as gone."""
    gone = np.zeros(STATIONS, dtype=bool)
    for site in tooth.facts.missing_walls or ():
        gone |= stations_at(site)
    return gone


WALLS_STANDING = WallsStanding()

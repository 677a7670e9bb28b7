"""What is bonded ends on enamel over most of the way round."""

from dataclasses import replace

import numpy as np

from collum.case.model import Tooth
from collum.core.ring import STATIONS, Floats
from collum.plan.lengthening.requirements.bound import FAR_MM, Bound, bound_of
from collum.plan.lengthening.requirements.places import reserve_of_share, stations_at
from collum.plan.lengthening.requirements.requirement import Change, Requirement
from collum.plan.lengthening.requirements.situation import Conditions, Situation
from collum.plan.lengthening.requirements.verdict import Reserve


class EnamelAtMargin(Requirement):
    """Share of the way round on which the line is coronal of the junction, on tooth that no restoration has replaced."""

    id = "enamel_at_margin"
    place = 62
    remedy = "bonding"
    idle = "not_bonded"
    told_apart = True
    rests_on = ("cej_height",)
    limit = "plan.coverage.enamel_share"
    unit = "share"
    helps = (Change(input="finish_line", way="more"),)

    def missing(self, conditions: Conditions) -> str | None:
        return super().missing(conditions) if conditions.procedure.bonds else None

    def applies(self, situation: Situation) -> bool:
        return situation.procedure.bonds and situation.prepared.cej_mm is not None

    def reserves(self, situation: Situation) -> tuple[Reserve, ...]:
        junction, line, rule = situation.prepared.cej_mm, situation.line_mm, situation.wishes.rule(self.id)
        assert junction is not None
        restored = _restored_from_mm(situation.prepared.inputs.tooth)[:, None]
        on_enamel = (line >= junction) & (line <= restored) & ~situation.treatment.raised[:, None]
        return (reserve_of_share(rule, on_enamel),)

    def rows(self, conditions: Conditions) -> tuple[Bound, ...]:
        """The line is coronal of the junction wherever that leaves a wall above it; where it is raised it is not on enamel."""
        prepared, treatment = conditions.prepared, conditions.treatment
        if prepared.cej_mm is None or not conditions.procedure.bonds:
            return ()
        lowest = prepared.cej_mm
        if prepared.sound_edge_mm is not None:
            lowest = np.minimum(lowest, prepared.sound_edge_mm - conditions.limits.coverage_wall_height_mm)
        bound = bound_of(self.id, "finish", "below", lowest - conditions.line_moves_mm, 0, conditions.wishes.rule(self.id))
        return (replace(bound, mean_mm=np.where(treatment.raised, float(-FAR_MM), bound.mean_mm)),)


def _restored_from_mm(tooth: Tooth) -> Floats:
    """Return (36,) the height above which the present restoration has replaced the tooth; infinite without a record."""
    height = np.full(STATIONS, np.inf)
    for site, margin_mm in (tooth.facts.restoration_margin_mm or {}).items():
        near = stations_at(site)
        height[near] = np.minimum(height[near], margin_mm)
    return height


ENAMEL_AT_MARGIN = EnamelAtMargin()

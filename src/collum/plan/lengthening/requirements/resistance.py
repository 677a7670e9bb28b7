"""Half of every wall resists a crown that rolls over the opposite side."""

from collum.core.crown.form import height_for_half_wall_mm
from collum.core.ring import running_mean
from collum.evidence.handed import PlanLimits
from collum.plan.lengthening.procedures.procedure import Treatment
from collum.plan.lengthening.requirements.bound import FAR_MM, Bound, at_stations
from collum.plan.lengthening.requirements.places import PROXIMAL, reserve_at, station_of
from collum.plan.lengthening.requirements.requirement import Change, RoomRequirement
from collum.plan.lengthening.requirements.situation import Conditions, Situation
from collum.plan.lengthening.requirements.verdict import Reserve
from collum.plan.lengthening.wishes import Wishes


class Resistance(RoomRequirement):
    """Height of the wall against base times sin of the convergence, in the middle of each side."""

    id = "resistance"
    place = 60
    remedy = "walls"
    of_wishes = True
    idle = "bonded"
    rests_on = ("crown_height",)
    limit = "restoration.convergence_most_deg"
    helps = (
        Change(input="finish_line", way="less"),
        Change(input="convergence", way="less"),
        Change(input="occlusal_reduction", way="less"),
        Change(input="grooves", way="more"),
    )

    def applies(self, situation: Situation) -> bool:
        return situation.prepared.occlusal_edge_mm is not None and not situation.procedure.bonds

    def reserves(self, situation: Situation) -> tuple[Reserve, ...]:
        edge, wishes = situation.prepared.occlusal_edge_mm, situation.wishes
        assert edge is not None
        height = running_mean(edge + wishes.top_mm - situation.line_mm, situation.limits.smoothing_side_weight)
        needed = {
            station: float(height_for_half_wall_mm(base, wishes.convergence_deg))
            for station, base in resisting_bases_mm(wishes, situation.treatment, situation.limits).items()
        }
        return (reserve_at(wishes.rule(self.id), {station: height[station] - mm for station, mm in needed.items()}),)

    def rows(self, conditions: Conditions) -> tuple[Bound, ...]:
        edge, wishes = conditions.prepared.occlusal_edge_mm, conditions.wishes
        if edge is None or conditions.procedure.bonds:
            return ()
        highest = edge - conditions.line_moves_mm
        found = {}
        for station, base_mm in resisting_bases_mm(wishes, conditions.treatment, conditions.limits).items():
            top = highest[station] + wishes.top_mm
            needed = float(height_for_half_wall_mm(base_mm, wishes.convergence_deg))
            found[station] = (float(top.mean() - needed), float(top.std()))
        mean, spread = at_stations(found, FAR_MM)
        quantile = wishes.rule(self.id).quantile
        return (Bound(rule=self.id, line="finish", side="above", mean_mm=mean, sd_mm=spread, quantile=quantile),)


RESISTANCE = Resistance()


def resisting_bases_mm(wishes: Wishes, treatment: Treatment, limits: PlanLimits) -> dict[int, float]:
    """Return for the middle of each side the base a crown would roll over; proximal grooves halve it from facial to oral."""
    facial_oral, mesial_distal = wishes.base_mm
    if treatment.grooves:
        facial_oral *= limits.groove_base_share
    return {
        station_of(side): mesial_distal if side in PROXIMAL else facial_oral for side in ("facial", "mesial", "oral", "distal")
    }

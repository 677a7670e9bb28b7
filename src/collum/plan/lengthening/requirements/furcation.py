"""The line keeps its distance to the entrance of a furcation, the settled margin is coronal of it, and bone covers it."""

import numpy as np

from collum.case.model import Tooth
from collum.core import tooth as anatomy
from collum.core.ring import STATIONS, Floats
from collum.plan.lengthening.levels.prepared import Prepared
from collum.plan.lengthening.requirements.bound import FAR_MM, Bound, at_stations
from collum.plan.lengthening.requirements.places import SIDES, reserve_at
from collum.plan.lengthening.requirements.requirement import Change, Requirement
from collum.plan.lengthening.requirements.root import crest_before_mm, junction_mm
from collum.plan.lengthening.requirements.situation import Conditions, Situation
from collum.plan.lengthening.requirements.verdict import Reserve


class Furcation(Requirement):
    """Room over the entrance at each station that has one; where the crest moves, bone still covers it."""

    id = "furcation"
    place = 90
    remedy = "entrance"
    own_limit_named = True
    idle = "one_root"
    limit = "plan.limit.furcation_to_finish_mm"
    helps = (Change(input="finish_line", way="more"), Change(input="bone", way="less"))

    def applies(self, situation: Situation) -> bool:
        return bool(anatomy.furcation_trunks_mm(situation.prepared.inputs.tooth.number))

    def reserves(self, situation: Situation) -> tuple[Reserve, ...]:
        prepared, rule = situation.prepared, situation.wishes.rule(self.id)
        moved = situation.procedure.moves_crest
        lower_molar = not anatomy.is_upper(prepared.inputs.tooth.number)
        to_margin = prepared.limits.furcation_to_margin_mm if moved and lower_molar else 0
        line, settled = situation.line_mm, situation.forecasts_mm[-1]
        rooms = {}
        for station, entrance in entrances_mm(prepared).items():
            room = np.minimum(line[station] - rule.limit, settled[station] - to_margin)
            if moved:
                room = np.minimum(room, -prepared.crest_depth_mm[station])
            rooms[station] = room - entrance
        return (reserve_at(rule, rooms),)

    def rows(self, conditions: Conditions) -> tuple[Bound, ...]:
        """The line stays above the entrance, and so does lowered bone. A raised tooth is only simulated."""
        flap, rule = conditions.procedure.takes_bone, conditions.wishes.rule(self.id)
        entrances = entrances_mm(conditions.prepared)
        if not entrances or (conditions.procedure.moves_crest and not flap):
            return ()
        lowest = {s: (float(entrance.mean() + rule.limit), float(entrance.std())) for s, entrance in entrances.items()}
        mean, spread = at_stations(lowest, -FAR_MM)
        line = Bound(
            rule=self.id,
            line="finish",
            side="below",
            mean_mm=mean,
            sd_mm=spread,
            quantile=rule.quantile,
            supports=flap,
        )
        if not flap:
            return (line,)
        over = {s: -conditions.prepared.crest_depth_mm[s] - entrance for s, entrance in entrances.items()}
        mean, spread = at_stations({s: (float(mm.mean()), float(mm.std())) for s, mm in over.items()}, FAR_MM)
        bone = Bound(
            rule=self.id,
            line="bone",
            side="above",
            mean_mm=mean,
            sd_mm=spread,
            quantile=rule.quantile,
            widened=False,
            supports=True,
        )
        return (line, bone)


FURCATION = Furcation()


def entrances_mm(prepared: Prepared) -> dict[int, Floats]:
    """Return for each station with a furcation its entrance (n,) over the draws, relative to the margin; empty for one root.

    From the junction less the trunk. Where no involvement is recorded, the bone covers the entrance before the treatment.
    """
    tooth = prepared.inputs.tooth
    found = {}
    for angle, handbook_mm in anatomy.furcation_trunks_mm(tooth.number).items():
        station = int(angle / (360 / STATIONS))
        entered = tooth.root.trunk_mm
        spread = prepared.limits.trunk_sd_mm if entered is None else prepared.limits.trunk_measured_sd_mm
        trunk = (entered if entered is not None else handbook_mm) + spread * prepared.root.trunk
        entrance = junction_mm(prepared, station) - np.maximum(trunk, 0)
        crest = crest_before_mm(prepared, station)
        bare = _involved(tooth, angle)
        found[station] = np.asarray(np.maximum(entrance, crest) if bare else np.minimum(entrance, crest))
    return found


def _involved(tooth: Tooth, angle_deg: int) -> bool:
    """Return whether bone has left the entrance at this side, as recorded."""
    return any(entry.grade > 0 and SIDES[entry.side] == angle_deg for entry in tooth.facts.furcation or ())

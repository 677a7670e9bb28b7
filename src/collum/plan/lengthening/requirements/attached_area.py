"""Enough attached area of the root is left. It changes only where the crest moves along the root."""

import numpy as np

from collum.core import tooth as anatomy
from collum.core.ring import STATIONS
from collum.core.support.support import attached_area_share
from collum.plan.lengthening.requirements.places import reserve_of_whole
from collum.plan.lengthening.requirements.requirement import Change, Requirement
from collum.plan.lengthening.requirements.root import junction_mm, root_length_mm
from collum.plan.lengthening.requirements.situation import Situation
from collum.plan.lengthening.requirements.verdict import Reserve


class AttachedArea(Requirement):
    """Share of a healthy tooth's attached area, from the share of the root's length out of bone, on the mean crest."""

    id = "attached_area"
    place = 110
    remedy = "less_taken"
    idle = "crest_stays"
    steers = False
    limit = "plan.limit.attached_area"
    unit = "share"
    helps = (Change(input="bone", way="less"), Change(input="movement", way="less"))

    def applies(self, situation: Situation) -> bool:
        return situation.procedure.moves_crest

    def reserves(self, situation: Situation) -> tuple[Reserve, ...]:
        prepared, rule = situation.prepared, situation.wishes.rule(self.id)
        below = np.mean([junction_mm(prepared, s) + prepared.crest_depth_mm[s] for s in range(STATIONS)], axis=0)
        several = bool(anatomy.furcation_trunks_mm(prepared.inputs.tooth.number))
        root = np.maximum(root_length_mm(prepared), prepared.limits.solver_slack_room_mm)
        healthy = attached_area_share(prepared.limits.healthy_crest_below_cej_mm / root, several)
        found = attached_area_share(below / root, several)
        left = np.divide(found, healthy, out=np.zeros_like(found), where=healthy > 0)  # a root that short has none to lose
        return (reserve_of_whole(prepared, rule, left - rule.limit),)


ATTACHED_AREA = AttachedArea()

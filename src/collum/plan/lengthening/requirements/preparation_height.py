"""The preparation is high enough above the finish line."""

from dataclasses import replace

import numpy as np

from collum.case.model import Tooth
from collum.core import tooth as anatomy
from collum.core.ring import Floats
from collum.plan.lengthening.levels.prepared import Prepared
from collum.plan.lengthening.requirements.bound import FAR_MM, Bound, bound_of
from collum.plan.lengthening.requirements.requirement import Change, Requirement
from collum.plan.lengthening.requirements.situation import HEIGHT_STATIONS, Conditions, Situation, height_edge_mm
from collum.plan.lengthening.requirements.verdict import Reserve
from collum.plan.lengthening.wishes import Wishes


class PreparationHeight(Requirement):
    """Planned edge less reduction and line, at the six sites of a round of readings."""

    id = "preparation_height"
    place = 50
    remedy = "reduction"
    of_wishes = True
    own_limit_named = True
    rests_on = ("crown_height",)
    limit = "plan.limit.preparation_height_mm"
    helps = (Change(input="finish_line", way="less"), Change(input="occlusal_reduction", way="less"))

    def applies(self, situation: Situation) -> bool:
        return situation.prepared.occlusal_edge_mm is not None

    def reserves(self, situation: Situation) -> tuple[Reserve, ...]:
        prepared, rule = situation.prepared, situation.wishes.rule(self.id)
        amount = height_edge_mm(prepared) + situation.wishes.top_mm - situation.line_mm - rule.limit
        return (Reserve(rule=rule, amount=amount, stations=HEIGHT_STATIONS, step_mm=situation.step_mm),)

    def rows(self, conditions: Conditions) -> tuple[Bound, ...]:
        """The line is under the top of the preparation by the height asked, at the six sites, and by the ferrule."""
        edge, wishes = conditions.prepared.occlusal_edge_mm, conditions.wishes
        if edge is None:
            return ()
        rule, highest = wishes.rule(self.id), edge - conditions.line_moves_mm
        counted = height_edge_mm(conditions.prepared) - conditions.line_moves_mm
        height = bound_of(self.id, "finish", "above", counted, wishes.top_mm - rule.limit, rule)
        return (
            replace(height, mean_mm=np.where(HEIGHT_STATIONS, height.mean_mm, float(FAR_MM))),
            bound_of("ferrule", "finish", "above", highest, wishes.top_mm - wishes.ferrule_mm, rule),
        )

    def limit_key(self, tooth: Tooth) -> str:
        molar = anatomy.tooth_class(tooth.number) == "molar"
        return "plan.limit.preparation_height_molar_mm" if molar else self.limit


PREPARATION_HEIGHT = PreparationHeight()


def highest_line_mm(prepared: Prepared, wishes: Wishes) -> Floats:
    """Return (36, n) how high the height of the preparation lets a line be; it counts at the `HEIGHT_STATIONS`."""
    return height_edge_mm(prepared) + (wishes.top_mm - wishes.rule(PREPARATION_HEIGHT.id).limit)

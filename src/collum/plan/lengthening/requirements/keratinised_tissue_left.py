"""Keratinised tissue is left under the cut, and on a flap, which keeps it whole."""

from dataclasses import replace

import numpy as np

from collum.case.model import Tooth
from collum.core.ring import STATIONS
from collum.plan.lengthening.requirements.bound import Bound, bound_of
from collum.plan.lengthening.requirements.requirement import Change, Requirement
from collum.plan.lengthening.requirements.situation import Conditions, Situation
from collum.plan.lengthening.requirements.verdict import Reserve
from collum.plan.lengthening.wishes import is_front


class KeratinisedTissueLeft(Requirement):
    """Keratinised tissue from the outer start of the bevel to the mucogingival junction; the palate is exempt.

    At a front tooth that shows more is asked of it, from the margin that is left.
    """

    id = "keratinised_tissue_left"
    place = 80
    remedy = "less_cut_or_flap"
    own_limit_named = True
    rests_on = ("keratinised_width",)
    limit = "plan.limit.keratinised_tissue_left_mm"
    helps = (Change(input="cut", way="less"),)

    def applies(self, situation: Situation) -> bool:
        return situation.prepared.mucogingival_mm is not None and bool(self._stations(situation).any())

    def _stations(self, situation: Situation) -> np.ndarray:
        return np.asarray(situation.cut_stations & ~situation.prepared.inputs.keratinised_exempt)

    def reserves(self, situation: Situation) -> tuple[Reserve, ...]:
        junction, rule = situation.prepared.mucogingival_mm, situation.wishes.rule(self.id)
        assert junction is not None
        left = -junction if situation.procedure.takes_bone else situation.outer_cut_mm - junction
        stations, step = self._stations(situation), situation.step_mm
        from_bevel = Reserve(rule=rule, amount=left - rule.limit, stations=stations, step_mm=step)
        in_front_mm = self._asked_in_front_mm(situation)
        if not in_front_mm or situation.procedure.takes_bone:
            return (from_bevel,)
        amount, limits = situation.cut_mm[:, None] - junction - in_front_mm, np.full(STATIONS, in_front_mm)
        return from_bevel, Reserve(rule=rule, amount=amount, stations=stations, limits=limits, step_mm=step)

    def rows(self, conditions: Conditions) -> tuple[Bound, ...]:
        junction, rule = conditions.prepared.mucogingival_mm, conditions.wishes.rule(self.id)
        if junction is None or not conditions.procedure.cuts_by_current:
            return ()
        asked_mm = np.maximum(rule.limit + conditions.wishes.bevel_mm, self._asked_in_front_mm(conditions))
        bound = bound_of(self.id, "cut", "below", junction, asked_mm, rule)
        exempt = conditions.prepared.inputs.keratinised_exempt
        return (replace(bound, mean_mm=np.where(exempt, -np.inf, bound.mean_mm)),)

    def limit_key(self, tooth: Tooth) -> str:
        finish = tooth.restoration.finish
        in_sulcus = finish is not None and finish.position == "in the sulcus"
        return "plan.limit.keratinised_tissue_in_sulcus_mm" if in_sulcus else self.limit

    def _asked_in_front_mm(self, conditions: Conditions) -> float:
        """Return what is asked from the margin itself, at a front tooth that shows; 0 elsewhere."""
        tooth = conditions.prepared.inputs.tooth
        in_view = is_front(tooth.number) and tooth.restoration.visible_zone is True
        return conditions.limits.keratinised_in_front_mm if in_view else 0


KERATINISED_TISSUE_LEFT = KeratinisedTissueLeft()

"""The finish line is clear of crest and attachment."""

import numpy as np

from collum.plan.lengthening.requirements.bound import Bound, bound_of
from collum.plan.lengthening.requirements.requirement import EVERYWHERE, Change, Requirement
from collum.plan.lengthening.requirements.situation import Conditions, Situation
from collum.plan.lengthening.requirements.verdict import Reserve


class ClearOfCrest(Requirement):
    """The finish line is as far above the crest as the rule asks, and as far above the attachment."""

    id = "clear_of_crest"
    place = 30
    remedy = "line"
    over_bone = True
    own_limit_named = True
    rests_on = ("bone_sounding",)
    limit = "plan.limit.clear_of_crest_mm"
    helps = (Change(input="finish_line", way="more"), Change(input="bone", way="more"))

    def applies(self, situation: Situation) -> bool:
        return True

    def reserves(self, situation: Situation) -> tuple[Reserve, ...]:
        amount = situation.line_mm + situation.clearance_mm
        rule = situation.wishes.rule(self.id)
        return (Reserve(rule=rule, amount=amount, stations=EVERYWHERE, step_mm=situation.step_mm),)

    def rows(self, conditions: Conditions) -> tuple[Bound, ...]:
        """Bone goes down to what is measured, so that only what is needed above it and the measuring leave a doubt."""
        rule = conditions.wishes.rule(self.id)
        if not conditions.procedure.takes_bone:
            lowest = -conditions.clearance_mm - conditions.line_moves_mm
            return (bound_of(self.id, "finish", "below", lowest, 0, rule),)
        depth = conditions.prepared.crest_depth_mm
        need = depth - conditions.clearance_mm
        return (
            Bound(
                rule=self.id,
                line="finish",
                side="below",
                mean_mm=-depth.mean(axis=1) + need.mean(axis=1),
                sd_mm=np.hypot(need.std(axis=1), conditions.limits.surgery_measuring_sd_mm),
                quantile=rule.quantile,
                on_bone=1,
            ),
        )


CLEAR_OF_CREST = ClearOfCrest()

"""Where a margin is raised with composite, the sound edge under it is clear of crest and attachment."""

import numpy as np

from collum.plan.lengthening.requirements.requirement import Requirement
from collum.plan.lengthening.requirements.situation import Conditions, Situation, height_asked_over_crest_mm
from collum.plan.lengthening.requirements.verdict import Reserve


class SeatClearOfCrest(Requirement):
    """The composite sits on the sound edge: that is where it meets the attachment, not at the finish line above it."""

    id = "seat_clear_of_crest"
    place = 35
    remedy = "seat"
    idle = "no_margin_raised"
    over_bone = True
    steers = False
    rests_on = ("bone_sounding",)
    limit = "plan.limit.clear_of_crest_mm"

    def missing(self, conditions: Conditions) -> str | None:
        return super().missing(conditions) if conditions.treatment.raised.any() else None

    def applies(self, situation: Situation) -> bool:
        return bool(situation.treatment.raised.any()) and situation.prepared.seat_mm is not None

    def reserves(self, situation: Situation) -> tuple[Reserve, ...]:
        prepared, rule = situation.prepared, situation.wishes.rule(self.id)
        assert prepared.seat_mm is not None
        above = prepared.seat_mm + prepared.crest_depth_mm - height_asked_over_crest_mm(prepared, rule)
        raised = situation.treatment.raised
        # The edge beside the composite is another one: it takes no part in the running mean of the last station.
        amount = np.where(raised[:, None], above, above[raised].mean(axis=0))
        return (
            Reserve(
                rule=rule,
                amount=amount,
                stations=raised,
                step_mm=situation.step_mm,
            ),
        )


SEAT_CLEAR_OF_CREST = SeatClearOfCrest()

"""Where it shows, the settled facial margin differs from the mirror tooth's only so much."""

import numpy as np

from collum.plan.lengthening.requirements.places import reserve_at, station_of
from collum.plan.lengthening.requirements.requirement import Requirement
from collum.plan.lengthening.requirements.situation import Situation
from collum.plan.lengthening.requirements.verdict import Reserve


class VisibleZone(Requirement):
    """Difference of the facial margins, where that of the mirror tooth was read."""

    id = "visible_zone"
    place = 120
    remedy = "look"
    of_wishes = True
    at_most = True
    idle = "not_shown"
    steers = False
    limit = "plan.limit.visible_difference_mm"

    def applies(self, situation: Situation) -> bool:
        return bool(situation.prepared.inputs.tooth.restoration.visible_zone) and self._mirror_mm(situation) is not None

    def _mirror_mm(self, situation: Situation) -> float | None:
        return situation.prepared.inputs.tooth.facts.mirror_margin_mm

    def reserves(self, situation: Situation) -> tuple[Reserve, ...]:
        rule, facial = situation.wishes.rule(self.id), station_of("facial")
        mirror = self._mirror_mm(situation)
        assert mirror is not None
        difference = np.abs(situation.forecasts_mm[-1][facial] - mirror)
        return (reserve_at(rule, {facial: rule.limit - difference}, at_most=True),)


VISIBLE_ZONE = VisibleZone()

"""Where it shows, the settled margin is where it is wished. It is the verdict on looks and never counts in that on function."""

from dataclasses import replace

import numpy as np

from collum.case.model import Tooth
from collum.evidence.handed import Evidence
from collum.plan.lengthening.levels.inputs import wish_for
from collum.plan.lengthening.requirements.places import reserve_at
from collum.plan.lengthening.requirements.requirement import Requirement
from collum.plan.lengthening.requirements.situation import Conditions, Situation
from collum.plan.lengthening.requirements.verdict import Reserve
from collum.plan.lengthening.wishes import Rule
from collum.vocabulary import SmileLine

_SEEN_AT_LIMIT = float(np.finfo(float).eps)  # a difference as large as the limit is seen


class VisibleZone(Requirement):
    """Difference between the settled margin and the wished one, at the places where one is wished."""

    id = "visible_zone"
    place = 120
    decisive = False
    at_most = True
    idle = "not_shown"
    limit = "plan.limit.visible_difference_mm"

    def rule_by_smile(self, tooth: Tooth, smile_line: SmileLine | None, evidence: Evidence) -> Rule:
        """Return the rule with the difference that is seen with a smile line; a limit of the dentist's own goes before it."""
        rule = self.rule(tooth, evidence, deep_sulcus=False)
        own = wish_for(tooth, self.id)
        if smile_line != "high" or (own is not None and own.limit is not None):
            return rule
        key = "plan.limit.visible_difference_high_smile_mm"
        return replace(rule, limit=evidence.values[key], evidence=(key, self.confidence))

    def missing(self, conditions: Conditions) -> str | None:
        wished = conditions.wishes.margin
        return None if wished is None else wished.unknown

    def applies(self, situation: Situation) -> bool:
        wished = situation.wishes.margin
        return wished is not None and bool(wished.above_margin_mm)

    def reserves(self, situation: Situation) -> tuple[Reserve, ...]:
        rule, wished = situation.wishes.rule(self.id), situation.wishes.margin
        assert wished is not None
        return tuple(
            reserve_at(
                rule,
                {
                    station: rule.limit - _SEEN_AT_LIMIT - np.abs(settled_mm[station] - wished_mm)
                    for station, wished_mm in wished.above_margin_mm.items()
                },
                at_most=True,
            )
            for settled_mm in situation.forecasts_mm
        )


VISIBLE_ZONE = VisibleZone()

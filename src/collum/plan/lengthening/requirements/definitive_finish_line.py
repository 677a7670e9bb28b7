"""Once the margin has settled there is a place for the definitive finish line, in every forecast of the margin."""

import numpy as np

from collum.core.ring import Floats
from collum.plan.lengthening.requirements.bound import Bound
from collum.plan.lengthening.requirements.preparation_height import highest_line_mm
from collum.plan.lengthening.requirements.requirement import EVERYWHERE, Change, RoomRequirement
from collum.plan.lengthening.requirements.situation import HEIGHT_STATIONS, Conditions, Situation
from collum.plan.lengthening.requirements.verdict import Reserve


def sulcus_key(*, deep_sulcus: bool) -> str:
    """Return the key of how deep in the settled sulcus the line may be."""
    return "plan.sulcus_limit_deep_mm" if deep_sulcus else "plan.sulcus_limit_mm"


class DefinitiveFinishLine(RoomRequirement):
    """The room between the lowest and the highest place a line may have against the settled margin."""

    id = "definitive_finish_line"
    place = 40
    remedy = "place"
    of_wishes = True
    over_bone = True
    rests_on = ("bone_sounding", "sound_height", "crown_height")
    helps = (Change(input="occlusal_reduction", way="less"), Change(input="movement", way="more"))

    def evidence(self, *, deep_sulcus: bool) -> tuple[str, ...]:
        return (sulcus_key(deep_sulcus=deep_sulcus), "plan.limit.clear_of_crest_mm", "plan.finish_above_attachment_mm")

    def applies(self, situation: Situation) -> bool:
        return situation.prepared.sound_edge_mm is not None and situation.prepared.occlusal_edge_mm is not None

    def reserves(self, situation: Situation) -> tuple[Reserve, ...]:
        rule, highest = situation.wishes.rule(self.id), self._highest_mm(situation)
        return tuple(
            Reserve(
                rule=rule,
                amount=self._room_mm(situation, highest, lowest, settled),
                stations=EVERYWHERE,
                step_mm=situation.step_mm,
            )
            for lowest, settled in zip(situation.lowest_lines_mm, situation.forecasts_mm, strict=True)
        )

    def _highest_mm(self, situation: Situation) -> Floats:
        """Return (36, n) how high ferrule and height of the preparation let the line be."""
        prepared, wishes = situation.prepared, situation.wishes
        highest = situation.lowest_top_mm - wishes.ferrule_mm[:, None]
        by_height = highest_line_mm(prepared, wishes)[HEIGHT_STATIONS]
        highest[HEIGHT_STATIONS] = np.minimum(highest[HEIGHT_STATIONS], by_height)
        return highest

    def _room_mm(self, situation: Situation, highest_mm: Floats, lowest_mm: Floats, settled_mm: Floats) -> Floats:
        """Return (36, n) the room for a line with one forecast of the settled margin."""
        wishes, shown = situation.wishes, situation.wishes.shown
        room = np.subtract(highest_mm, lowest_mm, out=lowest_mm)
        if wishes.high_mm is not None and shown.any():
            hidden = settled_mm[shown] + wishes.high_mm
            room[shown] -= np.maximum(highest_mm[shown] - hidden, 0)
        return room

    def rows(self, conditions: Conditions) -> tuple[Bound, ...]:
        rule, low = conditions.wishes.rule(self.id), conditions.wishes.low_mm
        return tuple(
            Bound(
                rule=self.id,
                line="finish",
                side="below",
                mean_mm=settled.mean_mm + low,
                sd_mm=settled.sd_mm,
                quantile=rule.quantile,
                on_cut=settled.on_cut,
                on_bone=settled.on_bone,
            )
            for settled in conditions.procedure.settled_bounds(conditions.prepared, conditions.treatment)
        )


DEFINITIVE_FINISH_LINE = DefinitiveFinishLine()

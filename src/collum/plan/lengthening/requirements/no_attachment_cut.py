"""The cut ends in the sulcus: no attachment is cut."""

from collum.plan.lengthening.requirements.bound import Bound, bound_of
from collum.plan.lengthening.requirements.requirement import Change, Requirement
from collum.plan.lengthening.requirements.situation import Conditions, Situation
from collum.plan.lengthening.requirements.verdict import Reserve


class NoAttachmentCut(Requirement):
    """Sulcus is left under the inner end of the cut; only stations that are cut take part."""

    id = "no_attachment_cut"
    place = 10
    remedy = "less_cut"
    rests_on = ("probing_depth",)
    limit = "plan.limit.no_attachment_cut_mm"
    helps = (Change(input="cut", way="less"),)

    def applies(self, situation: Situation) -> bool:
        return not situation.procedure.takes_bone and bool(situation.cut_stations.any())

    def reserves(self, situation: Situation) -> tuple[Reserve, ...]:
        rule, inner = situation.wishes.rule(self.id), situation.cut_mm[:, None]
        amount = inner + situation.prepared.sulcus_mm - rule.limit
        return (Reserve(rule=rule, amount=amount, stations=situation.cut_stations, step_mm=situation.step_mm),)

    def rows(self, conditions: Conditions) -> tuple[Bound, ...]:
        if not conditions.procedure.cuts_by_current:
            return ()
        rule = conditions.wishes.rule(self.id)
        return (bound_of(self.id, "cut", "below", -conditions.prepared.sulcus_mm, rule.limit, rule),)


NO_ATTACHMENT_CUT = NoAttachmentCut()

"""A papilla fills the space only where the contact point is near enough above the crest. It is shown and never decides."""

from collum.plan.lengthening.requirements.places import contacts_mm, reserve_at, station_of
from collum.plan.lengthening.requirements.requirement import Change, Requirement
from collum.plan.lengthening.requirements.situation import Conditions, Situation
from collum.plan.lengthening.requirements.verdict import Reserve


class Papilla(Requirement):
    """Distance from contact point to crest between the teeth, in the visible zone, where the crest moves."""

    id = "papilla"
    place = 130
    at_most = True
    idle = "crest_stays"
    decisive = False
    limit = "plan.limit.contact_to_crest_mm"
    helps = (Change(input="bone", way="less"),)

    def missing(self, conditions: Conditions) -> str | None:
        return "contact_point" if _asked(conditions) and not contacts_mm(conditions.prepared.inputs.tooth) else None

    def applies(self, situation: Situation) -> bool:
        return _asked(situation) and bool(contacts_mm(situation.prepared.inputs.tooth))

    def reserves(self, situation: Situation) -> tuple[Reserve, ...]:
        rule, depth = situation.wishes.rule(self.id), situation.prepared.crest_depth_mm
        contacts = contacts_mm(situation.prepared.inputs.tooth)
        distances = {station_of(side): mm + depth[station_of(side)] for side, mm in contacts.items()}
        rooms = {station: rule.limit - mm for station, mm in distances.items()}
        return (reserve_at(rule, rooms, at_most=True),)


PAPILLA = Papilla()


def _asked(conditions: Conditions) -> bool:
    return conditions.procedure.moves_crest and bool(conditions.prepared.inputs.tooth.restoration.visible_zone)

"""How a case says each fact of the truth table: every way, with what a way means for an operation.

The table knows facts, a case knows keys; both meet here alone. A fact that is asked has three ways: the answer that says it,
"not known", which counts as that answer, and no answer at all. What is recorded beside the visit is a way of its own.
"""

import copy
from collections.abc import Mapping
from dataclasses import dataclass
from functools import cache
from typing import Any, Literal

from tests.judged.gate.truth import LINES, Effect, Operation

Part = Literal["screening", "tooth", "room", "roles", "patient", "record"]
Answer = Any  # None takes the answer out

# Of a visit: the fact, and the answer that says it.
ASKED: Mapping[tuple[Part, str], tuple[str, str]] = {
    ("screening", "cardiac_device"): ("heart device", "yes"),
    ("screening", "other_stimulator"): ("other stimulator", "yes"),
    ("screening", "cochlear_implant"): ("cochlear implant", "yes"),
    ("screening", "added_oxygen"): ("oxygen cannot be paused", "yes"),
    ("screening", "jaw_irradiated"): ("jaw irradiated", "yes"),
    ("screening", "poor_healing"): ("poor healing or defences", "yes"),
    ("screening", "diabetes_uncontrolled"): ("diabetes uncontrolled", "yes"),
    ("screening", "bleeding_disorder"): ("bleeding disorder", "yes"),
    ("screening", "endocarditis_risk"): ("endocarditis risk", "yes"),
    ("screening", "heart_or_pressure"): ("heart or pressure", "yes"),
    ("screening", "pregnant"): ("pregnant", "yes"),
    ("screening", "anaesthetic_reaction"): ("bad reaction to anaesthetic", "yes"),
    ("screening", "allergy"): ("allergy", "yes"),
    ("screening", "asthma"): ("asthma", "yes"),
    ("screening", "fainting"): ("fainted before", "yes"),
    ("screening", "mouth_opening"): ("mouth opens little", "yes"),
    ("screening", "guardian"): ("somebody else consents", "yes"),
    ("screening", "growing"): ("growing", "yes"),
    ("screening", "body_metal"): ("metal in the body", "yes"),
    ("screening", "smoking"): ("smokes", "yes"),
    ("screening", "consent"): ("no consent", "no"),
    ("screening", "bone_drugs"): ("bone drug", "yes"),
    ("screening", "blood_thinner"): ("blood thinner", "yes"),
    ("screening", "overgrowth_drug"): ("drug that overgrows gum", "yes"),
    ("tooth", "implant_beside"): ("implant beside", "yes"),
    ("tooth", "metal_not_isolated"): ("metal not isolated", "yes"),
    ("tooth", "metal_near"): ("metal near", "yes"),
    ("tooth", "acute_infection"): ("acute infection", "yes"),
    ("tooth", "suspicious_tissue"): ("suspicious tissue", "yes"),
    ("tooth", "bone_exposed"): ("bone exposed or worked", "yes"),
    ("tooth", "thin_over_bone"): ("thin over bone", "yes"),
    ("tooth", "unkeratinised"): ("leaves firm gum", "yes"),
    ("room", "right_patient"): ("person or tooth not confirmed", "no"),
    ("room", "margin_measured"): ("margin not measured", "no"),
    ("room", "other_instrument"): ("no other instrument", "no"),
    ("room", "plate_contact"): ("plate contact bad", "no"),
    ("room", "plate_place"): ("plate place bad", "no"),
    ("room", "plate_skin"): ("plate not on skin", "no"),
    ("room", "plate_watched"): ("plate unwatched", "no"),
    ("room", "no_chair_metal"): ("metal of the chair", "no"),
    ("room", "jewellery_out"): ("jewellery in", "no"),
    ("room", "plastic_tools"): ("metal tools", "no"),
    ("room", "suction_close"): ("suction away", "no"),
    ("room", "masks"): ("no respirators", "no"),
    ("room", "oxygen_off"): ("oxygen on", "no"),
    ("room", "nothing_flammable"): ("flammable near", "no"),
    ("room", "cable_clear"): ("cable on the patient", "no"),
    ("room", "tissue_moist"): ("tissue wet or dry", "no"),
    ("room", "tip_clean"): ("tip charred", "no"),
    ("room", "blade_ready"): ("no blade ready", "no"),
    ("room", "field_ready"): ("no light or suction", "no"),
    ("room", "bleeding_ready"): ("nothing against bleeding", "no"),
    ("room", "emergency_ready"): ("not ready for an emergency", "no"),
    ("room", "time_out"): ("no time-out", "no"),
}
PLATE = ("plate_contact", "plate_place", "plate_skin", "plate_watched")
# Where "not known" is another fact than the answer itself.
NOT_KNOWN: Mapping[str, str] = {"blood_thinner": "blood thinner not known"}
# What nobody asks, by the name under which somebody may answer for it.
_BESIDE: Mapping[str, str] = {
    "operator alone": "operator_alone",
    "stop in free words": "recorded_stops",
    "drug in free words": "recorded_drugs",
    "somebody else consented": "guardian",
    "direct anticoagulant": "blood_thinner",
    "two antiplatelets": "blood_thinner",
    "heart device, agreed": "cardiac_device",
    "heart device, not agreed": "cardiac_device",
}
CONSENTED = {"consented_by": "M. Invented", "consented_on": "2026-04-20"}
AGREED = {"by": "Heart clinic", "date": "2026-04-20", "agrees": True}
# What is recorded beside the visits.
RECORDED: tuple[tuple[str, Part, str, Answer], ...] = (
    ("stop in free words", "patient", "stops", ["pacemaker"]),
    ("stop in free words", "patient", "stops", ["see letter"]),
    ("heart device", "patient", "history", {"cardiac_device": {"which": "pacemaker"}}),
    ("jaw irradiated", "patient", "history", {"jaw_irradiated": {}}),
    ("bleeding disorder", "patient", "history", {"allergy": {}, "bleeding_disorder": {}}),
    ("blood thinner", "patient", "history", {"blood_thinner": {"which": "vitamin-K antagonist"}}),
    ("direct anticoagulant", "patient", "history", {"blood_thinner": {"which": "direct anticoagulant"}}),
    ("two antiplatelets", "patient", "history", {"blood_thinner": {"which": "two antiplatelets"}}),
    ("heart device, agreed", "patient", "history", {"cardiac_device": {"answer": AGREED}}),
    ("heart device, not agreed", "patient", "history", {"cardiac_device": {"answer": {**AGREED, "agrees": False}}}),
    ("cochlear implant", "patient", "history", {"cochlear_implant": {}}),
    ("jaw irradiated", "patient", "history", {"jaw_irradiated": {"answer": AGREED}}),
    ("fainted before", "patient", "history", {"fainting": {}}),
    ("mouth opens little", "patient", "history", {"mouth_opening": {"opening_mm": 20.0}}),
    ("somebody else consents", "patient", "history", {"guardian": {"consented_by": "M. Invented"}}),
    ("somebody else consented", "patient", "history", {"guardian": CONSENTED}),
    ("drug in free words", "patient", "drugs", ["lisinopril"]),
    ("bone drug", "patient", "drugs", ["alendronate 70 mg"]),
    ("blood thinner", "patient", "drugs", ["warfarin"]),
    ("drug that overgrows gum", "patient", "drugs", ["phenytoin"]),
    ("growing", "patient", "growing", True),
    ("growing", "patient", "age_band", "under 18"),
    ("smokes", "patient", "smoking", "10 or more a day"),
    ("implant beside", "record", "implant_beside", True),
    ("metal near", "record", "metal", {"F": True}),
    ("acute infection", "record", "apical_state", "acute"),
    ("root split", "record", "vertical_root_fracture", True),
    ("perforation for good", "record", "perforation", {"perforation": True, "perforation_restorable": False}),
    ("perforation that can be closed", "record", "perforation", {"perforation": True, "perforation_restorable": True}),
    ("caries beyond restoring", "record", "caries_restorable", False),
    ("mobility grade 3", "record", "mobility", {"grade": 3, "scale": "Miller"}),
    ("root filling hopeless", "record", "root_filling", {"quality": "hopeless"}),
    ("furcation through", "record", "furcation", [{"side": "facial", "grade": 3, "scale": "Hamp"}]),
    ("cracks", "record", "cracks", True),
    ("ankylosis", "record", "ankylosis", True),
    ("no anchorage", "record", "anchorage", "none"),
)
HARMLESS: Mapping[str, str] = {"yes": "no", "no": "yes"}


@dataclass(frozen=True, kw_only=True, eq=False)
class Way:
    """One way to say a fact, or to leave it unsaid: `answer` None. `also` are further answers of the same part."""

    fact: str
    part: Part
    key: str
    answer: Answer
    also: Mapping[str, Answer]

    @property
    def recorded(self) -> bool:
        """Whether it stands in the case beside the visits, where a plan may rest on it."""
        return self.part in ("patient", "record")

    @property
    def unsaid(self) -> bool:
        return not self.recorded and self.answer is None

    @property
    def name(self) -> str:
        return f"{self.key}={'-' if self.unsaid else self.answer}"

    def effect(self, operation: Operation) -> Effect:
        return LINES[self.fact].effects[operation]


def _way(fact: str, part: Part, key: str, answer: Answer, **also: Answer) -> Way:
    return Way(fact=fact, part=part, key=key, answer=answer, also=also)


def _asked(part: Part, key: str) -> tuple[Way, ...]:
    fact, answer = ASKED[part, key]
    unknown = NOT_KNOWN.get(key, fact)
    not_known = (_way(unknown, part, key, "unknown"),) if part in ("screening", "tooth") else ()
    return (_way(fact, part, key, answer), *not_known, _way(unknown, part, key, None))


def _plate_half_answered() -> tuple[Way, ...]:
    """One plate question as not applicable beside others that are answered, and the other way round."""
    without = dict.fromkeys(PLATE, "not applicable")
    return (
        *(_way("plate half answered", "room", key, "not applicable") for key in PLATE),
        *(_way("plate half answered", "room", key, "yes", **{k: v for k, v in without.items() if k != key}) for key in PLATE),
    )


ASKED_WAYS = tuple(way for part, key in ASKED for way in _asked(part, key))
RECORDED_WAYS = tuple(_way(*recorded) for recorded in RECORDED)
ROLE_WAYS = (
    _way("operator alone", "roles", "suction", "DN"),
    _way("operator alone", "roles", "suction", "dn"),
    _way("operator alone", "roles", "plate", "DN"),
    _way("operator alone", "roles", "suction", None),
)
WAYS = (*ASKED_WAYS, *_plate_half_answered(), *ROLE_WAYS, *RECORDED_WAYS)
WITHOUT_PLATE = _way("no plate at all", "room", PLATE[0], "not applicable", **dict.fromkeys(PLATE[1:], "not applicable"))


@cache
def rule_of(way: Way) -> str:
    """Return the name under which somebody may answer for a way."""
    asked = {fact: key for (_, key), (fact, _) in ASKED.items()} | {fact: key for key, fact in NOT_KNOWN.items()}
    return (asked | _BESIDE).get(way.fact, way.key)


def at_odds(first: Way, second: Way) -> bool:
    """Whether two ways speak of the same key, so that a case can hold only one of them."""
    return first.part == second.part and bool({first.key, *first.also} & {second.key, *second.also})


def recorded(document: Mapping[str, Any], number: int, *ways: Way) -> dict[str, Any]:
    """Return the document with what the ways record of patient and tooth `number`."""
    made: dict[str, Any] = copy.deepcopy(dict(document))
    tooth = next(tooth for tooth in made["teeth"] if tooth["number"] == number)
    for way in ways:
        if way.part == "patient":
            made["patient"][way.key] = way.answer
        elif way.part == "record":
            tooth |= way.answer if way.key == "perforation" else {way.key: way.answer}
    return made


def harmless() -> dict[Part, dict[str, str]]:
    """Return the answers of a visit that says none of the facts."""
    found: dict[Part, dict[str, str]] = {"screening": {}, "tooth": {}, "room": {}}
    for (part, key), (_, answer) in ASKED.items():
        found[part][key] = HARMLESS[answer]
    return {**found, "roles": {"operator": "DN", "suction": "AB", "plate": "CD"}}


def said(*ways: Way) -> dict[Part, dict[str, str]]:
    """Return the answers of a visit in which these ways, and nothing else, say something."""
    found = harmless()
    for way in ways:
        if way.part in found:
            answers = {**found[way.part], way.key: way.answer, **way.also}
            found[way.part] = {key: answer for key, answer in answers.items() if answer is not None}
    return found

"""What the case itself records, apart from any visit: as answers of questions, and as points of its own.

A recorded fact counts whatever was answered; an answer that says otherwise is said beside it. Free words that nobody has
classified close: a stop until it is corrected by name, drugs until somebody has read them.
"""

from collections.abc import Iterator

from collum.case.model import Patient, Tooth
from collum.case.visit import Visit
from collum.evidence.safety_drugs import questions_named
from collum.evidence.safety_rules import GROWING, GROWING_OUTCOMES, OUR_CHOICE, RECORDED_DRUGS, RECORDED_STOPS, Procedure
from collum.plan.safety.point import Point, override_of
from collum.plan.sentence import say

_SMOKES = ("under 10 a day", "10 or more a day")


def recorded_of_patient(patient: Patient) -> frozenset[str]:
    """Return the questions about patient and drugs that the record answers with yes."""
    facts = patient.facts
    found = {*(facts.conditions or ())}
    found |= {rule for drug in facts.drugs or () for rule in questions_named(drug)}
    return frozenset(found | ({"smoking"} if facts.smoking in _SMOKES else set()))


def recorded_of_tooth(tooth: Tooth) -> frozenset[str]:
    """Return the questions about a tooth that its findings answer with yes."""
    facts = tooth.facts
    found = {
        "implant_beside": facts.implant_beside is True,
        "metal_near": any((facts.metal or {}).values()),
        "acute_infection": facts.apical_state == "acute",
    }
    return frozenset(rule for rule, holds in found.items() if holds)


def recorded_points(patient: Patient, visit: Visit, plan: str, procedure: Procedure) -> Iterator[Point]:
    """Yield what the record says of the patient that no question asks."""
    stops = ", ".join(patient.facts.stops or ())
    if stops:
        yield Point(
            rule=RECORDED_STOPS,
            group="patient",
            where="patient.stops",
            outcome="stop",
            sentence=say("safety.reason.recorded_stops", stops=stops),
        )
    yield from _drugs(patient, visit, plan, procedure)
    if patient.facts.may_grow:
        yield Point(
            rule=GROWING,
            group="patient",
            where="patient.growing" if patient.facts.growing is True else "patient.age_band",
            outcome=GROWING_OUTCOMES[procedure],
            sentence=say(f"safety.reason.growing_{procedure}"),
            override=override_of(visit, GROWING, procedure),
            source=OUR_CHOICE[0],
            status=OUR_CHOICE[1],
        )


def unread_drugs(patient: Patient) -> tuple[str, ...]:
    """Return the recorded drugs that no known name puts under a question."""
    return tuple(drug for drug in patient.facts.drugs or () if not questions_named(drug))


def _drugs(patient: Patient, visit: Visit, plan: str, procedure: Procedure) -> Iterator[Point]:
    unread = unread_drugs(patient)
    listed = ", ".join(unread or patient.facts.drugs or ())
    if listed:
        yield Point(
            rule=RECORDED_DRUGS,
            group="drugs",
            where="patient.drugs",
            outcome="justify" if unread else "note",
            sentence=say("safety.reason.unread_drugs" if unread else "safety.reason.recorded_drugs", drugs=listed),
            override=override_of(visit, RECORDED_DRUGS, procedure, plan=plan),
        )

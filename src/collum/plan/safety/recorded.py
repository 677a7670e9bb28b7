"""What the case itself records, apart from any visit: as answers of questions, and as points of its own.

A recorded fact counts whatever was answered; an answer that says otherwise is said beside it. Free words that nobody has
classified close: a stop until it is corrected by name, a drug until somebody has classified it.
"""

from collections.abc import Iterator

from collum.case.model import Patient, Tooth
from collum.case.visit import Visit
from collum.evidence.patient_rows import GROWING_ROW
from collum.evidence.safety_rules import GROWING, OUTCOME_OF, RECORDED_DRUGS, RECORDED_STOPS, Outcome, Procedure
from collum.plan.patient.standing import PatientEffect, PatientStanding, unread_drugs
from collum.plan.patient.words import answered_said
from collum.plan.safety.point import Point, override_of
from collum.plan.sentence import say


def recorded_of_tooth(tooth: Tooth) -> frozenset[str]:
    """Return the questions about a tooth that its findings answer with yes."""
    facts = tooth.facts
    found = {
        "implant_beside": facts.implant_beside is True,
        "metal_near": any((facts.metal or {}).values()),
        "acute_infection": facts.apical_state == "acute",
    }
    return frozenset(rule for rule, holds in found.items() if holds)


def recorded_points(patient: Patient, standing: PatientStanding, visit: Visit, procedure: Procedure) -> Iterator[Point]:
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
    yield from _drugs(patient)
    for effect in standing.effects(procedure):
        if effect.found.row.id == GROWING_ROW:
            yield _growing(patient, effect, visit, procedure)


def _growing(patient: Patient, effect: PatientEffect, visit: Visit, procedure: Procedure) -> Point:
    outcome = outcome_of(effect)
    return Point(
        rule=GROWING,
        group="patient",
        where=_where_of_growth(patient, visit, effect),
        outcome=outcome,
        sentence=answered_said(effect) or say(f"safety.reason.growing_{procedure}"),
        override=override_of(visit, GROWING, procedure),
        to_physician=outcome == "ask",
        source=effect.found.row.source,
        status=effect.found.row.status,
    )


def _where_of_growth(patient: Patient, visit: Visit, effect: PatientEffect) -> str:
    if effect.found.said_by == "screening":
        return f"visits[{visit.index}].screening.{GROWING}"
    return "patient.growing" if patient.facts.growing is True else "patient.age_band"


def outcome_of(effect: PatientEffect) -> Outcome:
    """Return what an effect of the table brings at the gate."""
    found = "precaution" if effect.standing == "answered" else OUTCOME_OF[effect.standing]
    assert found is not None  # what is open is no effect
    return found


def _drugs(patient: Patient) -> Iterator[Point]:
    unread = unread_drugs(patient)
    listed = ", ".join(unread or patient.facts.drugs or ())
    if listed:
        yield Point(
            rule=RECORDED_DRUGS,
            group="drugs",
            where="patient.drugs",
            outcome="stop" if unread else "note",
            sentence=say("safety.reason.unread_drugs" if unread else "safety.reason.recorded_drugs", drugs=listed),
        )

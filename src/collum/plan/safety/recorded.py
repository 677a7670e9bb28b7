"""What the case itself records, apart from any visit: as answers of questions, and as points of its own.

A recorded fact counts whatever was answered; an answer that says otherwise is said beside it. Free words that nobody has
classified close: a stop until it is corrected by name, drugs until somebody has read them.
"""

from collections.abc import Iterator, Mapping, Sequence

from collum.case.model import Patient, Tooth
from collum.case.visit import Visit
from collum.evidence.safety_drugs import questions_named
from collum.evidence.safety_rules import GROWING, GROWING_OUTCOMES, OUR_CHOICE, RECORDED_DRUGS, RECORDED_STOPS, Procedure
from collum.plan.safety.point import Point, override_of
from collum.plan.sentence import say

_SMOKES = ("under 10 a day", "10 or more a day")


def recorded_of_patient(patient: Patient) -> frozenset[str]:
    """Return the questions about patient and drugs that the record answers with yes."""
    found = {str(condition) for condition in _listed(patient, "conditions")}
    found |= {rule for drug in _listed(patient, "drugs") for rule in questions_named(str(drug))}
    return frozenset(found | ({"smoking"} if patient.recorded.get("smoking") in _SMOKES else set()))


def recorded_of_tooth(tooth: Tooth) -> frozenset[str]:
    """Return the questions about a tooth that its findings answer with yes."""
    recorded = tooth.recorded
    metal = recorded.get("metal")
    found = {
        "implant_beside": recorded.get("implant_beside") is True,
        "metal_near": isinstance(metal, Mapping) and any(metal.values()),
        "acute_infection": recorded.get("apical_state") == "acute",
    }
    return frozenset(rule for rule, holds in found.items() if holds)


def recorded_points(patient: Patient, visit: Visit, plan: str, procedure: Procedure) -> Iterator[Point]:
    """Yield what the record says of the patient that no question asks."""
    stops = _joined(_listed(patient, "stops"))
    if stops:
        yield Point(
            rule=RECORDED_STOPS,
            group="patient",
            where="patient.stops",
            outcome="stop",
            sentence=say("safety.reason.recorded_stops", stops=stops),
        )
    yield from _drugs(patient, visit, plan, procedure)
    if is_growing(patient):
        yield Point(
            rule=GROWING,
            group="patient",
            where="patient.growing" if patient.recorded.get("growing") is True else "patient.age_band",
            outcome=GROWING_OUTCOMES[procedure],
            sentence=say(f"safety.reason.growing_{procedure}"),
            override=override_of(visit, GROWING, procedure),
            source=OUR_CHOICE[0],
            status=OUR_CHOICE[1],
        )


def is_growing(patient: Patient) -> bool:
    """Whether the patient grows, or is of an age at which it has to be taken so."""
    return patient.recorded.get("growing") is True or patient.recorded.get("age_band") == "under 18"


def unread_drugs(patient: Patient) -> tuple[str, ...]:
    """Return the recorded drugs that no known name puts under a question."""
    return tuple(str(drug) for drug in _listed(patient, "drugs") if not questions_named(str(drug)))


def _drugs(patient: Patient, visit: Visit, plan: str, procedure: Procedure) -> Iterator[Point]:
    unread = unread_drugs(patient)
    listed = _joined(unread or _listed(patient, "drugs"))
    if listed:
        yield Point(
            rule=RECORDED_DRUGS,
            group="drugs",
            where="patient.drugs",
            outcome="justify" if unread else "note",
            sentence=say("safety.reason.unread_drugs" if unread else "safety.reason.recorded_drugs", drugs=listed),
            override=override_of(visit, RECORDED_DRUGS, procedure, plan=plan),
        )


def _listed(patient: Patient, key: str) -> Sequence[object]:
    found = patient.recorded.get(key)
    return found if isinstance(found, Sequence) else ()


def _joined(entries: Sequence[object]) -> str:
    return ", ".join(str(entry) for entry in entries)

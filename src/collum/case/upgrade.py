"""Raising an older case document to today's format: one pure function from each number to the next."""

from collections.abc import Callable, Mapping

from collum.case.shapes import Json

# The conditions that a file of format number 2 could name.
CONDITIONS_OF_2 = (
    *("cardiac_device", "other_stimulator", "cochlear_implant", "added_oxygen", "jaw_irradiated", "poor_healing"),
    *("diabetes_uncontrolled", "bleeding_disorder", "endocarditis_risk", "heart_or_pressure", "pregnant"),
    *("anaesthetic_reaction", "allergy", "body_metal", "smoking", "bone_drugs", "blood_thinner", "overgrowth_drug"),
)


def _with_answers(document: Json) -> Json:
    """1 to 2: a visit may hold the answers of the safety screening. Nothing was answered before, so nothing is added."""
    return {**document, "format": "collum-case/2"}


def _with_history(document: Json) -> Json:
    """2 to 3: a condition becomes a fact of the history of which nothing is stated. Unclassified words stay unclassified."""
    raised = {**document, "format": "collum-case/3"}
    patient = document.get("patient")
    if isinstance(patient, dict) and isinstance(patient.get("conditions"), list):
        known: dict[str, Json] = {entry: {} for entry in patient["conditions"] if entry in CONDITIONS_OF_2}
        if len(known) == len(set(map(str, patient["conditions"]))):  # any other entry is left for the reader to refuse
            kept = {key: found for key, found in patient.items() if key != "conditions"}
            raised["patient"] = {**kept, "history": known} if known else kept
    visits = document.get("visits")
    if isinstance(visits, list):
        raised["visits"] = [_with_corrections_of_history(visit) for visit in visits]
    return raised


def _with_corrections_of_history(visit: Json) -> Json:
    if not (isinstance(visit, dict) and isinstance(visit.get("corrections"), list)):
        return visit
    return {**visit, "corrections": [_of_history(correction) for correction in visit["corrections"]]}


def _of_history(correction: Json) -> Json:
    of_condition = isinstance(correction, dict) and correction.get("field") == "conditions"
    return {**correction, "field": "history"} if of_condition else correction


STEPS: Mapping[int, Callable[[Json], Json]] = {1: _with_answers, 2: _with_history}


def todays(document: Json) -> Json:
    """Return a stored document, of any format number, in today's format."""
    return upgraded(document, int(str(document["format"]).rpartition("/")[2]))


def upgraded(document: Json, number: int) -> Json:
    """Return the document of format `number` in today's format."""
    while number in STEPS:
        document = STEPS[number](document)
        number += 1
    return document

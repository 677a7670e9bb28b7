"""What is known of the patient, as it acts on a route: what closes it, and what is said with it.

A route is closed where a procedure it needs is closed. Gum may be cut by current or by scalpel: a route that needs one of
the two is open while either is, and says which it is not.
"""

from collections.abc import Iterator

from collum.evidence.patient_rows import Act
from collum.plan.lengthening.procedures.procedure import Procedure
from collum.plan.patient.standing import PatientEffect, PatientStanding

_UNSAID = ("open", "note")


def closed_by_patient(procedure: Procedure, patient: PatientStanding) -> tuple[PatientEffect, ...]:
    """Return what closes the route of a procedure for this patient, the strictest of each needed act first.

    Where no instrument is open it is what closes the mildest, the scalpel.
    """
    found = [effect for act in procedure.acts for effect in patient.closing(act)]
    return (*found, *(no_instrument(procedure, patient) if procedure.needs_instrument else ()))


def no_instrument(procedure: Procedure, patient: PatientStanding) -> tuple[PatientEffect, ...]:
    """Return what closes the mildest instrument by which a procedure cuts gum, where every one is closed; else nothing."""
    by_instrument = [patient.closing(act) for act in procedure.instruments]
    return by_instrument[-1] if by_instrument and all(by_instrument) else ()


def cautions(procedure: Procedure, patient: PatientStanding) -> tuple[PatientEffect, ...]:
    """Return what is said of the patient with the route, each row once for an act: cautions, and instruments not to be used."""
    found = [effect for act in procedure.acts for effect in _said(patient, act)]
    found += [effect for act in procedure.instruments for effect in patient.closing(act)]
    if procedure.needs_instrument:
        usable = (act for act in procedure.instruments if not patient.closing(act))
        said = {effect.found.row.id for effect in found}
        for act in usable:
            found += [effect for effect in _said(patient, act) if effect.found.row.id not in said]
            said = {effect.found.row.id for effect in found}
    return tuple(found)


def _said(patient: PatientStanding, act: Act) -> Iterator[PatientEffect]:
    return (effect for effect in patient.effects(act) if not effect.closes and effect.standing not in _UNSAID)

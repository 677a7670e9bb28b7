"""Sentences about the patient: what a row means with a route or a reading, and the reasons in the order of acting."""

from collum.evidence import reference
from collum.plan.lengthening.choice.reasons import ACTED_ON, Reason
from collum.plan.lengthening.grounds import Doubt, Ground, Question
from collum.plan.patient.standing import PatientEffect
from collum.plan.patient.words import answered_said, caution_said, why_said
from collum.plan.sentence import Sentence, say
from collum.wire.plan.document import PatientEffectDocument, ReasonDocument
from collum.wire.plan.route_sentences import doubt_said, ground_said
from collum.wire.speaking import Speaker


def effect_document(effect: PatientEffect, speak: Speaker) -> PatientEffectDocument:
    """Return the wire form of what a row of the patient means for a procedure."""
    row = effect.found.row
    return PatientEffectDocument(
        row=row.id,
        act=effect.act,
        standing=effect.standing,
        why=speak(why_said(row.id, effect.found.entry)),
        said=speak(_what_to_do(effect)),
        citation=reference(row.source).citation,
        status=row.status,
    )


def reason_documents(found: tuple[Reason, ...], speak: Speaker) -> list[ReasonDocument]:
    """Return the wire form of the reasons, in their order."""
    return [
        ReasonDocument(
            **speak(_reason_said(reason)).model_dump(),
            step=reason.step,
            acted_on=position < ACTED_ON,
            unclassified=reason.about.words if isinstance(reason.about, Ground) else None,
        )
        for position, reason in enumerate(found)
    ]


def _what_to_do(effect: PatientEffect) -> Sentence:
    """Return what to do: by the answer, the instrument, the reading, or the row."""
    row, answered = effect.found.row.id, answered_said(effect)
    if answered is not None:
        return answered
    if effect.act == "readings":
        return say(f"plan.patient.readings.{row}")
    if effect.act == "restoration":
        return say(f"plan.patient.restoration.{row}")
    if effect.closes:
        return say(f"plan.patient.not_by.{effect.act}")
    return caution_said(row)


def _reason_said(reason: Reason) -> Sentence:
    about = reason.about
    if isinstance(about, Ground):
        return ground_said(about)
    if isinstance(about, Doubt):
        return doubt_said(about)
    if isinstance(about, Question):
        return about.said
    return say("plan.reasons.cracks") if about == "cracks" else say(f"plan.reasons.contradicted.{about}")

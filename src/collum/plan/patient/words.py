"""Keys of the sentences about rows of the patient, with the numbers they speak of."""

from collum.evidence import value
from collum.evidence.patient_rows import SAYS_WITH, UNCLASSIFIED_ROW
from collum.plan.patient.standing import PatientEffect
from collum.plan.sentence import Sentence, say


def why_said(row: str, words: str | None = None) -> Sentence:
    """Return the fact of a row; `words`: the unclassified ones."""
    if row == UNCLASSIFIED_ROW:
        return say(f"plan.patient.why.{row}", words=str(words))
    return say(f"plan.patient.why.{row}", **_numbers(f"why.{row}"))


def answered_said(effect: PatientEffect) -> Sentence | None:
    """Return who answered in writing, and when, where that opened what waited for it."""
    answer = effect.found.answer
    if effect.standing != "answered" or answer is None:
        return None
    return say("plan.patient.answered", by=answer.by, date=answer.date)


def caution_said(row: str) -> Sentence:
    """Return what to do where a row is a caution."""
    return say(f"plan.patient.caution.{row}", **_numbers(f"caution.{row}"))


def _numbers(name: str) -> dict[str, float]:
    return {key.rpartition(".")[2]: value(key) for key in SAYS_WITH.get(name, ())}

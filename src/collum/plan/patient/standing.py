"""What is known of the patient at this moment, and what it means for each procedure.

The record, the drugs by their names, age and growth, and the answers of the last visit are put together: where record and
screening differ the stricter counts. A physician's answer opens what asks for it, and nothing that is closed.
"""

from collections.abc import Iterable, Iterator, Mapping
from dataclasses import dataclass
from datetime import date
from typing import Any, Literal

from collum.case.facts import Bruxism
from collum.case.history import Answer, Growth, Pregnancy
from collum.case.model import Patient
from collum.evidence import value
from collum.evidence.patient_rows import FACTS, GROWING_ROW, ROW_OF, UNCLASSIFIED_ROW, Act, FactId, PatientRow
from collum.evidence.safety_drugs import questions_named
from collum.plan.patient.rows import row_of, unstated

Standing = Literal["open", "note", "caution", "confirm", "cover", "answered", "ask", "orthodontist", "postpone", "closed"]
SaidBy = Literal["record", "drug", "screening", "words"]
# From the mildest to the strictest.
STRICTNESS: tuple[Standing, ...] = (
    *("open", "note", "answered", "caution", "cover", "confirm"),
    *("orthodontist", "postpone", "ask", "closed"),
)
ASKING: tuple[Standing, ...] = ("ask", "orthodontist", "postpone")
CLOSING: tuple[Standing, ...] = (*ASKING, "closed")
_SMOKING: Mapping[str, str] = {"10 or more a day": "smoking", "under 10 a day": "smoking_less"}


@dataclass(frozen=True, slots=True, kw_only=True)
class Found:
    """One row that holds for the patient. `entry`: the words it was read from, of a drug or of an unclassified entry."""

    row: PatientRow
    said_by: SaidBy
    stated: Any = None
    entry: str | None = None

    @property
    def answer(self) -> Answer | None:
        """What a physician or clinic wrote back, if anything."""
        return getattr(self.stated, "answer", None)


@dataclass(frozen=True, slots=True, kw_only=True)
class PatientEffect:
    """What a row means for a procedure now, with the answer that opened it."""

    found: Found
    act: Act
    standing: Standing

    @property
    def closes(self) -> bool:
        return self.standing in CLOSING


@dataclass(frozen=True, slots=True, kw_only=True)
class PatientStanding:
    """Every row that holds; `contradicted`: facts of the record that the last visit denies. `bruxism`: as recorded."""

    found: tuple[Found, ...] = ()
    contradicted: tuple[FactId, ...] = ()
    bruxism: Bruxism | None = None

    def effects(self, act: Act) -> tuple[PatientEffect, ...]:
        """Return what the rows mean for a procedure, the strictest first; what is open is left out."""
        return _strictest_first(self.found, act)

    def effect_of(self, fact: str, act: Act) -> PatientEffect | None:
        """Return the strictest that a fact means for a procedure; None where it is open."""
        return next(iter(_strictest_first([one for one in self.found if one.row.fact == fact], act)), None)

    def closing(self, act: Act) -> tuple[PatientEffect, ...]:
        """Return what closes a procedure, the strictest first."""
        return tuple(effect for effect in self.effects(act) if effect.closes)

    @property
    def cut_for_looks(self) -> bool:
        """Whether anything may be cut for looks alone."""
        return not any("not_for_looks" in one.row.effects.values() for one in self.found)

    def records(self, fact: str) -> bool:
        """Whether the record tells of a fact, or of growth, whatever the last visit says."""
        return any((one.row.fact or one.row.id) == fact and one.said_by in ("record", "drug") for one in self.found)


def standing_of(patient: Patient, screening: Mapping[str, str] | None = None, today: date | None = None) -> PatientStanding:
    """Return what is known of the patient from the record and from the answers of the last visit."""
    answers = screening or {}
    recorded = tuple(_recorded(patient, today))
    named = {one.row.fact for one in recorded}
    asked = tuple(
        Found(row=unstated(fact), said_by="screening")
        for fact in FACTS
        if answers.get(fact) == "unknown" or (answers.get(fact) == "yes" and fact not in named)
    )
    grows = answers.get(GROWING_ROW) in ("yes", "unknown") and not patient.facts.may_grow
    if grows:
        asked = (*asked, Found(row=ROW_OF[GROWING_ROW], said_by="screening", stated=patient.facts.growth or Growth()))
    return PatientStanding(
        found=(*recorded, *asked, *_unclassified(patient)),
        contradicted=tuple(fact for fact in FACTS if fact in named and answers.get(fact) == "no"),
        bruxism=patient.facts.bruxism,
    )


def unread_drugs(patient: Patient) -> tuple[str, ...]:
    """Return the recorded drugs without a known name and without a classification."""
    read = {one.entry for one in patient.facts.classified or ()}
    return tuple(drug for drug in patient.facts.drugs or () if not questions_named(drug) and drug not in read)


def _recorded(patient: Patient, today: date | None) -> Iterator[Found]:
    facts = patient.facts
    stated = {fact: getattr(facts.history, fact) for fact in FACTS if facts.history is not None}
    held: set[str] = {fact for fact, found in stated.items() if found is not None}
    for fact in FACTS:
        if fact in held:
            row = row_of(fact, stated[fact], today)
            if row is not None:
                yield Found(row=row, said_by="record", stated=stated[fact])
    yield from _by_drugs(patient, held)
    smoked = _SMOKING.get(facts.smoking or "")
    if smoked is not None and "smoking" not in held:
        yield Found(row=ROW_OF[smoked], said_by="record")
    if facts.may_grow:
        yield Found(row=ROW_OF[GROWING_ROW], said_by="record", stated=facts.growth or Growth())


def _by_drugs(patient: Patient, held: set[str]) -> Iterator[Found]:
    """Yield the facts that a drug tells of, by its name or classification; a fact of the history says more."""
    read = {one.entry: one.as_fact for one in patient.facts.classified or ()}
    told: set[str] = set()
    for drug in patient.facts.drugs or ():
        for fact in FACTS:
            if (fact in questions_named(drug) or read.get(drug) == fact) and fact not in held | told:
                told.add(fact)
                yield Found(row=unstated(fact), said_by="drug", entry=drug)


def _unclassified(patient: Patient) -> Iterator[Found]:
    for entry in (*(patient.facts.stops or ()), *unread_drugs(patient)):
        yield Found(row=ROW_OF[UNCLASSIFIED_ROW], said_by="words", entry=entry)


def _strictest_first(found: Iterable[Found], act: Act) -> tuple[PatientEffect, ...]:
    effects = (PatientEffect(found=one, act=act, standing=_standing(one, act)) for one in found)
    meant = [effect for effect in effects if effect.standing != "open"]
    return tuple(sorted(meant, key=lambda effect: -STRICTNESS.index(effect.standing)))


def _standing(found: Found, act: Act) -> Standing:
    """Return what a row means for a procedure, with what is stated and answered."""
    effect = found.row.effects[act]
    if effect == "not_for_looks":
        for_looks = found.stated.for_looks
        return "confirm" if for_looks is None else "closed" if for_looks else "open"
    if effect == "postpone" and _needed_now(found.stated):
        return "caution"
    agreed = found.answer is not None and found.answer.agrees
    return "answered" if agreed and effect in ASKING else effect


def _needed_now(stated: Any) -> bool:
    """Return whether the work is needed and the pregnancy is in its middle weeks."""
    if not isinstance(stated, Pregnancy) or stated.needed is not True or stated.week is None:
        return False
    return value("patient.pregnancy_from_weeks") <= stated.week <= value("patient.pregnancy_to_weeks")

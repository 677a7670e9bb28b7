"""The medical history of a patient as typed facts: each named as the question of the screening that asks for it.

A fact that is in the file holds for the patient, with whatever is stated of it. A field has the name of its key in
the case file; None: the key is not in the file.
"""

from collections.abc import Mapping
from dataclasses import dataclass
from types import NoneType
from typing import Any, Literal, get_args, get_type_hints


@dataclass(frozen=True, slots=True, kw_only=True)
class Answer:
    """What a named physician or clinic wrote back. `agrees`: the procedures that wait for this answer may be done."""

    by: str
    date: str  # ISO 8601
    agrees: bool


@dataclass(frozen=True, slots=True, kw_only=True)
class PlainFact:
    """A fact of which nothing more is asked."""

    note: str | None = None


@dataclass(frozen=True, slots=True, kw_only=True)
class CardiacDevice:
    which: Literal["pacemaker", "defibrillator"] | None = None
    checked: str | None = None  # ISO 8601
    answer: Answer | None = None


@dataclass(frozen=True, slots=True, kw_only=True)
class Stimulator:
    which: Literal["nerve", "spine", "brain", "pump or sensor worn"] | None = None
    answer: Answer | None = None


@dataclass(frozen=True, slots=True, kw_only=True)
class JawRadiotherapy:
    """`stated_by`, `stated_on`: the clinic that gives field and dose, and when it did."""

    which: Literal["jaw in the field", "jaw outside the field"] | None = None
    dose_gy: float | None = None
    stated_by: str | None = None
    stated_on: str | None = None  # ISO 8601
    answer: Answer | None = None


@dataclass(frozen=True, slots=True, kw_only=True)
class WeakDefences:
    """Poor healing or weak defences. `neutrophils` in 1e9/l; `steroid_mg` a day, as prednisolone."""

    which: Literal["few neutrophils", "chemotherapy", "transplant", "steroid"] | None = None
    neutrophils: float | None = None
    steroid_mg: float | None = None
    steroid_weeks: float | None = None
    answer: Answer | None = None


@dataclass(frozen=True, slots=True, kw_only=True)
class Diabetes:
    """`signs`: of sugar that is not controlled."""

    hba1c_percent: float | None = None
    signs: bool | None = None
    eaten_today: bool | None = None
    answer: Answer | None = None


@dataclass(frozen=True, slots=True, kw_only=True)
class BleedingDisorder:
    """`platelets` in 1e9/l."""

    which: Literal["few platelets", "clotting disease", "liver failure"] | None = None
    platelets: float | None = None
    answer: Answer | None = None


@dataclass(frozen=True, slots=True, kw_only=True)
class EndocarditisRisk:
    """`cover`: the antibiotic, and the time it is given before treatment."""

    which: Literal["replaced or repaired valve", "earlier endocarditis", "listed congenital defect"] | None = None
    cover: str | None = None


@dataclass(frozen=True, slots=True, kw_only=True)
class HeartOrPressure:
    """`recent`: an infarction or stroke within the last 6 months. Pressure of today in mmHg."""

    which: Literal["infarction", "stroke", "pressure"] | None = None
    recent: bool | None = None
    systolic: float | None = None
    diastolic: float | None = None
    answer: Answer | None = None


@dataclass(frozen=True, slots=True, kw_only=True)
class Pregnancy:
    """`needed`: the work is needed now and cannot wait for birth."""

    week: int | None = None
    needed: bool | None = None
    answer: Answer | None = None


@dataclass(frozen=True, slots=True, kw_only=True)
class AnaestheticReaction:
    to: str | None = None
    answer: Answer | None = None


@dataclass(frozen=True, slots=True, kw_only=True)
class Allergy:
    """`latex_free`: the room is free of latex and the patient the first of the day."""

    to: str | None = None
    latex: Literal["itch", "swelling, wheeze or collapse", "none"] | None = None
    latex_free: bool | None = None
    answer: Answer | None = None


@dataclass(frozen=True, slots=True, kw_only=True)
class MouthOpening:
    """`opening_mm`: between the edges of the front teeth."""

    opening_mm: float | None = None


@dataclass(frozen=True, slots=True, kw_only=True)
class Guardian:
    """Consent by another person than the patient: `consented_by` is who may and did, on `consented_on`."""

    consented_by: str | None = None
    consented_on: str | None = None  # ISO 8601


@dataclass(frozen=True, slots=True, kw_only=True)
class BoneDrug:
    """`years` on it; `steroid`: with a steroid; `necrosis`: the jaw was necrotic before."""

    which: (
        Literal["by mouth for osteoporosis", "yearly drip", "denosumab every 6 months", "cancer dose", "anti-angiogenic"] | None
    ) = None
    drug: str | None = None
    years: float | None = None
    steroid: bool | None = None
    necrosis: bool | None = None
    answer: Answer | None = None


@dataclass(frozen=True, slots=True, kw_only=True)
class BloodThinner:
    """`inr` and the day it was taken, `stable`: it hardly changes. `recent_stent`: within the last 12 months."""

    which: (
        Literal[
            "vitamin-K antagonist",
            "direct anticoagulant",
            "one antiplatelet",
            "two antiplatelets",
            "anticoagulant with antiplatelet",
        ]
        | None
    ) = None
    drug: str | None = None
    inr: float | None = None
    inr_on: str | None = None  # ISO 8601
    stable: bool | None = None
    dose_hour: str | None = None
    recent_stent: bool | None = None
    answer: Answer | None = None


@dataclass(frozen=True, slots=True, kw_only=True)
class History:
    """The facts that hold for the patient, each by the id of its question."""

    cardiac_device: CardiacDevice | None = None
    other_stimulator: Stimulator | None = None
    cochlear_implant: PlainFact | None = None
    added_oxygen: PlainFact | None = None
    jaw_irradiated: JawRadiotherapy | None = None
    poor_healing: WeakDefences | None = None
    diabetes_uncontrolled: Diabetes | None = None
    bleeding_disorder: BleedingDisorder | None = None
    endocarditis_risk: EndocarditisRisk | None = None
    heart_or_pressure: HeartOrPressure | None = None
    pregnant: Pregnancy | None = None
    anaesthetic_reaction: AnaestheticReaction | None = None
    allergy: Allergy | None = None
    body_metal: PlainFact | None = None
    smoking: PlainFact | None = None
    bone_drugs: BoneDrug | None = None
    blood_thinner: BloodThinner | None = None
    overgrowth_drug: PlainFact | None = None
    asthma: PlainFact | None = None
    fainting: PlainFact | None = None
    mouth_opening: MouthOpening | None = None
    guardian: Guardian | None = None


@dataclass(frozen=True, slots=True, kw_only=True)
class Growth:
    """Beside age and growth. `for_looks`: the wish is for looks alone. It does not say that the patient grows."""

    for_looks: bool | None = None
    answer: Answer | None = None


@dataclass(frozen=True, slots=True, kw_only=True)
class Classified:
    """The classification of a recorded drug: what it is, by whom and when. "no concern": it bears on no procedure."""

    entry: str
    as_fact: str
    by: str
    date: str  # ISO 8601


def records_of_history() -> Mapping[str, type]:
    """Return the record that holds each fact of the history, by its id."""
    return {fact: _stated(kind) for fact, kind in get_type_hints(History).items()}


def words_of(record: type, field: str) -> tuple[str, ...]:
    """Return the words that a field of a record may have, in their order."""
    return get_args(_stated(get_type_hints(record)[field]))


def _stated(kind: Any) -> Any:
    """Return what a field that may be left out holds where it is not."""
    (held,) = (one for one in get_args(kind) if one is not NoneType)
    return held

"""The layout of the medical history: every fact with what may be stated of it."""

from collections.abc import Mapping

from collum.case.history import (
    Allergy,
    BleedingDisorder,
    BloodThinner,
    BoneDrug,
    CardiacDevice,
    EndocarditisRisk,
    HeartOrPressure,
    JawRadiotherapy,
    Stimulator,
    WeakDefences,
    words_of,
)
from collum.case.layout_parts import SHORT, of_key
from collum.case.shapes import Choice, Day, Flag, Shape, Table, Text, Whole
from collum.evidence import get
from collum.evidence.patient_rows import FACTS

NO_CONCERN = "no concern"
_NAME = Text(60, readable=True)
ANSWER = Table({"by": _NAME, "date": Day(), "agrees": Flag()}, required=("by", "date", "agrees"))
_WEEKS = get("patient.pregnancy_from_weeks")
_PLAIN = Table({"note": SHORT})
_ANSWERED: Mapping[str, Shape] = {"answer": ANSWER}

HISTORY: Mapping[str, Shape] = {
    "cardiac_device": Table({"which": Choice(words_of(CardiacDevice, "which")), "checked": Day(), **_ANSWERED}),
    "other_stimulator": Table({"which": Choice(words_of(Stimulator, "which")), **_ANSWERED}),
    "cochlear_implant": _PLAIN,
    "added_oxygen": _PLAIN,
    "jaw_irradiated": Table(
        {
            "which": Choice(words_of(JawRadiotherapy, "which")),
            "dose_gy": of_key("patient.jaw_dose_gy"),
            "stated_by": _NAME,
            "stated_on": Day(),
            **_ANSWERED,
        }
    ),
    "poor_healing": Table(
        {
            "which": Choice(words_of(WeakDefences, "which")),
            "neutrophils": of_key("patient.neutrophils"),
            "steroid_mg": of_key("patient.steroid_mg"),
            "steroid_weeks": of_key("patient.steroid_weeks"),
            **_ANSWERED,
        }
    ),
    "diabetes_uncontrolled": Table(
        {"hba1c_percent": of_key("patient.hba1c_percent"), "signs": Flag(), "eaten_today": Flag(), **_ANSWERED}
    ),
    "bleeding_disorder": Table(
        {
            "which": Choice(words_of(BleedingDisorder, "which")),
            "platelets": of_key("patient.platelets_closed"),
            **_ANSWERED,
        }
    ),
    "endocarditis_risk": Table(
        {
            "which": Choice(words_of(EndocarditisRisk, "which")),
            "cover": SHORT,
        }
    ),
    "heart_or_pressure": Table(
        {
            "which": Choice(words_of(HeartOrPressure, "which")),
            "recent": Flag(),
            "systolic": of_key("patient.systolic_mmhg"),
            "diastolic": of_key("patient.diastolic_mmhg"),
            **_ANSWERED,
        }
    ),
    "pregnant": Table({"week": Whole(int(_WEEKS.low), int(_WEEKS.high)), "needed": Flag(), **_ANSWERED}),
    "anaesthetic_reaction": Table({"to": SHORT, **_ANSWERED}),
    "allergy": Table(
        {
            "to": SHORT,
            "latex": Choice(words_of(Allergy, "latex")),
            "latex_free": Flag(),
            **_ANSWERED,
        }
    ),
    "body_metal": _PLAIN,
    "smoking": _PLAIN,
    "bone_drugs": Table(
        {
            "which": Choice(words_of(BoneDrug, "which")),
            "drug": SHORT,
            "years": of_key("patient.bone_drug_years"),
            "steroid": Flag(),
            "necrosis": Flag(),
            **_ANSWERED,
        }
    ),
    "blood_thinner": Table(
        {
            "which": Choice(words_of(BloodThinner, "which")),
            "drug": SHORT,
            "inr": of_key("patient.inr_limit"),
            "inr_on": Day(),
            "stable": Flag(),
            "dose_hour": SHORT,
            "recent_stent": Flag(),
            **_ANSWERED,
        }
    ),
    "overgrowth_drug": _PLAIN,
    "asthma": _PLAIN,
    "fainting": _PLAIN,
    "mouth_opening": Table({"opening_mm": of_key("patient.mouth_opening_mm")}),
    "guardian": Table({"consented_by": _NAME, "consented_on": Day()}),
}
GROWTH = Table({"for_looks": Flag(), **_ANSWERED})
CLASSIFIED = Table(
    {"entry": SHORT, "as_fact": Choice((*FACTS, NO_CONCERN)), "by": _NAME, "date": Day()},
    required=("entry", "as_fact", "by", "date"),
)

"""The layout of the medical history: every fact with what may be stated of it."""

from collections.abc import Mapping

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
    "cardiac_device": Table({"which": Choice(("pacemaker", "defibrillator")), "checked": Day(), **_ANSWERED}),
    "other_stimulator": Table({"which": Choice(("nerve", "spine", "brain", "pump or sensor worn")), **_ANSWERED}),
    "cochlear_implant": _PLAIN,
    "added_oxygen": _PLAIN,
    "jaw_irradiated": Table(
        {
            "which": Choice(("jaw in the field", "jaw outside the field")),
            "dose_gy": of_key("patient.jaw_dose_gy"),
            "stated_by": _NAME,
            "stated_on": Day(),
            **_ANSWERED,
        }
    ),
    "poor_healing": Table(
        {
            "which": Choice(("few neutrophils", "chemotherapy", "transplant", "steroid")),
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
            "which": Choice(("few platelets", "clotting disease", "liver failure")),
            "platelets": of_key("patient.platelets_closed"),
            **_ANSWERED,
        }
    ),
    "endocarditis_risk": Table(
        {
            "which": Choice(("replaced or repaired valve", "earlier endocarditis", "listed congenital defect")),
            "cover": SHORT,
        }
    ),
    "heart_or_pressure": Table(
        {
            "which": Choice(("infarction", "stroke", "pressure")),
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
            "latex": Choice(("itch", "swelling, wheeze or collapse", "none")),
            "latex_free": Flag(),
            **_ANSWERED,
        }
    ),
    "body_metal": _PLAIN,
    "smoking": _PLAIN,
    "bone_drugs": Table(
        {
            "which": Choice(
                ("by mouth for osteoporosis", "yearly drip", "denosumab every 6 months", "cancer dose", "anti-angiogenic")
            ),
            "drug": SHORT,
            "years": of_key("patient.bone_drug_years"),
            "steroid": Flag(),
            "necrosis": Flag(),
            **_ANSWERED,
        }
    ),
    "blood_thinner": Table(
        {
            "which": Choice(
                (
                    "vitamin-K antagonist",
                    "direct anticoagulant",
                    "one antiplatelet",
                    "two antiplatelets",
                    "anticoagulant with antiplatelet",
                )
            ),
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
}
GROWTH = Table({"for_looks": Flag(), **_ANSWERED})
CLASSIFIED = Table(
    {"entry": SHORT, "as_fact": Choice((*FACTS, NO_CONCERN)), "by": _NAME, "date": Day()},
    required=("entry", "as_fact", "by", "date"),
)

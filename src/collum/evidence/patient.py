"""Numbers that tell which row of `patient_rows` a recorded fact of the patient falls under.

`low` and `high` are what may be entered for the same quantity.
"""

from functools import partial

from collum.evidence.registry import Constant

_patient = partial(Constant, checked="2026-11-30", used_for="facts of the patient", kind="guideline", population="adults")
_memory = partial(_patient, source="clinical_teaching", status="memory")

CONSTANTS: tuple[Constant, ...] = (
    _patient(
        key="patient.bone_drug_years",
        value=4,
        low=0,
        high=60,
        unit="years",
        meaning="years of a bone drug by mouth from which the jaw counts as at higher risk",
        source="bone_drug_years_review",
        status="read",
    ),
    _patient(
        key="patient.jaw_dose_gy",
        value=50,
        low=0,
        high=120,
        unit="Gy",
        meaning="dose to the jaw from which an operation on it is a risk for life",
        source="radiation_guideline2024",
        status="read",
    ),
    _patient(
        key="patient.inr_limit",
        value=4,
        low=0.5,
        high=15,
        unit="1",
        meaning="INR from which nothing is cut under a vitamin-K antagonist",
        source="bleeding_guidance",
        status="read",
    ),
    _patient(
        key="patient.inr_hours",
        value=24,
        low=1,
        high=24,
        unit="h",
        meaning="age of an INR that still counts",
        source="bleeding_guidance",
        status="read",
    ),
    _patient(
        key="patient.inr_stable_hours",
        value=72,
        low=1,
        high=72,
        unit="h",
        meaning="the same where the INR is stable",
        source="bleeding_summary2017",
        status="read",
    ),
    _memory(
        key="patient.platelets_closed",
        value=50,
        low=0,
        high=2000,
        unit="1e9/l",
        meaning="platelets below which nothing is done in the mouth",
    ),
    _memory(
        key="patient.platelets_asked",
        value=100,
        low=0,
        high=2000,
        unit="1e9/l",
        meaning="platelets below which the physician is asked",
    ),
    _memory(
        key="patient.systolic_mmhg",
        value=180,
        low=50,
        high=300,
        unit="mmHg",
        meaning="systolic pressure of today from which elective work waits",
    ),
    _memory(
        key="patient.diastolic_mmhg",
        value=110,
        low=20,
        high=200,
        unit="mmHg",
        meaning="the same, diastolic",
    ),
    _patient(
        key="patient.hba1c_percent",
        value=8.5,
        low=3,
        high=20,
        unit="%",
        meaning="HbA1c above which diabetes counts as not controlled",
        source="collum_decision",
        status="choice",
        kind="judgement",
    ),
    _memory(
        key="patient.neutrophils",
        value=1,
        low=0,
        high=50,
        unit="1e9/l",
        meaning="neutrophils below which the physician is asked",
    ),
    _memory(
        key="patient.steroid_mg",
        value=10,
        low=0,
        high=500,
        unit="mg/day",
        meaning="steroid a day, as prednisolone, from which it counts",
    ),
    _memory(
        key="patient.steroid_weeks",
        value=3,
        low=0,
        high=3000,
        unit="weeks",
        meaning="weeks on that dose beyond which it counts",
    ),
    _memory(
        key="patient.pregnancy_from_weeks",
        value=14,
        low=1,
        high=42,
        unit="weeks",
        meaning="week of pregnancy from which work that is needed may be done",
    ),
    _memory(
        key="patient.pregnancy_to_weeks",
        value=27,
        low=1,
        high=42,
        unit="weeks",
        meaning="the last such week",
    ),
)

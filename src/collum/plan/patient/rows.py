"""From what is stated of a fact of the history to the row of the table it falls under.

What is not stated counts as the strictest it may be. `today` is known at the gate alone: a value of the blood that has aged
since counts there as none.
"""

from collections.abc import Callable, Mapping
from datetime import date, timedelta
from typing import Any

from collum.case.history import (
    Allergy,
    BleedingDisorder,
    BloodThinner,
    BoneDrug,
    Diabetes,
    Guardian,
    HeartOrPressure,
    JawRadiotherapy,
    MouthOpening,
    Stimulator,
    WeakDefences,
)
from collum.evidence import value
from collum.evidence.patient_rows import ROW_OF, UNSTATED, FactId, PatientRow

_WORN = "pump or sensor worn"
_HOURS_A_DAY = 24


def row_of(fact: FactId, stated: Any, today: date | None = None) -> PatientRow | None:
    """Return the row of a fact with what is `stated` of it; None where that puts it under no row."""
    if fact == "blood_thinner":
        return _named(_blood_thinner(stated, today))
    choose = _CHOOSE.get(fact)
    return ROW_OF[UNSTATED[fact]] if choose is None else _named(choose(stated))


def unstated(fact: FactId) -> PatientRow:
    """Return the row of a fact of which nothing is stated."""
    return ROW_OF[UNSTATED[fact]]


def _named(row: str | None) -> PatientRow | None:
    return None if row is None else ROW_OF[row]


def _stimulator(stated: Stimulator) -> str:
    return "worn_device" if stated.which == _WORN else "stimulator"


def _bone_drug(stated: BoneDrug) -> str:
    """Short: by mouth, for fewer years than the limit, said to be without a steroid, and no necrosis before."""
    if stated.necrosis or stated.which in (None, "cancer dose", "anti-angiogenic"):
        return "bone_drug_cancer"
    few = stated.years is not None and stated.years < value("patient.bone_drug_years")
    by_mouth = stated.which == "by mouth for osteoporosis"
    return "bone_drug_short" if by_mouth and few and stated.steroid is False else "bone_drug_long"


def _jaw(stated: JawRadiotherapy) -> str:
    """Outside the field, or under the limit, counts where a clinic states it."""
    by_clinic = stated.stated_by is not None and stated.stated_on is not None
    low = stated.dose_gy is not None and stated.dose_gy < value("patient.jaw_dose_gy")
    return "jaw_outside_field" if by_clinic and (low or stated.which == "jaw outside the field") else "jaw_in_field"


def _defences(stated: WeakDefences) -> str | None:
    if stated.which == "steroid":
        little = stated.steroid_mg is not None and stated.steroid_mg < value("patient.steroid_mg")
        short = stated.steroid_weeks is not None and stated.steroid_weeks <= value("patient.steroid_weeks")
        return None if little or short else "steroid"
    enough = stated.neutrophils is not None and stated.neutrophils >= value("patient.neutrophils")
    return None if stated.which == "few neutrophils" and enough else "weak_defences"


def _diabetes(stated: Diabetes) -> str | None:
    """Controlled: the value is known and not over the limit, or it is not known and there are no signs; and eaten today."""
    known = stated.hba1c_percent
    over = stated.signs is not False if known is None else known > value("patient.hba1c_percent")
    return "diabetes" if over or stated.eaten_today is False else None


def _bleeding(stated: BleedingDisorder) -> str | None:
    count = stated.platelets
    if count is not None and count < value("patient.platelets_closed"):
        return "platelets_low"
    enough = count is not None and count >= value("patient.platelets_asked")
    return None if stated.which == "few platelets" and enough else "bleeding_disorder"


def _heart(stated: HeartOrPressure) -> str | None:
    high = any(
        read is not None and read >= value(limit)
        for read, limit in ((stated.systolic, "patient.systolic_mmhg"), (stated.diastolic, "patient.diastolic_mmhg"))
    )
    measured = stated.systolic is not None and stated.diastolic is not None
    if stated.which == "pressure":
        return None if measured and not high else "heart_or_pressure"
    return None if stated.recent is False and not high else "heart_or_pressure"


def _allergy(stated: Allergy) -> str:
    if stated.latex == "swelling, wheeze or collapse":
        return "latex_itch" if stated.latex_free else "latex_severe"
    return "latex_itch" if stated.latex == "itch" else "allergy"


def _mouth_opening(stated: MouthOpening) -> str | None:
    enough = stated.opening_mm is not None and stated.opening_mm >= value("patient.mouth_opening_mm")
    return None if enough else "mouth_opening"


def _guardian(stated: Guardian) -> str:
    named = stated.consented_by is not None and stated.consented_on is not None
    return "guardian_agreed" if named else "guardian_asked"


def _blood_thinner(stated: BloodThinner, today: date | None) -> str:
    match stated.which:
        case None:
            return "blood_thinner_not_named"
        case "vitamin-K antagonist":
            return "inr_in_range" if _inr_counts(stated, today) else "inr_out_of_range"
        case "direct anticoagulant":
            return "two_antithrombotics" if stated.recent_stent else "direct_anticoagulant"
        case "one antiplatelet":
            return "one_antiplatelet" if stated.recent_stent is False else "two_antithrombotics"
    return "two_antithrombotics"


def _inr_counts(stated: BloodThinner, today: date | None) -> bool:
    """Return whether the value is under its limit, dated, not said to be unstable, and not too old where today is known."""
    if stated.inr is None or stated.inr_on is None or stated.stable is False or stated.inr >= value("patient.inr_limit"):
        return False
    if today is None:
        return True
    hours = value("patient.inr_stable_hours" if stated.stable else "patient.inr_hours")
    taken = date.fromisoformat(stated.inr_on)
    return taken <= today < taken + timedelta(days=hours / _HOURS_A_DAY)


_CHOOSE: Mapping[FactId, Callable[[Any], str | None]] = {
    "other_stimulator": _stimulator,
    "bone_drugs": _bone_drug,
    "jaw_irradiated": _jaw,
    "poor_healing": _defences,
    "diabetes_uncontrolled": _diabetes,
    "bleeding_disorder": _bleeding,
    "heart_or_pressure": _heart,
    "allergy": _allergy,
    "mouth_opening": _mouth_opening,
    "guardian": _guardian,
}

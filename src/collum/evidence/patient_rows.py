"""What a fact of the patient means for each procedure: the one table that plan, gate, letter and guide go through.

A row gives, in the order of `ACTS`: readings, scalpel in gum, current, flap and bone, movement with cutting of fibres, elective
extraction; and, where it is not open, work under the dam that cuts nothing. `o` open, `n` note, `c` caution, `c!` caution that
a name answers for at the gate, `cov` antibiotic cover, `a` ask: closed until a named physician or clinic has agreed in writing,
`p` postponed (ask; for need in the middle weeks a caution), `l` not for looks, `t` for the orthodontist (ask), `x` closed.
Where nothing is stated of a fact, `UNSTATED` names the row that counts: the strictest that it may be.
"""

from collections.abc import Mapping
from dataclasses import dataclass
from functools import partial
from typing import Literal, get_args

from collum.evidence.registry import Status

Act = Literal["readings", "scalpel", "current", "bone", "movement", "extraction", "restoration"]
Effect = Literal["open", "note", "caution", "confirm", "cover", "ask", "postpone", "not_for_looks", "orthodontist", "closed"]
FactId = Literal[
    "cardiac_device",
    "other_stimulator",
    "cochlear_implant",
    "added_oxygen",
    "jaw_irradiated",
    "poor_healing",
    "diabetes_uncontrolled",
    "bleeding_disorder",
    "endocarditis_risk",
    "heart_or_pressure",
    "pregnant",
    "anaesthetic_reaction",
    "allergy",
    "body_metal",
    "smoking",
    "bone_drugs",
    "blood_thinner",
    "overgrowth_drug",
    "asthma",
    "fainting",
    "mouth_opening",
    "guardian",
]
ACTS: tuple[Act, ...] = get_args(Act)
FACTS: tuple[FactId, ...] = get_args(FactId)
BY_CODE: Mapping[str, Effect] = {
    "o": "open",
    "n": "note",
    "c": "caution",
    "c!": "confirm",
    "cov": "cover",
    "a": "ask",
    "p": "postpone",
    "l": "not_for_looks",
    "t": "orthodontist",
    "x": "closed",
}


@dataclass(frozen=True, slots=True, kw_only=True)
class PatientRow:
    """One row. `fact`: the recorded fact it is a kind of; None: it follows from age, growth or unclassified words.

    `film_first`: a film takes the place of sounding. `no_sounding`: bone is not sounded.
    """

    id: str
    fact: FactId | None
    effects: Mapping[Act, Effect]
    source: str
    status: Status
    film_first: bool = False
    no_sounding: bool = False
    checked: str = "2026-11-30"


def _row(
    row: str,
    fact: FactId | None,
    effects: str,
    source: str,
    status: Status,
    *,
    film_first: bool = False,
    no_sounding: bool = False,
    restoration: str = "o",
) -> PatientRow:
    codes = (*effects.split(), restoration)
    return PatientRow(
        id=row,
        fact=fact,
        effects=dict(zip(ACTS, (BY_CODE[code] for code in codes), strict=True)),
        source=source,
        status=status,
        film_first=film_first,
        no_sounding=no_sounding,
    )


_remembered = partial(_row, source="clinical_teaching", status="memory")
_chosen = partial(_row, source="collum_decision", status="choice")
_JAW: FactId = "jaw_irradiated"

PATIENT_ROWS: tuple[PatientRow, ...] = (
    _chosen("heart_device", "cardiac_device", "o o a o o o"),
    _remembered("stimulator", "other_stimulator", "o o x o o o"),
    _remembered("worn_device", "other_stimulator", "o o a o o o"),
    _remembered("cochlear_implant", "cochlear_implant", "o o x o o o"),
    _row("bone_drug_short", "bone_drugs", "o o o c c c", "bone_drug_years_review", "read"),
    _remembered("bone_drug_long", "bone_drugs", "c o c a a a"),
    _remembered("bone_drug_cancer", "bone_drugs", "c c x x x x", film_first=True),
    _row("jaw_in_field", _JAW, "c c x x x x", "radiation_guideline2024", "read", film_first=True),
    _chosen("jaw_outside_field", _JAW, "o o c a a a"),
    _row("inr_in_range", "blood_thinner", "c c c c c c", "bleeding_guidance", "read"),
    _row("inr_out_of_range", "blood_thinner", "c x x x c x", "bleeding_guidance", "derived", no_sounding=True),
    _row("direct_anticoagulant", "blood_thinner", "o c c c c c", "bleeding_guidance", "read"),
    _remembered("two_antithrombotics", "blood_thinner", "o c c a c a"),
    _chosen("one_antiplatelet", "blood_thinner", "o c c c c c"),
    _chosen("blood_thinner_not_named", "blood_thinner", "c x x x c x", no_sounding=True),
    _row("endocarditis", "endocarditis_risk", "cov cov cov cov cov cov", "endocarditis_guidance", "read", restoration="cov"),
    _remembered("platelets_low", "bleeding_disorder", "x x x x x x"),
    _remembered("bleeding_disorder", "bleeding_disorder", "a a a a a a"),
    _remembered("heart_or_pressure", "heart_or_pressure", "o a a x a a"),
    _chosen("diabetes", "diabetes_uncontrolled", "o c! c! a c! c!"),
    _remembered("weak_defences", "poor_healing", "a a a a a a"),
    _remembered("steroid", "poor_healing", "o c c a o c"),
    _remembered("pregnancy", "pregnant", "o p p x p p"),
    _remembered("asthma", "asthma", "o c c c o c"),
    _remembered("latex_itch", "allergy", "c c c c c c", restoration="c"),
    _remembered("latex_severe", "allergy", "a a a a a a", restoration="c"),
    _remembered("allergy", "allergy", "o c c c c c"),
    _chosen("smoking", "smoking", "o c c c c c"),
    _chosen("smoking_less", "smoking", "o n n n n n"),
    _row("added_oxygen", "added_oxygen", "o o x o o o", "fire_task_force", "read"),
    _remembered("anaesthetic_reaction", "anaesthetic_reaction", "o a a a a a"),
    _remembered("fainting", "fainting", "o c c c c c"),
    _remembered("mouth_opening", "mouth_opening", "o c c c c c"),
    _chosen("guardian_asked", "guardian", "o x x x x x"),
    _chosen("guardian_agreed", "guardian", "o c c c c c"),
    _row("body_metal", "body_metal", "o o c o o o", "return_plate_place", "read"),
    _row("overgrowth_drug", "overgrowth_drug", "o n n n o o", "lengthening_feature", "read"),
    _chosen("growing", None, "o l l a t x"),
    _chosen("unclassified", None, "c x x x x x", no_sounding=True),
)
ROW_OF: Mapping[str, PatientRow] = {row.id: row for row in PATIENT_ROWS}
# Of facts with several rows the strictest that it may be.
_STRICTEST: Mapping[FactId, str] = {
    "other_stimulator": "stimulator",
    "jaw_irradiated": "jaw_in_field",
    "poor_healing": "weak_defences",
    "bleeding_disorder": "bleeding_disorder",
    "allergy": "allergy",
    "smoking": "smoking",
    "bone_drugs": "bone_drug_cancer",
    "blood_thinner": "blood_thinner_not_named",
    "guardian": "guardian_asked",
}


def _unstated(fact: FactId) -> str:
    """Return the row that counts where nothing is stated of a fact: its only one, or the one named for it."""
    rows = [row.id for row in PATIENT_ROWS if row.fact == fact]
    return _STRICTEST[fact] if len(rows) > 1 else rows[0]


UNSTATED: Mapping[FactId, str] = {fact: _unstated(fact) for fact in FACTS}
GROWING_ROW, UNCLASSIFIED_ROW = "growing", "unclassified"
# The numbers that sentences about the rows speak of, by the last parts of their keys.
SAYS_WITH: Mapping[str, tuple[str, ...]] = {
    "why.bone_drug_short": ("patient.bone_drug_years",),
    "why.bone_drug_long": ("patient.bone_drug_years",),
    "why.jaw_in_field": ("patient.jaw_dose_gy",),
    "why.jaw_outside_field": ("patient.jaw_dose_gy",),
    "why.inr_in_range": ("patient.inr_limit",),
    "why.inr_out_of_range": ("patient.inr_limit",),
    "why.platelets_low": ("patient.platelets_closed",),
    "why.bleeding_disorder": ("patient.platelets_asked",),
    "why.heart_or_pressure": ("patient.systolic_mmhg", "patient.diastolic_mmhg"),
    "why.mouth_opening": ("patient.mouth_opening_mm",),
    "why.steroid": ("patient.steroid_mg", "patient.steroid_weeks"),
    "caution.inr_in_range": ("patient.inr_hours", "patient.inr_stable_hours"),
    "caution.inr_out_of_range": ("patient.inr_limit",),
    "caution.pregnancy": ("patient.pregnancy_from_weeks", "patient.pregnancy_to_weeks"),
}

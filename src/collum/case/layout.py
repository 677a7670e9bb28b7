"""The layout of a case file, format number 3 and the ones before it: every key with its shape."""

from collections.abc import Mapping
from typing import get_args

from collum.case.bridge_layout import bridge_shape
from collum.case.decimal_comma import WordForNumber
from collum.case.faults import said
from collum.case.history_layout import CLASSIFIED, GROWTH, HISTORY
from collum.case.layout_parts import ASPECTS, CODE, HISTORY_SINCE, NOT_MEASURABLE, NOTE, SHORT, of_key, ranged
from collum.case.model import TAKEN_AS
from collum.case.reading_kinds import NOT_APPLICABLE, READING_KINDS, READING_ROWS, ReadingRow
from collum.case.shapes import (
    SITE_PATTERN,
    AnyOf,
    BySite,
    Choice,
    Day,
    Flag,
    IsoTooth,
    ListOf,
    Number,
    Shape,
    Table,
    Text,
    Whole,
)
from collum.case.stump_layout import STUMP, WITHOUT_CUTTING
from collum.case.upgrade import CONDITIONS_OF_2
from collum.case.visit_layout import visit_shape
from collum.vocabulary import ROUTES, Cause, Contact, FinishPosition, RequirementId, SmileLine, ToothState

FORMAT_NUMBER = 3
TOOTH_STATES: tuple[str, ...] = get_args(ToothState)
CAUSES: tuple[str, ...] = get_args(Cause)
CONTACTS: tuple[str, ...] = get_args(Contact)
POSITIONS: tuple[str, ...] = get_args(FinishPosition)
REQUIREMENTS = get_args(RequirementId)
VERDICTS = ("kept", "in doubt", "short", "not needed", "closed", "not assessed")

_SITE = Text(3, SITE_PATTERN, said("allowed.site"))


def entry_shape(row: ReadingRow) -> Shape:
    """Return the shape of one entry: what one site may hold for one kind of reading."""
    number = of_key(row.range_key)
    words = (NOT_MEASURABLE, NOT_APPLICABLE) if row.may_not_apply else (NOT_MEASURABLE,)
    detailed = Table(
        {
            "value": number,
            "beyond": number,
            "error": ranged("error_mm"),
            "step": ranged("step_mm"),
            "state": Choice(("before injection", "after injection", "after hygiene phase")),
            "landmark": SHORT,
            "date": Day(),
            "examiner": CODE,
        }
    )
    word = WordForNumber(words, number)
    single = AnyOf({str: word, dict: detailed}, number)
    return AnyOf({str: word, dict: detailed, list: ListOf(single, 8, 1)}, number)


def _sites() -> Table:
    kinds: dict[str, Shape] = {
        row.id: AnyOf({list: ListOf(entry_shape(row), 12, 1)}, BySite(entry_shape(row))) for row in READING_ROWS
    }
    step = ranged("step_mm")
    steps = AnyOf({dict: Table({kind: step for kind in READING_KINDS})}, step)
    return Table({"order": ListOf(_SITE, 12, 1), "step": steps, **kinds}, required=("order",))


def _tooth(number: int) -> Table:
    mm = ranged
    later = {key for since, keys in _TOOTH_SINCE.items() if since > number for key in keys}
    kept: Mapping[str, Shape] = {key: shape for key, shape in RECORDED_TOOTH.items() if key not in later}
    return Table(
        {
            "number": AnyOf({str: Text(20)}, Whole(1, 99)),
            "universal": Whole(1, 32),
            "role": Choice(("crown", "abutment", "neighbour"), taken_as=TAKEN_AS["role"]),
            "vital": Flag(),
            "sound_measured": Flag(),
            "state": Choice(TOOTH_STATES, taken_as=TAKEN_AS["state"]),
            "overgrowth": Table({"cause": Choice(CAUSES), "controlled_since": Day()}, required=("cause",)),
            "site_state": BySite(Choice(TOOTH_STATES)),
            "bleeding": ListOf(_SITE, 12),
            "plaque_percent": mm("percent"),
            "edge_is_level": Flag(),
            "contact": Table({side: Choice(CONTACTS, taken_as=TAKEN_AS[f"contact.{side}"]) for side in ("mesial", "distal")}),
            "sites": _sites(),
            "root": Table({"length_mm": mm("length_mm"), "trunk_mm": mm("trunk_mm")}),
            "restoration": Table(
                {
                    "kind": Choice(
                        ("full crown", "partial crown", "bridge abutment", "onlay"), taken_as=TAKEN_AS["restoration.kind"]
                    ),
                    "occlusal_reduction_mm": mm("reduction_mm"),
                    "axial_reduction_mm": mm("reduction_mm"),
                    "convergence_deg": mm("convergence_deg"),
                    "finish": Table({"position": Choice(POSITIONS), "mm": mm("finish_mm")}, required=("position",)),
                    "visible_zone": Flag(),
                    "planned_edge_mm": mm("planned_edge_mm"),
                }
            ),
            "requirements": ListOf(
                Table(
                    {
                        "id": Choice(REQUIREMENTS),
                        "limit": mm("limit_mm"),
                        "confidence": mm("confidence"),
                        "reason": NOTE,
                    },
                    required=("id", "reason"),
                ),
                len(REQUIREMENTS),
            ),
            "held": Table({"cut": BySite(mm("held_mm")), "finish": BySite(mm("held_mm"))}),
            "own_height_from": ListOf(
                Table(
                    {
                        "tooth": IsoTooth(),
                        "site": _SITE,
                        "margin_to_crest_mm": mm("bone_sounding_mm"),
                        "error_mm": mm("error_mm"),
                    },
                    required=("tooth", "site", "margin_to_crest_mm"),
                ),
                12,
            ),
            **kept,
        }
    )


RECORDED_TOOTH: Mapping[str, Shape] = {
    "attachment_loss_mm": ranged("probing_depth_mm"),
    "furcation": ListOf(
        Table(
            {"side": Choice(ASPECTS), "grade": Whole(0, 4), "scale": SHORT},
            required=("side", "grade", "scale"),
        ),
        4,
    ),
    "mobility": Table({"grade": Whole(0, 3), "scale": SHORT}, required=("grade", "scale")),
    "mobility_rising": Flag(),
    "pulp_test": Choice(("positive", "negative", "doubtful", "not done")),
    "root_filling": Table(
        {
            "quality": Choice(("good", "doubtful", "hopeless")),
            "date": Day(),
            "sound_length_mm": Number(0, ranged("length_mm").high, "mm"),
        }
    ),
    "canal": Table(
        {
            "filling_short_mm": Number(0, ranged("length_mm").high, "mm"),
            "filling_over": Flag(),
            "filling_voids": Flag(),
            "symptoms": Flag(),
            "sinus_tract": Flag(),
            "open_to_saliva_months": ranged("months"),
            "lesion_mm": ranged("lesion_mm"),
            "cleared_on": Day(),
        }
    ),
    "apical_state": Choice(("sound", "lesion", "acute", "unknown")),
    "cracks": Flag(),
    "pain_on_release": Flag(),
    "vertical_root_fracture": Flag(),
    "perforation": Flag(),
    "perforation_restorable": Flag(),
    "ankylosis": Flag(),
    "anchorage": Choice(("present", "none")),
    "mirror_margin_mm": ranged("held_mm"),
    "mirror_healthy": Flag(),
    "mirror_above_cej_mm": ranged("held_mm"),
    "wished_margin_mm": BySite(ranged("held_mm")),
    "caries_restorable": Flag(),
    "core": Table({"present": Flag(), "planned": Flag(), "top_mm": ranged("crown_height_mm")}),
    "proximal_crest_from_film_mm": Table({"mesial": ranged("bone_sounding_mm"), "distal": ranged("bone_sounding_mm")}),
    "contact_point_mm": Table({"mesial": ranged("crown_height_mm"), "distal": ranged("crown_height_mm")}),
    "fracture_depth_mm": BySite(ranged("probing_depth_mm")),
    "bony_ledge": BySite(Flag()),
    "interocclusal_space_mm": Number(0, ranged("limit_mm").high, "mm"),
    "opposing": Choice(("natural", "crown", "bridge", "denture", "implant", "none")),
    "guidance": Choice(("canine", "group", "front", "none", "unknown")),
    "metal": BySite(Flag()),
    "implant_beside": Flag(),
    "restoration_margin_mm": BySite(ranged("held_mm")),
    "bleeding_percent": ranged("percent"),
    "hygiene_phase": Table({"ended_on": Day(), "read_on": Day()}, required=("ended_on",)),
    "old_crown": Table({"failures": Whole(0, 20), "reason": NOTE}),
    "visible_aspects": ListOf(Choice(ASPECTS), 4),
    "scar": Flag(),
    "frenum": Flag(),
    "shallow_vestibule": Flag(),
    "access": Choice(("good", "limited", "poor")),
    "strategic_value": Choice(("low", "usual", "high")),
    **STUMP,
    "two_operations_accepted": Flag(),
    **WITHOUT_CUTTING,
    "cut_by": Choice(("current", "scalpel")),
    "note": NOTE,
}

_TOOTH_SINCE: Mapping[int, tuple[str, ...]] = {
    2: ("perforation_restorable", "ankylosis", "anchorage", "mirror_margin_mm", *STUMP, "two_operations_accepted"),
    3: (
        "canal",
        "mobility_rising",
        "pain_on_release",
        "restoration_margin_mm",
        "bleeding_percent",
        "hygiene_phase",
        "mirror_healthy",
        "mirror_above_cej_mm",
        "wished_margin_mm",
        *WITHOUT_CUTTING,
        "cut_by",
    ),
}

RECORDED_PATIENT: Mapping[str, Shape] = {
    "age_band": Choice(("under 18", "18-39", "40-64", "65 and over")),
    "growing": Flag(),
    "smoking": Choice(("never", "former", "under 10 a day", "10 or more a day")),
    "drugs": ListOf(SHORT, 30),
    "stops": ListOf(SHORT, 30),
    "history": Table(HISTORY),
    "growth": GROWTH,
    "classified": ListOf(CLASSIFIED, 30),
    "hygiene": Choice(("good", "fair", "poor")),
    "bruxism": Choice(("none", "suspected", "certain")),
    "smile_line": Choice(get_args(SmileLine)),
    "wish": NOTE,
}


_PATIENT_SINCE_3 = ("history", "growth", "classified")


def _patient(number: int) -> Mapping[str, Shape]:
    """Return the recorded facts of a patient in a format number: number 2 had conditions, by the ids of their questions."""
    before = {key: shape for key, shape in RECORDED_PATIENT.items() if key not in _PATIENT_SINCE_3}
    if number == HISTORY_SINCE - 1:
        return {**before, "conditions": ListOf(Choice(CONDITIONS_OF_2), len(CONDITIONS_OF_2))}
    return RECORDED_PATIENT if number >= HISTORY_SINCE else before


def _case(number: int) -> Table:
    return Table(_keys(number), required=("format", "patient", "teeth"))


def _keys(number: int) -> Mapping[str, Shape]:
    """Return the top keys of a format number."""
    of_patient = _patient(number)
    return {
        "format": Text(24),
        "units": Table({"length": Choice(("mm",)), "angle": Choice(("deg",))}),
        "invented": Flag(),
        "note": NOTE,
        "expected": Table({"route": Choice(ROUTES), "verdict": Choice(VERDICTS)}, required=("route", "verdict")),
        "patient": Table(
            {
                "reference": CODE,
                "phenotype": Choice(("thin", "thick", "unknown"), taken_as=TAKEN_AS["phenotype"]),
                **of_patient,
            },
            required=("reference",),
        ),
        "teeth": ListOf(_tooth(number), 32, 1),
        "bridges": ListOf(bridge_shape(number), 8),
        "visits": ListOf(visit_shape(number), 200),
    }


LAYOUTS: Mapping[int, Table] = {number: _case(number) for number in range(1, FORMAT_NUMBER + 1)}
CASE = LAYOUTS[FORMAT_NUMBER]

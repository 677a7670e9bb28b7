"""What a route gives up, why it is closed, short or left in doubt, and what would help: facts with typed values, no words.

Decisions are made on these records alone. The sentences that users read are made of them in one place,
`wire/plan/route_sentences.py`, on the way out.
"""

from dataclasses import dataclass
from typing import Literal

from collum.case.reading_kinds import ReadingKind
from collum.evidence.patient_rows import Act
from collum.plan.patient.standing import Standing
from collum.plan.sentence import Sentence

StopId = Literal[
    "vertical_root_fracture",
    "caries_not_restorable",
    "perforation_not_restorable",
    "mobility",
    "root_filling",
    "through_furcation",
]
TreatFirstId = Literal[
    "acute_infection",
    "perforation",
    "crack_at",
    "crack_pain",
    "near_bone_likely",
    "inflamed_site",
    "inflamed_tooth",
    "plaque",
    "bleeding",
]
RouteFactId = Literal["implant_beside", "vertical_defect", "crest_near_junction", "ankylosis", "no_anchorage", "periodontitis"]
# Why a margin is not raised with composite.
ElevationFactId = Literal[
    "front_tooth",
    "no_deep_margin",
    "not_dry",
    "walls_not_standing",
    "margin_too_wide",
    "narrow_seat",
    "seat_too_near_bone",
]
# Why a tooth is not covered in part.
CoverageFactId = Literal["front_tooth_uncovered", "abutment_uncovered", "crown_for_looks", "post_in_tooth", "prepared_before"]
PatientGroundId = Literal["patient", "unclassified"]
GroundId = (
    StopId
    | TreatFirstId
    | RouteFactId
    | ElevationFactId
    | CoverageFactId
    | PatientGroundId
    | Literal["requirement", "thin_wall", "held_too_near_bone"]
)
DoubtId = Literal[
    "cause_not_controlled",
    "cause_not_stated",
    "sound_edge_before_caries_out",
    "sound_edge_not_stated",
    "wall_not_entered",
    "vitality_not_stated",
    "perforation_to_be_restored",
    "attachment_loss",
    "lesion_not_cleared",
    "root_filling_faulty",
    "canal_symptoms",
    "canal_open",
    "dam_not_tried",
    "seat_not_measured",
    "cusps_not_measured",
    "positioned_apically",
]
SetAside = Literal["lesser_route_is_kept", "held_line", "read_first", "failed"]
Way = Literal["bone", "extrusion"]
Ease = Literal["convergence", "grooves", "cut", "bone", "cover", "extrude", "mirror"]


@dataclass(frozen=True, slots=True, kw_only=True)
class Concessions:
    """What a route takes from the dentist's wishes for the preparation. None: as wished.

    `occlusal_reduction_mm`, `convergence_deg`: what the route asks instead. `grooves`: it asks for grooves or boxes.
    `preparation_height_mm`: the height it asks for with grooves, where that is less than without. `opposing_mm`: what is taken
    of an opposing tooth that has over-erupted; `bite_mm`: by how much all opposing contacts together are raised.
    """

    occlusal_reduction_mm: float | None = None
    convergence_deg: float | None = None
    grooves: bool = False
    preparation_height_mm: float | None = None
    opposing_mm: float | None = None
    bite_mm: float | None = None

    @property
    def bite_raised_mm(self) -> float:
        """How much higher the crown may end than was planned."""
        return (self.opposing_mm or 0) + (self.bite_mm or 0)


AS_WISHED = Concessions()


@dataclass(frozen=True, slots=True, kw_only=True)
class Gain:
    """What giving up wishes brings to the requirement that gains most: so much of `lacked_mm`, and what it still lacks. [mm]"""

    requirement: str
    gained_mm: float
    lacked_mm: float
    lacking_mm: float


@dataclass(frozen=True, slots=True, kw_only=True)
class ThinWall:
    """A wall that carries no ferrule at a station (index): what is left of it after reduction, and what is needed."""

    left_mm: float
    needed_mm: float
    station: int


@dataclass(frozen=True, slots=True, kw_only=True)
class Ground:
    """Why a route is closed or short, with the values that belong to this reason; the others are None.

    `requirement`: the rule that is missed, `short_by` in its unit, at a `station` (index). `row`: of the table of the patient,
    which closes `act` by `effect`. `words`: recorded of the patient and not classified. `percent` of sites is over
    `limit_percent`. `to_crest_mm`: from the margin of the present restoration to the crest at `site`;
    `to_cej_mm`: from the junction to the crest there.
    `found`, `limit`: what was found against what is allowed.
    """

    id: GroundId
    requirement: str | None = None
    short_by: float | None = None
    station: int | None = None
    site: str | None = None
    percent: float | None = None
    limit_percent: float | None = None
    to_crest_mm: float | None = None
    to_cej_mm: float | None = None
    words: str | None = None
    row: str | None = None
    act: Act | None = None
    effect: Standing | None = None
    wall: ThinWall | None = None
    found: float | None = None
    limit: float | None = None


@dataclass(frozen=True, slots=True, kw_only=True)
class LeastChange:
    """The least change that would open a route; `id` says which, the values how much. None: does not belong to this change.

    `most_mm`: how much of what lacks this change gives, `lacking_mm`: what lacks even then. `ways`: other routes that would
    help. `asked`: how the preparation is asked to resist better, or what else is done for the look.
    """

    id: str
    short_by: float | None = None
    most_mm: float | None = None
    lacking_mm: float | None = None
    less_mm: float | None = None
    wall_mm: float | None = None
    ways: tuple[Way, ...] | None = None
    asked: tuple[Ease, ...] | None = None


@dataclass(frozen=True, slots=True, kw_only=True)
class Closing:
    """The fact that closes a route, what kind of fact it is, and the least change that would open it."""

    kind: str
    ground: Ground
    least_change: LeastChange


@dataclass(frozen=True, slots=True, kw_only=True)
class Doubt:
    """A finding that leaves a route at best in doubt. `site`, `loss_mm`: of the attachment that is lost."""

    id: DoubtId
    site: str | None = None
    loss_mm: float | None = None


@dataclass(frozen=True, slots=True, kw_only=True)
class Question:
    """Something to find out, with the sentence that asks it. `reading`: the kind to read again, at `site`."""

    id: str
    said: Sentence
    site: str | None = None
    reading: ReadingKind | None = None


@dataclass(frozen=True, slots=True, kw_only=True)
class Remaining:
    """Something that remains of a tooth with no open route: a step by its `id`, or the `change` that would open a way.

    `short_by`: what a route lacks, `most_mm`: how much of it giving up a wish gains. `own_mm`, `usual_mm`: limits.
    """

    id: str
    most_mm: float | None = None
    short_by: float | None = None
    own_mm: float | None = None
    usual_mm: float | None = None
    change: LeastChange | None = None

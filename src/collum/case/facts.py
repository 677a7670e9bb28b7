"""What is recorded of a tooth and of a patient beside readings and wishes.

A field has the name of its key in the case file; None: the key is not in the file.
"""

from collections.abc import Mapping
from dataclasses import dataclass
from typing import Literal

from collum.case.history import Classified, Growth, History
from collum.core.crown.retention import Cement
from collum.vocabulary import Opposing, SmileLine

Aspect = Literal["facial", "mesial", "oral", "distal"]
ProximalSide = Literal["mesial", "distal"]
Bruxism = Literal["none", "suspected", "certain"]


@dataclass(frozen=True, slots=True, kw_only=True)
class Furcation:
    side: Aspect
    grade: int
    scale: str


@dataclass(frozen=True, slots=True, kw_only=True)
class Mobility:
    grade: int
    scale: str


@dataclass(frozen=True, slots=True, kw_only=True)
class RootFilling:
    quality: Literal["good", "doubtful", "hopeless"] | None = None
    date: str | None = None  # ISO 8601
    sound_length_mm: float | None = None


@dataclass(frozen=True, slots=True, kw_only=True)
class Canal:
    """What the root canal shows. `cleared_on`: day since which it is treated, dry and without symptoms.

    `filling_short_mm`: from the end of the filling to the apex on the film; `filling_over`: it passes the apex.
    """

    filling_short_mm: float | None = None
    filling_over: bool | None = None
    filling_voids: bool | None = None
    symptoms: bool | None = None
    sinus_tract: bool | None = None
    open_to_saliva_months: float | None = None
    lesion_mm: float | None = None
    cleared_on: str | None = None  # ISO 8601


@dataclass(frozen=True, slots=True, kw_only=True)
class HygienePhase:
    """The day on which the hygiene phase ended, and the day on which bleeding was read after it; ISO 8601."""

    ended_on: str
    read_on: str | None = None


@dataclass(frozen=True, slots=True, kw_only=True)
class Core:
    """A core build-up: `top_mm` above the margin."""

    present: bool | None = None
    planned: bool | None = None
    top_mm: float | None = None

    @property
    def expected(self) -> bool:
        """Whether the crown will rest on a core."""
        return bool(self.present or self.planned)


@dataclass(frozen=True, slots=True, kw_only=True)
class Proximal:
    """A measure at the mesial and distal side. [mm]"""

    mesial: float | None = None
    distal: float | None = None

    def by_side(self) -> Mapping[ProximalSide, float]:
        """Return the measures that were taken."""
        sides: Mapping[ProximalSide, float | None] = {"mesial": self.mesial, "distal": self.distal}
        return {side: mm for side, mm in sides.items() if mm is not None}


@dataclass(frozen=True, slots=True, kw_only=True)
class Widths:
    """Widths of a cross-section. [mm]"""

    facial_oral: float | None = None
    mesiodistal: float | None = None


@dataclass(frozen=True, slots=True, kw_only=True)
class OldCrown:
    failures: int | None = None
    reason: str | None = None


@dataclass(frozen=True, slots=True, kw_only=True)
class OldStump:
    """The preparation as it was found when the crown came off."""

    height_mm: float | None = None
    convergence_deg: float | None = None
    ferrule_mm: float | None = None
    caries: bool | None = None
    post: bool | None = None
    post_mm: float | None = None
    cement: Cement | None = None


@dataclass(frozen=True, slots=True, kw_only=True)
class ToothFacts:
    """Tables by site: F, MF, M, ML, L, DL, D, DF, or whole degrees as text."""

    attachment_loss_mm: float | None = None
    furcation: tuple[Furcation, ...] | None = None
    mobility: Mobility | None = None
    mobility_rising: bool | None = None
    pulp_test: Literal["positive", "negative", "doubtful", "not done"] | None = None
    root_filling: RootFilling | None = None
    canal: Canal | None = None
    apical_state: Literal["sound", "lesion", "acute", "unknown"] | None = None
    cracks: bool | None = None
    pain_on_release: bool | None = None
    vertical_root_fracture: bool | None = None
    perforation: bool | None = None
    perforation_restorable: bool | None = None
    ankylosis: bool | None = None
    anchorage: Literal["present", "none"] | None = None
    mirror_margin_mm: float | None = None
    mirror_healthy: bool | None = None
    mirror_above_cej_mm: float | None = None
    wished_margin_mm: Mapping[str, float] | None = None
    caries_restorable: bool | None = None
    core: Core | None = None
    proximal_crest_from_film_mm: Proximal | None = None
    contact_point_mm: Proximal | None = None
    fracture_depth_mm: Mapping[str, float] | None = None
    bony_ledge: Mapping[str, bool] | None = None
    interocclusal_space_mm: float | None = None
    opposing: Opposing | None = None
    guidance: Literal["canine", "group", "front", "none", "unknown"] | None = None
    metal: Mapping[str, bool] | None = None
    implant_beside: bool | None = None
    restoration_margin_mm: Mapping[str, float] | None = None
    bleeding_percent: float | None = None
    hygiene_phase: HygienePhase | None = None
    old_crown: OldCrown | None = None
    visible_aspects: tuple[Aspect, ...] | None = None
    scar: bool | None = None
    frenum: bool | None = None
    shallow_vestibule: bool | None = None
    access: Literal["good", "limited", "poor"] | None = None
    strategic_value: Literal["low", "usual", "high"] | None = None
    old_stump: OldStump | None = None
    missing_walls: tuple[str, ...] | None = None  # sites
    neck_width_mm: Widths | None = None
    pulp_width_mm: Widths | None = None
    two_operations_accepted: bool | None = None
    dam_and_matrix: Literal["dry", "not dry"] | None = None
    dentine_seat_mm: Proximal | None = None
    opposing_over_erupted_mm: float | None = None
    bite_raise_mm: float | None = None
    cut_by: Literal["current", "scalpel"] | None = None  # the instrument of a cut in gum alone
    note: str | None = None


@dataclass(frozen=True, slots=True, kw_only=True)
class PatientFacts:
    """`stops`, `drugs`: in the words of whoever wrote them down; `classified`: the drugs that were classified."""

    age_band: Literal["under 18", "18-39", "40-64", "65 and over"] | None = None
    growing: bool | None = None
    smoking: Literal["never", "former", "under 10 a day", "10 or more a day"] | None = None
    drugs: tuple[str, ...] | None = None
    stops: tuple[str, ...] | None = None
    history: History | None = None
    growth: Growth | None = None
    classified: tuple[Classified, ...] | None = None
    hygiene: Literal["good", "fair", "poor"] | None = None
    bruxism: Bruxism | None = None
    smile_line: SmileLine | None = None
    wish: str | None = None

    @property
    def may_grow(self) -> bool:
        """Whether the patient grows, or is of an age at which it has to be taken so."""
        return self.growing is True or self.age_band == "under 18"

"""What is recorded of a case: small frozen records, already checked.

Lengths in mm; what each kind of reading measures, and its sign, is in `reading_kinds`. A site is one of the eight names (F, MF,
M, ML, L, DL, D, DF) or whole degrees written as text ("45").
"""

from collections.abc import Mapping
from dataclasses import dataclass, field
from typing import Literal

from collum.case.bridge import Bridge
from collum.case.facts import PatientFacts, ToothFacts
from collum.case.reading_kinds import ReadingKind
from collum.case.visit import Visit
from collum.vocabulary import Cause, Contact, FinishPosition, Phenotype, Role, RouteName, ToothState, Verdict

SITE_ANGLE_DEG: Mapping[str, int] = {"F": 0, "MF": 60, "M": 90, "ML": 120, "L": 180, "DL": 240, "D": 270, "DF": 300}

# What a key of the case file is taken as where it is left out; taken, never stated: `not_stated` tells the two apart.
TAKEN_AS: Mapping[str, str] = {
    "phenotype": "unknown",
    "role": "crown",
    "state": "unknown",
    "contact.mesial": "tooth",
    "contact.distal": "tooth",
    "restoration.kind": "full crown",
}


@dataclass(frozen=True, slots=True, kw_only=True)
class Reading:
    """One measurement. `beyond`: the true value is greater than `value_mm`. `not measurable`: `value_mm` is None."""

    value_mm: float | None
    step_mm: float
    outcome: Literal["measured", "beyond", "not measurable", "not applicable"] = "measured"
    error_mm: float | None = None
    condition: str | None = None  # "before injection", "after injection", "after hygiene phase"
    landmark: str | None = None
    date: str | None = None  # ISO 8601
    examiner: str | None = None


@dataclass(frozen=True, slots=True, kw_only=True)
class Overgrowth:
    cause: Cause
    controlled_since: str | None = None  # ISO 8601


@dataclass(frozen=True, slots=True, kw_only=True)
class Root:
    length_mm: float | None = None  # cemento-enamel junction to apex
    trunk_mm: float | None = None


@dataclass(frozen=True, slots=True, kw_only=True)
class FinishWish:
    """Where the definitive finish line may lie above the settled margin; below it is negative."""

    position: FinishPosition
    mm: float
    low_mm: float
    high_mm: float | None  # None: open upwards


@dataclass(frozen=True, slots=True, kw_only=True)
class Restoration:
    kind: str = "full crown"
    occlusal_reduction_mm: float | None = None
    axial_reduction_mm: float | None = None
    convergence_deg: float | None = None
    finish: FinishWish | None = None
    visible_zone: bool | None = None
    planned_edge_mm: float | None = None  # planned edge above today's edge


@dataclass(frozen=True, slots=True, kw_only=True)
class RequirementWish:
    """A limit or a confidence changed for this tooth, with its reason."""

    id: str
    limit: float | None = None
    confidence: float | None = None
    reason: str


@dataclass(frozen=True, slots=True, kw_only=True)
class Held:
    """Stations the dentist holds: site -> height above the present gingival margin (a cut 2 mm deep is -2.0). [mm]"""

    cut: Mapping[str, float] = field(default_factory=dict)
    finish: Mapping[str, float] = field(default_factory=dict)


@dataclass(frozen=True, slots=True, kw_only=True)
class MirrorReading:
    """Margin-to-crest distance at a healthy mirror tooth or neighbour, at the same kind of site. [mm]"""

    tooth: int
    site: str
    margin_to_crest_mm: float
    error_mm: float | None = None


@dataclass(frozen=True, slots=True, kw_only=True)
class Tooth:
    number: int  # ISO 3950
    role: Role = "crown"
    vital: bool | None = None
    sound_measured: bool | None = None
    state: ToothState = "unknown"
    overgrowth: Overgrowth | None = None
    site_state: Mapping[str, ToothState] = field(default_factory=dict)
    bleeding: frozenset[str] = frozenset()
    plaque_percent: float | None = None
    sites: tuple[str, ...] = ()  # in the order typed
    steps_mm: Mapping[ReadingKind, float] = field(default_factory=dict)  # stated for a kind; a reading may have its own
    readings: Mapping[ReadingKind, Mapping[str, tuple[Reading, ...]]] = field(default_factory=dict)
    contact_mesial: Contact = "tooth"
    contact_distal: Contact = "tooth"
    root: Root = Root()
    restoration: Restoration = Restoration()
    requirements: tuple[RequirementWish, ...] = ()
    held: Held = Held()
    own_height_from: tuple[MirrorReading, ...] = ()
    edge_is_level: bool = False  # crown heights were read against a stent or a scan, not a landmark
    facts: ToothFacts = ToothFacts()
    not_stated: frozenset[str] = frozenset()  # keys of TAKEN_AS that were left out

    @property
    def may_have_pulp(self) -> bool:
        """Whether the pulp is alive, or may be: nothing was said of it."""
        return self.vital is not False


@dataclass(frozen=True, slots=True, kw_only=True)
class Patient:
    reference: str
    phenotype: Phenotype = "unknown"
    not_stated: frozenset[str] = frozenset()
    facts: PatientFacts = PatientFacts()


@dataclass(frozen=True, slots=True, kw_only=True)
class Expected:
    """The route and the verdict that a demo case is made for."""

    route: RouteName
    verdict: Verdict


@dataclass(frozen=True, slots=True, kw_only=True)
class Case:
    patient: Patient
    teeth: tuple[Tooth, ...]
    invented: bool = False
    bridges: tuple[Bridge, ...] = ()
    visits: tuple[Visit, ...] = ()
    note: str | None = None
    expected: Expected | None = None

    @property
    def last_visit(self) -> Visit | None:
        """The visit that was opened last, by its place in the case: a clock may have been wrong. None: no visit was opened."""
        opened = [visit for visit in self.visits if visit.opened_at is not None]
        return opened[-1] if opened else None


def site_angle_deg(site: str) -> float:
    """Return the angle of a site name or of whole degrees written as text. [deg]"""
    return float(SITE_ANGLE_DEG[site] if site in SITE_ANGLE_DEG else int(site))

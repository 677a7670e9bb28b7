"""Heat and pacing as they leave the program: the wire form `collum-heat/1` and that of the round at the chair.

Shares are parts of an organ's limit (1 is the limit) over a whole round; `low`, `middle` and `high` are bands of what is not
known. They rank pacings: none is a temperature of a patient, none is a setting of a unit.
"""

from typing import Literal

from collum.core.heat import Organ
from collum.core.heat.neck_outline import SectionTissue
from collum.core.heat.pacing_round import DeviationKind, EventKind, Phase
from collum.core.heat.pacing_task import ElectrodeForm, HandPosition, Together
from collum.plan.heat.round_warmth import BandName
from collum.plan.heat.sectors import KeepOutReason
from collum.wire.form import ConstantDocument, SentenceDocument, Wire

HEAT_FORMAT = "collum-heat/1"
Side = Literal["here", "across"]
Outcome = Literal["paced", "fewer passes", "fewer places", "no round", "nothing to stroke", "closed"]


class OrganShareDocument(Wire):
    """Part of its limit an organ uses; the worse of highest rise and dose. `high` decides.

    `worst_deg`, `worst_s`: where and when the organ is warmest in that band, seconds from the start of the round.
    """

    organ: Organ
    low: float
    middle: float
    high: float
    decided_by: Literal["rise", "dose"]
    worst_deg: float
    worst_s: float


class StrokeDocument(Wire):
    """One stroke: position of its sector, its how manieth there, seconds from the start of the round, wait before it.

    `start_s` is with what the hands take. `earliest_s`: when rests and heat alone would allow it, the lower bound; null in a
    round of the record from before hands were reckoned with, whose starts are their own bound.
    """

    sector: int
    number: int
    start_s: float
    end_s: float
    wait_s: float
    earliest_s: float | None = None


class HeatSectorDocument(Wire):
    """A stretch cut in one stroke from `from_deg` to `to_deg`, which is the direction of the stroke.

    Sectors are numbered in the order of work; those that are left out come last. `rest_s`: the least time from the end of its
    first stroke to the start of the next one, `rest_repeat_s` from then on. `hand_position`: null in a round of the record
    from before it was said.
    """

    number: int
    from_deg: float
    to_deg: float
    centre_deg: float
    length_mm: float
    stroke_s: float
    passes: int
    form: ElectrodeForm
    hand_position: HandPosition | None = None
    rest_s: float
    rest_repeat_s: float
    neighbours: list[int]
    tissue_over_bone_mm: float
    remarks: list[SentenceDocument]


class WorkGroupDocument(Wire):
    """Places that are worked on from one hand position with one form of the wire, by the positions of their sectors."""

    hand_position: HandPosition
    form: ElectrodeForm
    sectors: list[int]
    text: SentenceDocument


class KeptOutDocument(Wire):
    reason: KeepOutReason
    from_deg: float
    to_deg: float
    text: SentenceDocument


class PassesDocument(Wire):
    """What a number of passes at every place would ask for; times are null where no round keeps the limits: `worst_share`
    is then by how much the organ passes its limit with the longest waits (2 is twice the limit).

    `middle_duration_s`: what would do in the middle band, to compare with; no such round is ever offered.
    """

    passes: int
    duration_s: float | None
    waiting_s: float | None
    middle_duration_s: float | None
    worst_organ: Organ
    worst_share: float | None


class RoundDocument(Wire):
    """A round with what the hands take; `longest_wait_s`, `together`: null in a round of the record from before they were."""

    strokes: list[StrokeDocument]
    duration_s: float
    waiting_s: float
    longest_wait_s: float | None = None
    together: Together | None = None
    neighbours_apart_s: float | None
    organs: list[OrganShareDocument]


class HandDocument(Wire):
    """The rules of the hand a round was planned with, and what hands, mirror, suction and wire take between two strokes."""

    speed_mm_s: float
    move_s: float
    neighbour_s: float
    longest_wait_s: float
    tolerance_s: float
    position_s: float = 0
    wipe_s: float = 0
    change_s: float = 0


class ToothHeatDocument(Wire):
    """Heat and pacing of one tooth. `round` is null where nothing is stroked or no round keeps the limits.

    Where it is planned with fewer passes or places than asked for, `outcome` says so and `answer` gives the figures; a sector
    that is left out has 0 passes. `groups`: the places in the order of work; where heat allows no group at a stretch, they come
    again. `pulp`: the tooth has a living one, or may have.
    """

    number: int
    universal: int
    name: SentenceDocument
    outcome: Outcome
    passes_asked: int
    answer: list[SentenceDocument]
    sectors: list[HeatSectorDocument]
    kept_out: list[KeptOutDocument]
    hand: HandDocument
    round: RoundDocument | None
    groups: list[WorkGroupDocument] = []
    by_passes: list[PassesDocument]
    reminders: list[SentenceDocument]
    pulp: bool = True  # rounds of the record that were written before it was said


class SectionOutlineDocument(Wire):
    """A closed outline: pairs of distance from the axis and height. `gum` is what stays, `removed` what the cut takes away."""

    tissue: SectionTissue
    side: Side
    points_mm: list[list[float]]


class SectionLimitDocument(Wire):
    """The highest rise above rest an organ may have; its isotherm is drawn beside `levels_degC`."""

    organ: Organ
    rise_degC: float


class SectionOrganDocument(Wire):
    """Where an organ is watched beside the section: its greatest rise over the round as part of its limit, and when."""

    organ: Organ
    side: Side
    share: float
    at_s: float


class HeatSectionDocument(Wire):
    """The rise on a section through the axis over a round, in one band of what is not known; wire form `collum-heat-section/1`.

    Distances from the axis are positive on the side of `station_deg` and negative across; heights are those of the plan,
    coronal positive. Node `row * len(across_mm) + column` lies at `across_mm[column]`, `height_mm[row]`. Its rise over rest at
    the instant `k * every_s` is the sum over s of `amounts_degC[k][s]` times shape s there; `shapes` are those whole numbers,
    16 bits with sign, low byte first, in base64. Nodes in air count as 0, nodes in what is removed as gum that stands.
    """

    format: Literal["collum-heat-section/1"]
    number: int
    station_deg: int
    stations_deg: list[int]
    band: BandName
    across_mm: list[float]
    height_mm: list[float]
    every_s: float
    amounts_degC: list[list[float]]
    shapes: list[str]
    outlines: list[SectionOutlineDocument]
    levels_degC: list[float]
    limits: list[SectionLimitDocument]
    organs: list[SectionOrganDocument]
    note: SentenceDocument


class HeatDocument(Wire):
    format: Literal["collum-heat/1"]
    program_version: str
    units: dict[str, str]
    case_reference: str
    invented: bool
    teeth: list[ToothHeatDocument]
    assumptions: list[SentenceDocument]
    no_card: SentenceDocument
    safety_cleared: bool
    safety_reason: SentenceDocument
    constants: list[ConstantDocument]
    seed: int
    draws: int
    input_sha256: str


class RoundEventDocument(Wire):
    """One line of the log of a round. `at_s` counts on a monotonic clock with any origin."""

    kind: EventKind
    at_s: float
    sector: int | None = None
    lasted_s: float | None = None


class DeviationDocument(Wire):
    kind: DeviationKind
    at_s: float
    sector: int | None
    by_s: float
    text: SentenceDocument


class RoundStateDocument(Wire):
    """The state of the round at the chair: everything follows from plan, log and the present instant.

    A stroke begins when it is said to: in the phase "stroke" it may, and is waited for.
    """

    phase: Phase
    elapsed_s: float
    next_sector: int | None
    due_at_s: float | None
    wait_s: float
    passes_done: list[int]
    strokes_left: int
    touches_s: list[float]
    deviations: list[DeviationDocument]
    text: SentenceDocument

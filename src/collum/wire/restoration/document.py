"""Whether a restoration will hold, as it leaves the program: the wire form `collum-restoration/2`.

Lines have one value for each of `stations_deg`; heights are millimetres in the tooth frame of the plan. Unknown is null, and
`not_assessed` says what would tell. `evidence` names constants, each of which stands under `constants` with source and status.
"""

from typing import Literal

from collum.core.crown.ferrule import Extent, SectorState
from collum.core.crown.old_crown import Cause, Side
from collum.core.crown.retention import Cement
from collum.core.crown.trade_off import PostKind
from collum.core.preparation.gains import ChangeKey
from collum.core.support.support import RatioGrade
from collum.vocabulary import RouteName, Verdict
from collum.wire.form import ConstantDocument, Line, SentenceDocument, Wire
from collum.wire.restoration.parts_document import MaterialDocument, PinsDocument, PostDocument

RESTORATION_FORMAT = "collum-restoration/2"

PartId = Literal["resistance", "preparation_height", "ferrule", "crown_to_root", "attached_area", "furcation"]


class BandDocument(Wire):
    """A figure of the means and where 90 of 100 draws have it. A share has no unit, a height is in mm."""

    value: float
    low: float
    high: float
    limit: float


class PartDocument(Wire):
    """One question of the answer. `probability`: the share of draws in which its rule holds, null where it is not assessed;
    `confidence`: what is asked of it.
    """

    id: PartId
    verdict: Verdict
    probability: float | None
    confidence: float
    band: BandDocument | None
    said: list[SentenceDocument]
    evidence: list[str]


class GainDocument(Wire):
    """One change on an even stump: share of the weakest wall and least resisting area then, tooth it removes.

    All null where the change cannot be made on this stump.
    """

    change: ChangeKey
    weakest_share: float | None
    gained_mm2: float | None
    removed_mm3: float | None
    enough: bool | None
    said: SentenceDocument


class RemediesDocument(Wire):
    """What would make half of every wall resist; null where nothing of that kind does, or nothing is needed."""

    height_mm: float | None
    convergence_deg: float | None
    recut_mm: float | None
    grooves_share: float


class StumpDocument(Wire):
    """The preparation. `resisting_share`: of the wall opposite to each direction the crown may tip in; `asked_share`: of each.

    Mean and least height count where the edge was read, as in the plan.
    """

    top_height_mm: Line
    height_mm: Line
    height_mean_mm: float
    height_least_mm: float
    height_least_deg: float
    height_limit_mm: float
    height_to_width_ratio: float
    height_to_width_least_ratio: float
    convergence_band: Literal["under", "in", "over"]
    wall_mm2: float
    top_mm2: float
    resisting_share: Line
    resisting_mm2: Line
    asked_share: float
    weakest_share: float
    weakest_deg: float
    remedies: RemediesDocument
    gains: list[GainDocument]


class RetentionDocument(Wire):
    """Range of the force that pulls the crown off along its axis. A range of a class of cement, no promise."""

    cement: Cement
    low_n: float
    high_n: float
    evidence: str
    status: str


class SectorDocument(Wire):
    """One of eight sectors, the worst of its stations; null where something in it was not read.

    `loaded`: at least half of it carries the load.
    """

    centre_deg: float
    height_mm: float | None
    wall_left_mm: float | None
    counted_mm: float | None
    covered_deg: float
    loaded: bool
    state: SectorState


class OptimumDocument(Wire):
    """The gain with which the tested teeth were strongest, won by one way under one kind of post."""

    way: Literal["bone", "extrusion"]
    post: PostKind
    gain_mm: float
    ferrule_mm: float
    crown_to_root_ratio: float
    strength_kn: float
    strength_now_kn: float | None
    bounded: bool
    said: SentenceDocument


class FerruleDocument(Wire):
    """`sound_wall`: a vital tooth without core, where a sound wall stands in for the ferrule. `optimum_said`: its limits."""

    wanted_mm: float
    sound_wall: bool
    height_mm: list[float | None]
    sectors: list[SectorDocument]
    covered_deg: float
    least_loaded_mm: float | None
    extent: Extent
    worst_deg: float
    wall_measured: bool
    optimum: list[OptimumDocument]
    optimum_said: list[SentenceDocument]


class RouteRestorationDocument(Wire):
    """The answer on the finish line of one route. `answer`: in short, and what would make it hold.

    `probability`: the share of draws in which every part holds, null where one is not assessed.
    """

    route: RouteName
    route_verdict: Verdict
    verdict: Verdict
    probability: float | None
    answer: list[SentenceDocument]
    would_hold: list[SentenceDocument]
    parts: list[PartDocument]
    finish_line_height_mm: Line
    planned_edge_height_mm: Line | None
    crest_after_height_mm: Line
    facial_oral_mm: float
    mesiodistal_mm: float
    neck_from_case: bool
    convergence_deg: float
    convergence_from: Literal["case", "route", "assumed"]
    grooves: bool
    stump: StumpDocument | None
    stump_absent: SentenceDocument | None
    retention: list[RetentionDocument]
    ferrule: FerruleDocument
    posts: list[PostDocument]
    pins: list[PinsDocument]
    materials: list[MaterialDocument]
    laboratory: list[SentenceDocument]


class FurcationDocument(Wire):
    """Root left above the entrance; negative where it lies bare, or above the finish line."""

    at_deg: float
    crest_before_mm: float
    crest_after_mm: float
    finish_mm: float


class SupportDocument(Wire):
    """Support before and after a route; `norm_ratio` is the handbook ratio of the tooth, shares are of the tooth in health."""

    route: RouteName
    before_ratio: float | None
    after_ratio: float | None
    after_worse_side_ratio: float | None
    norm_ratio: float | None
    grade_before: RatioGrade
    grade_after: RatioGrade
    attached_before_share: float
    attached_after_share: float
    furcations: list[FurcationDocument]
    said: SentenceDocument
    root_from_case: bool
    cej_from_case: bool
    evidence: list[str]


class GroundDocument(Wire):
    """One possible cause; `side` says whether it speaks for it. In order of weight within its side."""

    cause: Cause
    side: Side
    said: SentenceDocument
    evidence: list[str]


class OldCrownDocument(Wire):
    failures: int | None
    grounds: list[GroundDocument]
    said: list[SentenceDocument]


class ToothRestorationDocument(Wire):
    """`routes`: the recommended one, else all with lines; `support`: all with lines. `because` says which, and why."""

    number: int
    universal: int
    name: SentenceDocument
    role: str
    vital: bool | None
    stations_deg: Line
    recommended_route: RouteName | None
    because: SentenceDocument
    routes: list[RouteRestorationDocument]
    support: list[SupportDocument]
    old_crown: OldCrownDocument | None
    old_crown_absent: SentenceDocument | None
    assumed: list[SentenceDocument]
    not_assessed: list[SentenceDocument]


class RestorationsDocument(Wire):
    format: Literal["collum-restoration/2"]
    program_version: str
    units: dict[str, str]
    case_reference: str
    invented: bool
    teeth: list[ToothRestorationDocument]
    limits: list[SentenceDocument]
    safety_cleared: bool
    safety_reason: SentenceDocument
    constants: list[ConstantDocument]
    seed: int
    draws: int
    input_sha256: str

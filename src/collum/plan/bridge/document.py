"""The plan of a bridge as it leaves the program: the wire form `collum-bridge/1`.

Stress, share and deflection come as [low, middle, high]: the three ends of what is published of the ligament's stiffness.
"""

from typing import Literal

from collum.plan.document import ConstantDocument, SentenceDocument, Wire

Three = list[float]
Judged = Literal["met", "below", "not_assessed"]


class UnitDocument(Wire):
    """`share` and `pulled` are null for a pontic; `attached_share` also where the loss of attachment is not known."""

    number: int
    universal: int
    name: SentenceDocument
    carries: bool
    width_mm: float
    place_mm: list[float]
    lever_mm: float
    attached_share: float | None
    loss_from: str
    root_mm: float
    root_from_case: bool
    share_of_chewing: Three | None
    deflection_mm: Three


class RatioDocument(Wire):
    """The ratio within one table; null where the attachment of an abutment is not known. `if_whole`: had none lost any.

    `after`: once the planned routes of the abutments have taken bone; null where none takes any.
    """

    table: str
    ratio: float | None
    after: float | None
    if_whole: float
    status: str


class RuleDocument(Wire):
    id: str
    found: float | None
    limit: float
    verdict: Judged
    evidence: str
    status: str


class ConnectorDocument(Wire):
    """Between two units: size, what the material needs, what lacks (null: not wished), and the worst stress of all loads."""

    between: list[int]
    height_mm: float
    width_mm: float
    area_mm2: float
    needed_area_mm2: float
    needed_height_mm: float
    lacking_area_mm2: float | None
    lacking_height_mm: float | None
    verdict: Judged
    worst_stress_mpa: Three
    evidence: list[str]
    status: list[str]


class RoomDocument(Wire):
    verdict: Literal["enough", "tight", "short", "not_assessed"]
    least_mm: float
    wanted_mm: float
    lacking_mm: float | None
    status: str


class PonticDocument(Wire):
    """Tissue and depth at the five points named in `points`; null where it was not read or could not be measured."""

    number: int
    ridge: Literal["none", "width", "height", "both"] | None
    ridge_is: SentenceDocument
    points: list[str]
    depth_mm: list[float | None] | None
    volume_mm3: float | None
    reserve_mm: float | None
    verdict: Literal["enough", "short", "not_assessed"]
    wanted_mm: float
    lacking_mm: float | None
    hygienic_form_fits: bool | None
    answer: SentenceDocument
    ways_out: list[SentenceDocument]


class PathDocument(Wire):
    number: int
    tilt_deg: float
    reserve_deg: float | None


class AbutmentPlanDocument(Wire):
    """What the plan of the tooth itself says; all null but `reason` where the case holds no plan of it."""

    number: int
    route: str | None
    verdict: str | None
    earliest_final_weeks: float | None
    reason: SentenceDocument


class BridgeDocument(Wire):
    """One bridge. `fault` alone is filled, the rest null or empty, where no plan can be made of it."""

    fault: SentenceDocument | None
    material: str
    units: list[UnitDocument]
    area_verdict: Literal["met", "below", "table_dependent", "not_assessed"] | None
    area_limit: float | None
    ratios: list[RatioDocument]
    rules: list[RuleDocument]
    connectors: list[ConnectorDocument]
    bending_factor: float | None
    imbalance: float | None
    room: RoomDocument | None
    pontics: list[PonticDocument]
    path: list[PathDocument]
    weak_points: list[SentenceDocument]
    what_would_help: list[SentenceDocument]
    not_assessed: list[SentenceDocument]
    assumed: list[SentenceDocument]
    abutments: list[AbutmentPlanDocument]
    earliest_final_weeks: float | None
    earliest: SentenceDocument | None


class BridgesDocument(Wire):
    format: Literal["collum-bridge/1"]
    program_version: str
    units: dict[str, str]
    case_reference: str
    invented: bool
    bridges: list[BridgeDocument]
    safety_cleared: bool
    safety_reason: SentenceDocument
    constants: list[ConstantDocument]
    seed: int
    draws: int
    input_sha256: str

"""The plan of a bridge as it leaves the program: the wire form `collum-bridge/2`.

Stress, share and deflection come as [low, middle, high]: the three ends of what is published of the ligament's stiffness.
"""

from typing import Literal

from collum.plan.bridge.answer import BridgeVerdict
from collum.wire.form import ConstantDocument, SentenceDocument, Wire

Three = list[float]
Judged = Literal["met", "below", "not_assessed"]


class RootDocument(Wire):
    """The root of a tooth by one table; `attached_mm2` is null where the loss of attachment is not known, and for a pontic."""

    table: str
    area_mm2: float
    attached_mm2: float | None
    evidence: str
    status: str


class UnitDocument(Wire):
    """`chewing_share` is null for a pontic; `attached_share` and `loss_mm` also where the loss is not known.

    `width_mm`, `crown_mm` and `neck_width_mm` are the handbook's, for drawing.
    """

    number: int
    universal: int
    name: SentenceDocument
    carries: bool
    width_mm: float
    crown_mm: float
    neck_width_mm: float
    place_mm: list[float]
    lever_mm: float
    attached_share: float | None
    loss_mm: float | None
    loss_from: str
    root_mm: float
    root_from_case: bool
    roots: list[RootDocument]
    chewing_share: Three | None
    deflection_mm: Three


class LoadDocument(Wire):
    """One load case: the load on each unit, what share of it each bears (null for a pontic; below 0 it is pulled), what bends.

    `unit_number`: the number of the tooth bitten on, null for chewing shared over all. `stress_mpa`: of each connector.
    """

    id: Literal["bite", "chewing"]
    unit_number: int | None
    loads_n: list[float]
    share: list[Three | None]
    deflection_mm: list[Three]
    stress_mpa: list[Three]


class RatioDocument(Wire):
    """The ratio within one table; null where the attachment of an abutment is not known. `if_whole_ratio`: had none lost any.

    `after_ratio`: once the planned routes of the abutments have taken bone; null where none takes any.
    """

    table: str
    ratio: float | None
    after_ratio: float | None
    if_whole_ratio: float
    verdict: Judged
    status: str


class BridgeRuleDocument(Wire):
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
    room_mm: float | None
    least_mm: float
    wanted_mm: float
    lacking_mm: float | None
    evidence: str
    status: str


class PonticDocument(Wire):
    """Tissue and depth at the five points named in `points`; null where it was not read or could not be measured.

    `places_mm`: the points on the ridge, towards mesial and towards facial; `across_mm`: the handbook's depth of the tooth.
    """

    number: int
    ridge: Literal["none", "width", "height", "both"] | None
    ridge_is: SentenceDocument
    points: list[str]
    places_mm: list[list[float]]
    across_mm: float
    tissue_mm: list[float | None] | None
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
    """One bridge. `fault` alone is filled, the rest null or empty, where no plan can be made of it.

    `lacks` and `to_weigh` are the two parts of `weak_points`: rules that are not met, and what no rule decides.
    `weakest_position`: of a connector. `imbalance_share`: greatest lack of equilibrium, a share of the load.
    """

    fault: SentenceDocument | None
    verdict: BridgeVerdict | None
    answer: list[SentenceDocument]
    lacks: list[SentenceDocument]
    to_weigh: list[SentenceDocument]
    material: str
    units: list[UnitDocument]
    area_verdict: Literal["met", "below", "table_dependent", "not_assessed"] | None
    area_limit_ratio: float | None
    ratios: list[RatioDocument]
    rules: list[BridgeRuleDocument]
    connectors: list[ConnectorDocument]
    weakest_position: int | None
    weakest_is: SentenceDocument | None
    loads: list[LoadDocument]
    bending_factor: float | None
    imbalance_share: float | None
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
    format: Literal["collum-bridge/2"]
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

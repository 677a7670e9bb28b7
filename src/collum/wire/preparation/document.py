"""A scanned preparation, as its answer leaves the program: the wire form `collum-preparation/2`.

Lines have one value for each of `stations_deg`; null where the section meets no wall. Vectors stand in the coordinates of the
file, `drawn` in those of the tooth: x towards 0 degrees, y towards 90, z along the path, millimetres.
"""

from typing import Literal

from collum.core.preparation.gains import ChangeKey
from collum.core.surface.preparation_surface import RepairKind
from collum.plan.preparation.judged import PartId, Unit
from collum.vocabulary import RouteName, Verdict
from collum.wire.form import ConstantDocument, Line, SentenceDocument, Wire
from collum.wire.restoration.document import RetentionDocument

PREPARATION_FORMAT = "collum-preparation/2"

Gaps = list[float | None]


class MeshFileDocument(Wire):
    """What was read. `extent_mm`: of the whole file along its own axes."""

    format: str
    bytes: int
    facets: int
    vertices: int
    unit: Unit
    extent_mm: Line


class TookDocument(Wire):
    """Seconds for reading the file and for judging what it holds."""

    reading_s: float
    judging_s: float


class FrameDocument(Wire):
    """`path`: unit vector the restoration leaves along; `towards_0` and `towards_90`: where angles count from."""

    path: Line
    path_found: bool
    towards_0: Line
    towards_90: Line
    facial_known: bool
    tooth: int | None


class PreparationPartDocument(Wire):
    id: PartId
    verdict: Verdict
    said: list[SentenceDocument]
    evidence: list[str]


class FinishLineDocument(Wire):
    """`height_mm`: of the line against its mean; `range_mm` from its lowest to its highest point."""

    length_mm: float
    range_mm: float
    height_mm: Gaps
    highest_deg: float
    lowest_deg: float


class UndercutDocument(Wire):
    """`reserve_deg`: by how much the path may still turn, negative where a wall is undercut by as much."""

    area_mm2: float
    steepest_deg: float
    reserve_deg: float


class ChangeDocument(Wire):
    """One change on an even stump of the same measures: more resisting area in the weakest direction, tooth it removes.

    Both null where it cannot be made.
    """

    change: ChangeKey
    gained_mm2: float | None
    removed_mm3: float | None
    said: SentenceDocument


class RemedyDocument(Wire):
    """In the section of the weakest wall: what would make half of it resist; null where nothing of that kind does."""

    height_mm: float | None
    convergence_deg: float | None
    recut_mm: float | None
    said: list[SentenceDocument]


class MeshRepairDocument(Wire):
    kind: RepairKind | Literal["cut", "path_reversed"]
    count: int
    said: SentenceDocument


class DrawnDocument(Wire):
    """A coarse copy of the surface for drawing. `resists`: as the crown tips in the weakest direction, about `pivot_mm`."""

    vertices_mm: list[Line]
    facets: list[list[int]]
    resists: list[bool]
    finish_line_mm: list[Line]
    pivot_mm: Line


class BesidePlanDocument(Wire):
    """The preparation beside what the plan of its tooth took for granted."""

    case_reference: str
    route: RouteName
    planned_height_mm: float
    planned_least_mm: float
    planned_convergence_deg: float
    said: list[SentenceDocument]


class PreparationDocument(Wire):
    format: Literal["collum-preparation/2"]
    program_version: str
    units: dict[str, str]
    file: MeshFileDocument
    took: TookDocument | None
    frame: FrameDocument
    stations_deg: Line
    verdict: Verdict
    answer: list[SentenceDocument]
    parts: list[PreparationPartDocument]
    height_mm: Gaps
    height_mean_mm: float
    height_least_mm: float
    height_least_deg: float
    taper_deg: Gaps
    convergence_deg: Gaps
    convergence_mean_deg: float
    convergence_most_deg: float
    convergence_most_at_deg: float
    convergence_least_deg: float
    convergence_least_at_deg: float
    width_mm: Line
    wall_mm2: float
    top_mm2: float
    volume_mm3: float
    resisting_share: Line
    resisting_mm2: Line
    asked_share: float
    weakest_share: float
    weakest_deg: float
    undercut: UndercutDocument
    finish_line: FinishLineDocument
    remedy: RemedyDocument | None
    changes: list[ChangeDocument]
    retention: list[RetentionDocument]
    beside_plan: BesidePlanDocument | None
    repairs: list[MeshRepairDocument]
    assumed: list[SentenceDocument]
    limits: list[SentenceDocument]
    drawn: DrawnDocument
    constants: list[ConstantDocument]

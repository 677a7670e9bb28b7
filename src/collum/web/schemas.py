"""The wire form of requests and of answers that are no plan; strict, nothing unknown is taken."""

from typing import Annotated, Any, Literal

from pydantic import BaseModel, ConfigDict, Field

from collum.evidence import Kind, Status
from collum.vocabulary import RouteName, Verdict
from collum.web.problems import Code
from collum.wire.plan.document import PlanDocument, RouteDocument
from collum.wording import FacialLetter, PalatalLetter

_MOST_WHOLE = 2**53 - 1  # beyond it a browser could not give the number back, and soon after no database takes it
Seed = Annotated[int | None, Field(ge=0, le=_MOST_WHOLE)]
Revision = Annotated[int, Field(ge=1, le=_MOST_WHOLE)]
Generation = Annotated[int, Field(ge=0, le=_MOST_WHOLE)]
RequestKey = Annotated[str | None, Field(min_length=8, max_length=64)]
_MOST_MM = 40  # no tooth is longer; keeps a line of a client's own within what can be computed with
HeightMm = Annotated[float, Field(ge=-_MOST_MM, le=_MOST_MM)]
Line = Annotated[list[HeightMm], Field(min_length=36, max_length=36)]
Bone = Annotated[list[Annotated[float, Field(ge=0, le=_MOST_MM)]], Field(min_length=36, max_length=36)]

MOST_REVISION = 2**53 - 1


class Wire(BaseModel):
    model_config = ConfigDict(extra="forbid", strict=True, allow_inf_nan=False)


class SessionRequest(Wire):
    link: str = Field(min_length=1, max_length=100)


class SessionAnswer(Wire):
    """`instance` names the server as long as it runs."""

    token: str
    instance: str


class KeptAnswer(Wire):
    browser: str
    name: str


class AboutAnswer(Wire):
    """`kept`: the kept browser this session belongs to. `record_note`: why the record can only be read, in words; else null.

    `facial_letter`, `palatal_letter`: how sites are written.
    """

    program_version: str
    demo: bool
    kept: KeptAnswer | None
    record_note: str | None
    facial_letter: FacialLetter
    palatal_letter: PalatalLetter


class CaseSummaryAnswer(Wire):
    case_id: str
    reference: str
    teeth: list[int]
    universal: list[int]
    invented: bool
    note: str | None
    saved_at: str
    last_verdict: Verdict | None


class DamagedCaseAnswer(Wire):
    """A case whose newest save is damaged. `whole`: numbers of the saves that hold what was written, each to be opened."""

    case_id: str
    reference: str | None
    whole: list[int]
    what: str
    remedy: str


class CasesAnswer(Wire):
    cases: list[CaseSummaryAnswer]
    damaged: list[DamagedCaseAnswer]


class CreateRequest(Wire):
    """`key` is made by the client, once for each case it means to make: sent again it gives the case that was made first."""

    document: dict[str, Any]
    key: RequestKey = None


class CaseAnswer(Wire):
    case_id: str
    revision: int
    saved_at: str
    document: dict[str, Any]


class SaveRequest(Wire):
    base_revision: Revision
    document: dict[str, Any]


class PlanRequest(Wire):
    """`seed` of the draws: without it the one that belongs to the readings."""

    document: dict[str, Any]
    generation: Generation
    seed: Seed = None


class PlanAnswer(Wire):
    generation: int
    plan: PlanDocument


class HoldRequest(Wire):
    line: Literal["cut", "finish"]
    station_deg: float = Field(ge=0, lt=360)
    height_mm: HeightMm


class VerdictRequest(Wire):
    """Lines of one route in the tooth frame; bone taken and movement as the route's plan has them."""

    document: dict[str, Any]
    tooth: int = Field(ge=0, le=31)
    route: RouteName
    cut_line_height_mm: Line
    finish_line_height_mm: Line
    bone_reduction_mm: Bone | None = None
    extrusion_mm: Annotated[float, Field(ge=0, le=_MOST_MM)] = 0
    hold: HoldRequest | None
    generation: Generation
    seed: Seed = None


class VerdictAnswer(Wire):
    generation: int
    route: RouteDocument


class StorePlanRequest(Wire):
    revision: Revision


class StoredPlanAnswer(Wire):
    plan_id: str
    case_id: str
    revision: int
    made_at: str
    program_version: str
    verdicts: list[Verdict]


class StoredPlansAnswer(Wire):
    plans: list[StoredPlanAnswer]


class EvidenceAnswer(Wire):
    key: str
    value: float
    low: float
    high: float
    unit: str
    meaning: str
    source: str
    citation: str
    status: Status
    kind: Kind
    population: str
    checked: str
    used_for: str
    editable_down_to: float | None
    editable_up_to: float | None


class EvidenceListAnswer(Wire):
    evidence: list[EvidenceAnswer]


class ErrorItem(Wire):
    """One error; `page` says it to a person at the screen, without the place."""

    where: str
    what: str
    allowed: str
    value: str | None
    page: str


class ProblemAnswer(Wire):
    type: Code
    title: str
    status: int
    errors: list[ErrorItem]
    id: str


class StaleAnswer(ProblemAnswer):
    """The refusal of a save that started from an old revision; `newest` is the case as it is now.

    `taken_as`: the number under which this very save was stored before others followed it, its answer lost on the way.
    """

    newest: CaseAnswer
    taken_as: int | None


class ChangeAnswer(Wire):
    """One thing that differs between two plans; null where it was absent."""

    what: str
    before: str | None
    after: str | None


class RouteChangeAnswer(Wire):
    verdict: ChangeAnswer
    decides: ChangeAnswer
    requirements: list[ChangeAnswer]


class ComparisonAnswer(Wire):
    """What changed from the first plan of a tooth to the second. A requirement is told as `verdict (chance)`."""

    tooth_number: int
    recommended: ChangeAnswer
    readings: list[ChangeAnswer]
    wishes: list[ChangeAnswer]
    constants: list[ChangeAnswer]
    program: list[ChangeAnswer]
    routes: list[RouteChangeAnswer]

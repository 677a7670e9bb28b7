"""The wire form of requests and answers about safety; the screening itself has the form of `wire/safety/document.py`."""

from typing import Annotated, Any, Literal

from pydantic import Field

from collum.core.tooth import Arch, Side
from collum.evidence import get
from collum.evidence.safety_layers import Instrument
from collum.evidence.safety_rules import Procedure
from collum.web.schemas import RequestKey, Revision, Wire
from collum.web.work_schemas import Passes
from collum.wire.form import SentenceDocument

Agent = Literal["lidocaine", "articaine", "mepivacaine", "prilocaine", "bupivacaine"]
Initials = Annotated[str, Field(pattern=r"^[A-Za-z0-9][A-Za-z0-9._-]{0,23}$")]
_WEIGHT, _ML = get("dose.range.weight_kg"), get("dose.range.ml")
_MG_PER_KG, _MOST_MG = get("dose.range.mg_per_kg"), get("dose.range.most_mg")


class AssessRequest(Wire):
    """`procedure` is the operation that is asked about."""

    document: dict[str, Any]
    procedure: Procedure = "current"


class VisitRequest(Wire):
    base_revision: Revision
    kind: str = Field(min_length=1, max_length=120)
    by: Initials


class OverrideRequest(Wire):
    """`tooth` is its ISO number for a rule about tooth or place, else null. It holds for one `procedure`."""

    base_revision: Revision
    rule: str = Field(min_length=1, max_length=60)
    tooth: int | None
    name: str = Field(min_length=1, max_length=60)
    reason: str = Field(min_length=1, max_length=2000)
    procedure: Procedure = "current"


class CorrectionRequest(Wire):
    """`entry` is taken out of what the record names of the patient; `instead`: the condition it is put down as, else null."""

    base_revision: int = Field(ge=1)
    field: Literal["stops", "drugs", "history"]
    entry: str = Field(min_length=1, max_length=120)
    instead: str | None = Field(max_length=60)
    name: str = Field(min_length=1, max_length=60)
    reason: str = Field(min_length=1, max_length=2000)


class ReadOutRequest(Wire):
    """`list` is the mark of the list that is on the screen; `by` read it out."""

    base_revision: Revision
    list: str = Field(pattern=r"^[0-9a-f]{16}$")
    by: Initials


class TimeOutRequest(Wire):
    """`tooth` is the planned one (ISO); jaw, side and position, from the midline, are what was counted aloud."""

    base_revision: Revision
    procedure: Procedure
    tooth: int = Field(ge=11, le=48)
    jaw: Arch
    side: Side
    position: int = Field(ge=1, le=8)
    instrument: Instrument
    name: str = Field(min_length=1, max_length=60)


class CardRequest(Wire):
    """`tooth` is its position in the plan, `revision` the newest one of the case that the asking side has seen.

    `passes`, `loop`: the round the card is to carry; without `passes`, as many as the thickness of the tissue takes.
    """

    tooth: int = Field(ge=0, le=31)
    revision: Revision
    passes: Passes = None
    loop: bool = False


class CardAnswer(Wire):
    card_id: str
    plan_id: str
    tooth: int
    number: int
    revision: int
    issued_at: str
    counts_until: str | None


class DoseLimitRequest(Wire):
    """`key` is made by the client, once for each limit it means to enter: sent again it gives the limit entered first."""

    agent: Agent
    mg_per_kg: float = Field(ge=_MG_PER_KG.low, le=_MG_PER_KG.high)
    most_mg: float = Field(ge=_MOST_MG.low, le=_MOST_MG.high)
    source: str = Field(min_length=1, max_length=200)
    by: Initials
    key: RequestKey = None


class DoseLimitAnswer(Wire):
    mg_per_kg: float
    most_mg: float
    source: str
    at: str | None
    by: str | None
    text: SentenceDocument


class AgentAnswer(Wire):
    """`limits` are all records of this agent, the last is in force; `conflict` says how far sources disagree."""

    agent: Agent
    name: str
    mg_per_ml: float
    limits: list[DoseLimitAnswer]
    conflict: SentenceDocument | None


class DosesAnswer(Wire):
    agents: list[AgentAnswer]


class GivenRequest(Wire):
    """`mg_per_ml` is the strength of the solution, the usual one where it is left out."""

    agent: Agent
    ml: float = Field(ge=_ML.low, le=_ML.high)
    mg_per_ml: float | None = Field(default=None, gt=0, le=100)


class DoseSumRequest(Wire):
    weight_kg: float = Field(ge=_WEIGHT.low, le=_WEIGHT.high)
    given: list[GivenRequest] = Field(min_length=1, max_length=40)


class AgentDoseAnswer(Wire):
    agent: Agent
    ml: float
    mg: float
    limit_mg: float
    share: float
    left_ml: float


class DoseSumAnswer(Wire):
    """`share` 1 is the limit of all agents together."""

    share: float
    over: bool
    agents: list[AgentDoseAnswer]
    said: list[SentenceDocument]

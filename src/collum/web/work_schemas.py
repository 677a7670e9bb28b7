"""The wire form of requests and answers about heat and the round at the chair."""

from typing import Annotated, Any, Literal

from pydantic import Field

from collum.evidence import get
from collum.plan.heat import BandName
from collum.web.schemas import CaseAnswer, Generation, Revision, Wire
from collum.wire.heat.document import HeatDocument, HeatSectionDocument, RoundStateDocument, ToothHeatDocument

_MOST_PASSES = 9
_LONGEST_S = 3600  # no round and no lead-in lasts an hour
_MOST_MARKS = 400  # sent at once
_LONGEST_LOG = 4000  # the longest round has 72 places times 9 passes; the rest is room for touches
_A_DAY_S = 86_400  # a round that was held up is closed by the end of its day
Passes = Annotated[int | None, Field(ge=1, le=_MOST_PASSES)]
Seconds = Annotated[float, Field(ge=0, le=_LONGEST_S)]


class HandsRequest(Wire):
    """What the hands of this practice take between two strokes, from now on; what is fixed elsewhere stays as it is."""

    position_s: float = Field(ge=0, le=get("pacing.position_s").high)
    wipe_s: float = Field(ge=0, le=get("pacing.wipe_s").high)
    change_s: float = Field(ge=0, le=get("pacing.change_s").high)


class HandsAnswer(Wire):
    """What the hands of this practice take between two strokes: to move hand, mirror and suction to another side, to wipe the
    wire, to put in another form of it. `fixed` names what is set elsewhere than on the page.
    """

    position_s: float
    wipe_s: float
    change_s: float
    fixed: list[str]


class HeatRequest(Wire):
    """`tooth` is its position in `document.teeth`; without `passes`, as many as the thickness of the tissue takes."""

    document: dict[str, Any]
    tooth: int = Field(ge=0, le=31)
    passes: Passes = None
    loop: bool = False
    generation: Generation


class HeatAnswer(Wire):
    generation: int
    heat: HeatDocument


class HeatSectionRequest(HeatRequest):
    """The tooth and the wishes of a heat request, the side of the tooth its section shows on the right, and the band."""

    station_deg: int = Field(ge=0, lt=360)
    band: BandName = "high"


class HeatSectionAnswer(Wire):
    """`section` is null where no round is offered for the tooth."""

    generation: int
    section: HeatSectionDocument | None


class RoundRequest(Wire):
    """`revision` is the newest one of the case that the asking side has seen; the first stroke may begin after `lead_s`."""

    revision: Revision
    tooth: int = Field(ge=0, le=31)
    passes: Passes = None
    loop: bool = False
    lead_s: float = Field(default=0, ge=0, le=60)


MarkKind = Literal["stroke", "metal", "left out", "otherwise", "stopped"]
Key = Annotated[str, Field(min_length=1, max_length=64)]


class Mark(Wire):
    """A line of the log as it happens; `at_s` counts from when the first stroke might begin. By its `key` it is written once.

    "stroke": it was said to begin; `lasted_s` is what it is planned to take. A key such as "stroke 3" is that of a page
    of an earlier version, which marked what its clock had passed: it is kept and does not count as done.

    A touch of metal may come without seconds, to be entered when the round is closed.
    """

    key: Key
    kind: MarkKind
    at_s: Seconds
    sector: int | None = Field(default=None, ge=0, le=71)
    lasted_s: Seconds | None = None


class MarksRequest(Wire):
    round_id: str = Field(max_length=36)
    marks: list[Mark] = Field(max_length=_MOST_MARKS)


class RoundAnswer(Wire):
    """An open round. `now_s`: seconds since its first stroke might begin, below 0 before it.

    `state` follows from that instant and the marks: a stroke counts as taken when it was said to begin. Where the gate
    is closed by now, or no clock can be believed, `halted` says so and `state` is null. `marks`: what the record holds of it,
    in order of time.
    """

    round_id: str
    revision: int
    began_at: str
    now_s: float
    clock: Literal["runs", "was set", "unknown"]
    clock_note: str | None
    halted: list[str]
    heat: ToothHeatDocument
    marks: list[Mark]
    state: RoundStateDocument | None


class RoundsAnswer(Wire):
    """`round` is null where none is open."""

    round: RoundAnswer | None


class EventRequest(Wire):
    """One line of the log as it is confirmed; `at_s` counts from the first stroke."""

    kind: Literal["stroke", "metal", "stopped"]
    at_s: float = Field(ge=0, le=_A_DAY_S)
    sector: int | None = Field(default=None, ge=0, le=71)
    lasted_s: Seconds | None = None


class RoundLogRequest(Wire):
    """`base_revision` is still taken and decides nothing: a round can be ended at whatever revision the case is by then."""

    round_id: str = Field(max_length=36)
    base_revision: Revision = Field(default=1, deprecated=True)
    events: list[EventRequest] = Field(max_length=_LONGEST_LOG)


class RecordedRoundAnswer(Wire):
    """A round as the record holds it. `visit_opened_at` names the visit it ran in; `log` and `state`: as they were confirmed,
    null while it is open.
    """

    round_id: str
    revision: int
    number: int
    began_at: str
    visit_opened_at: str
    ended_at: str | None
    heat: ToothHeatDocument
    marks: list[Mark]
    log: list[EventRequest] | None
    state: RoundStateDocument | None


class RecordedRoundsAnswer(Wire):
    """The newest first."""

    rounds: list[RecordedRoundAnswer]


class RoundLogAnswer(Wire):
    """`case` is the case as it was last saved; ending the round changed nothing of it."""

    case: CaseAnswer
    round: RecordedRoundAnswer

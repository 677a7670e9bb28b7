"""The wire form of requests and answers about heat and the round at the chair."""

from typing import Annotated, Any, Literal

from pydantic import Field

from collum.plan.heat import HeatDocument, RoundStateDocument, ToothHeatDocument
from collum.web.schemas import CaseAnswer, Wire

_MOST_PASSES = 9
_LONGEST_S = 3600  # no round and no lead-in lasts an hour
_MOST_EVENTS = 400
Passes = Annotated[int | None, Field(ge=1, le=_MOST_PASSES)]
Seconds = Annotated[float, Field(ge=0, le=_LONGEST_S)]


class HeatRequest(Wire):
    """`tooth` is its position in `document.teeth`; without `passes`, as many as the thickness of the tissue takes."""

    document: dict[str, Any]
    tooth: int = Field(ge=0, le=31)
    passes: Passes = None
    loop: bool = False
    generation: int = Field(ge=0)


class HeatAnswer(Wire):
    generation: int
    heat: HeatDocument


class RoundRequest(Wire):
    """`revision` is the newest one of the case that the asking side has seen; the first stroke is due after `lead_s`."""

    revision: int = Field(ge=1)
    tooth: int = Field(ge=0, le=31)
    passes: Passes = None
    loop: bool = False
    lead_s: float = Field(default=0, ge=0, le=60)


class RoundAnswer(Wire):
    """A round that was started. `now_s`: seconds since its first stroke was due, below 0 before it.

    `state` follows from that instant alone: a stroke counts as taken when its time is over.
    """

    revision: int
    began_at: str
    now_s: float
    heat: ToothHeatDocument
    state: RoundStateDocument


class RoundsAnswer(Wire):
    """`round` is null where none was started since the program was."""

    round: RoundAnswer | None


class EventRequest(Wire):
    """One line of the log of a round; `at_s` counts from its first stroke."""

    kind: Literal["stroke", "metal", "stopped"]
    at_s: Seconds
    sector: int | None = Field(default=None, ge=0, le=71)
    lasted_s: Seconds | None = None


class RoundLogRequest(Wire):
    base_revision: int = Field(ge=1)
    events: list[EventRequest] = Field(max_length=_MOST_EVENTS)


class RoundLogAnswer(Wire):
    """`case` is the case with the log in the note of its visit; `state` is what the log says of the round."""

    case: CaseAnswer
    state: RoundStateDocument

"""The wire form of how long cases are kept: the rule, the cases past their time, decisions on one."""

from datetime import date
from typing import Annotated

from pydantic import Field

from collum.app.cases.keeping import LEAST_REASON, MOST_REASON, MOST_YEARS
from collum.web.schemas import Wire

Years = Annotated[int, Field(ge=0, le=MOST_YEARS)]
Reason = Annotated[str, Field(min_length=LEAST_REASON, max_length=MOST_REASON)]


class KeptOnAnswer(Wire):
    """The newest decision to keep a case longer."""

    until: str
    reason: str
    at: str
    author: str


class CasePastAnswer(Wire):
    """A case past its time. `until`: the last day it was to be kept, by the rule or by `decided`."""

    case_id: str
    reference: str
    teeth: list[int]
    last_entry_at: str
    until: str
    decided: KeptOnAnswer | None


class KeepingAnswer(Wire):
    """`years`: how long cases are kept after their last entry; 0: no rule. `past`: how many are past their time.

    `cases`: those, for who decides on them; for others none. `may_decide`: whether the user may.
    """

    years: int
    past: int
    may_decide: bool
    cases: list[CasePastAnswer]


class KeepingRequest(Wire):
    """Sets for how many years cases are kept after their last entry; 0 ends the rule."""

    years: Years


class KeepCaseRequest(Wire):
    """Keeps a case until a day to come, whatever the rule says."""

    until: Annotated[date, Field(strict=False)]
    reason: Reason

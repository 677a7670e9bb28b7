"""One thing to know before an operation, and whether it closes the paper: that follows from its outcome alone."""

from dataclasses import dataclass
from typing import Literal

from collum.case.visit import Override, Visit
from collum.evidence.registry import Status
from collum.evidence.safety_rules import CLOSING, OVERRIDABLE, Outcome, Procedure
from collum.plan.sentence import Sentence

PointOutcome = Outcome | Literal["unanswered", "outdated", "contradicted", "open"]
UNANSWERED: tuple[PointOutcome, ...] = ("unanswered", "outdated", "contradicted")


@dataclass(frozen=True, slots=True, kw_only=True)
class Point:
    """One thing to know before an operation. `tooth` is None where it concerns patient, room or visit.

    "outdated": it was answered, but not for the plan there is. "contradicted": two answers of the visit exclude each other.
    `contradiction` says that the record and the answer differ; the stricter is `outcome`. `to_physician`: it belongs into the
    letter.
    """

    rule: str
    group: str
    where: str
    outcome: PointOutcome
    sentence: Sentence
    contradiction: Sentence | None = None
    answer: str | None = None
    tooth: int | None = None
    override: Override | None = None
    to_physician: bool = False
    source: str | None = None
    status: Status | None = None

    @property
    def sentences(self) -> tuple[Sentence, ...]:
        """What is said: why there is a point, and where the record and the answer differ."""
        return (self.sentence,) if self.contradiction is None else (self.sentence, self.contradiction)

    @property
    def overridable(self) -> bool:
        """Whether somebody may answer for it by name, reason and time: a caution, never a stop or an "ask"."""
        return self.outcome in OVERRIDABLE

    @property
    def closes(self) -> bool:
        """Whether the paper stays closed because of it."""
        if self.overridable:
            return self.override is None
        return self.outcome in (*UNANSWERED, "open") or self.outcome in CLOSING


def override_of(
    visit: Visit, rule: str, procedure: Procedure, *, tooth: int | None = None, plan: str | None = None
) -> Override | None:
    """Return who answers for a rule in this visit: the last to say so, not before it was opened, for `plan` if named."""
    found = [
        override
        for override in visit.overrides or ()
        if (override.rule, override.tooth, override.holds_for) == (rule, tooth, procedure)
        and override.at >= str(visit.opened_at)
        and plan in (None, override.given_for)
    ]
    return found[-1] if found else None

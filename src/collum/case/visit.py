"""A visit: when it was opened, what was answered, and overrides by name. None: the key is not in the file.

Answers and marks are tables by the id of their rule. Moments are UTC, ISO 8601.
"""

from collections.abc import Mapping
from dataclasses import dataclass, field
from typing import Literal

NOT_WRITTEN: Mapping[str, bool] = {"written": False}  # metadata of a field that is not a key of the file
BY_CURRENT = "current"


@dataclass(frozen=True, slots=True, kw_only=True)
class ToothAnswers:
    """`given_for`: the mark of the plan that an answer which speaks of the cut was given for."""

    number: int
    answers: Mapping[str, str]
    given_for: Mapping[str, str] | None = None


@dataclass(frozen=True, slots=True, kw_only=True)
class Override:
    """A person answers for one rule, by name and with a reason; `tooth` for a rule of one tooth.

    It holds for one `procedure`. `given_for` is the mark of the plan it was given for, where the rule speaks of the cut.
    """

    rule: str
    procedure: str | None = None
    tooth: int | None = None
    name: str
    reason: str
    at: str
    given_for: str | None = None

    @property
    def holds_for(self) -> str:
        """The procedure; one that names none was given for the cut by current."""
        return self.procedure or BY_CURRENT


@dataclass(frozen=True, slots=True, kw_only=True)
class Correction:
    """An entry of `stops`, `drugs` or `history` that was taken out by name; `instead`: the fact it became."""

    field: str
    entry: str
    instead: str | None = None
    name: str
    reason: str
    at: str


@dataclass(frozen=True, slots=True, kw_only=True)
class Roles:
    """Codes of who does what."""

    operator: str | None = None
    suction: str | None = None
    plate: str | None = None

    def of(self, role: str) -> str:
        """Return the code of a role, "" if there is none."""
        found: Mapping[str, str | None] = {"operator": self.operator, "suction": self.suction, "plate": self.plate}
        return found[role] or ""


@dataclass(frozen=True, slots=True, kw_only=True)
class AnsweredBy:
    """Codes of who answered each layer of the screening."""

    agreement: str | None = None
    history: str | None = None
    tooth: str | None = None
    room: str | None = None

    def of(self, layer: str) -> str:
        """Return the code of a layer, "" if there is none."""
        return getattr(self, layer) or ""


@dataclass(frozen=True, slots=True, kw_only=True)
class ReadOut:
    """The list of drugs and illnesses was read out, as the mark `list` names it."""

    list: str
    by: str
    at: str


@dataclass(frozen=True, slots=True, kw_only=True)
class TimeOut:
    """After the anaesthetic the tooth was counted aloud, with its side and the instrument, for the plan `given_for`."""

    tooth: int
    side: Literal["right", "left"]
    instrument: Literal["electrode", "scalpel"]
    name: str
    at: str
    given_for: str


@dataclass(frozen=True, slots=True, kw_only=True)
class Visit:
    """`index` is its place in the case. `opened_at`: None where no program opened it.

    `given_for`: the mark of the plan that an answer about patient or room which speaks of the cut was given for. `list_before`:
    the mark of the list of drugs and illnesses when the visit was opened.
    """

    index: int = field(metadata=NOT_WRITTEN)
    date: str
    kind: str
    note: str | None = None
    by: str | None = None
    opened_at: str | None = None
    screening: Mapping[str, str] | None = None
    teeth: tuple[ToothAnswers, ...] | None = None
    room: Mapping[str, str] | None = None
    given_for: Mapping[str, str] | None = None
    roles: Roles | None = None
    plate_contact_cm2: float | None = None
    overrides: tuple[Override, ...] | None = None
    corrections: tuple[Correction, ...] | None = None
    answered_by: AnsweredBy | None = None
    list_before: str | None = None
    read_out: ReadOut | None = None
    time_outs: tuple[TimeOut, ...] | None = None

    def of_tooth(self, number: int) -> ToothAnswers:
        """Return what was answered for a tooth; without an answer where nothing was."""
        nothing = ToothAnswers(number=number, answers={})
        return next((answered for answered in self.teeth or () if answered.number == number), nothing)

    def named_for(self, layer: str) -> str:
        """Return the code of who answered a layer, "" if there is none."""
        return "" if self.answered_by is None else self.answered_by.of(layer)

    def in_role(self, role: str) -> str:
        """Return the code of who does what, "" if there is none."""
        return "" if self.roles is None else self.roles.of(role)

"""What the record gives back: small frozen records, and the three ways a request to it can fail.

Times are UTC, ISO 8601, with the name of the practice's zone beside them. A revision's order is its number, never its time.
"""

import errno
import re
from collections.abc import Mapping
from dataclasses import dataclass
from typing import Literal

StorageTrouble = Literal[
    "behind",
    "busy",
    "cannot_open",
    "damaged",
    "full",
    "locked",
    "missing",
    "moved",
    "newer_version",
    "not_a_database",
    "other_record",
    "read_only",
    "write_failed",
]
_SHOWN_OF_SEAL, _SHORT_OF_SEAL = 16, 8
_HEAD = re.compile(r"([0-9]{1,12})-([0-9a-f]{8,64})")
_OF_SYSTEM: Mapping[int, StorageTrouble] = {
    errno.ENOSPC: "full",
    errno.EDQUOT: "full",
    errno.EROFS: "read_only",
    errno.EACCES: "cannot_open",
    errno.EPERM: "cannot_open",
    errno.ENOENT: "cannot_open",
    errno.ENOTDIR: "cannot_open",
    errno.EEXIST: "cannot_open",
}


@dataclass(frozen=True, slots=True, kw_only=True)
class Stamp:
    """Identity, time and author of something about to be written."""

    id: str
    at: str
    zone: str
    author: str

    def columns(self, at: str = "at") -> dict[str, str]:
        """Return time, zone and author as columns; `at` is the name of the first."""
        return {at: self.at, "zone": self.zone, "author": self.author}


@dataclass(frozen=True, slots=True, kw_only=True)
class Revision:
    """One saved state of a case. `document` is canonical JSON, `sha256` its hash, `parent_id` the revision it was made from."""

    id: str
    case_id: str
    number: int
    parent_id: str | None
    saved_at: str
    zone: str
    author: str
    document: str
    sha256: str

    @property
    def by(self) -> dict[str, str]:
        """When and by whom it was saved, for the events that tell of it."""
        return {"at": self.saved_at, "zone": self.zone, "author": self.author}


@dataclass(frozen=True, slots=True, kw_only=True)
class CaseDamage:
    """A case of which some revisions do not hold what was written. `damaged` and `whole`: their numbers."""

    case_id: str
    damaged: tuple[int, ...]
    whole: tuple[int, ...]
    last_whole: Revision | None


@dataclass(frozen=True, slots=True, kw_only=True)
class PlanContent:
    """A plan about to be stored. `constants` and `result` are JSON, `verdicts` one word for each planned tooth."""

    seed: int
    draws: int
    program_version: str
    plan_format: str
    verdicts: tuple[str, ...]
    constants: str
    result: str


@dataclass(frozen=True, slots=True, kw_only=True)
class PlanSummary:
    """What a stored plan is, without its content; `sha256` is the hash of that content."""

    id: str
    case_id: str
    revision_id: str
    revision_number: int
    made_at: str
    zone: str
    author: str
    seed: int
    draws: int
    program_version: str
    plan_format: str
    verdicts: tuple[str, ...]
    sha256: str


@dataclass(frozen=True, slots=True, kw_only=True)
class StoredPlan(PlanSummary):
    """A plan as it was when it was stored: printed from here, never recomputed."""

    constants: str
    result: str


@dataclass(frozen=True, slots=True, kw_only=True)
class CardGround:
    """What a card would rest on, seen in one transaction: the newest revision of the case, the plan with the revision it was
    made from, and the latest time written in the record since the last visit of the case was opened (empty: none was).

    A hash tells damage of these rows, not intent: until the record is sealed, a stop edited out with its hash made anew goes
    unseen.
    """

    newest: Revision
    planned: Revision
    plan: StoredPlan
    newest_entry: str


@dataclass(frozen=True, slots=True, kw_only=True)
class Card:
    """A card that was issued: for the tooth at position `tooth` of a plan, by a decision (JSON) on a revision of the case.

    `heat`: the round it carries (JSON); None on a card of a program that put none on it.
    """

    id: str
    plan_id: str
    revision_id: str
    tooth: int
    decision: str
    sha256: str
    issued_at: str
    zone: str
    author: str
    heat: str | None


@dataclass(frozen=True, slots=True, kw_only=True)
class DoseLimitEntry:
    """A limit as a practice entered it; the last one of an agent is in force."""

    id: str
    agent: str
    mg_per_kg: float
    most_mg: float
    source: str
    entered_by: str
    entered_at: str
    zone: str


@dataclass(frozen=True, slots=True, kw_only=True)
class RoundStart:
    """A round about to be started. `heat`: the round as it was planned (JSON); its first stroke is due at `first_stroke_at`
    by the clock of the day (UTC) and at `first_stroke_s` by the clock of this machine that is never set. [s]
    """

    tooth: int
    visit_opened_at: str
    heat: str
    first_stroke_at: str
    first_stroke_s: float


@dataclass(frozen=True, slots=True, kw_only=True)
class RoundMark:
    """A line of the log as it happened, seconds from the first stroke. By its key, the sender's, it is written once only."""

    key: str
    kind: str
    at_s: float
    sector: int | None
    lasted_s: float | None


@dataclass(frozen=True, slots=True, kw_only=True)
class RoundEnd:
    """How a round ended: `log` and `state` are JSON as written, `revision_id` is the newest of the case at that moment."""

    revision_id: str
    log: str
    state: str
    ended_at: str


@dataclass(frozen=True, slots=True, kw_only=True)
class RecordedRound(RoundStart):
    """A round as it stands in the record: what was marked while it ran, in order of time, and its end where it has one."""

    id: str
    case_id: str
    revision_id: str
    revision_number: int
    sha256: str
    started_at: str
    zone: str
    author: str
    marks: tuple[RoundMark, ...]
    end: RoundEnd | None


@dataclass(frozen=True, slots=True, kw_only=True)
class ChainHead:
    """Number and seal of the last event of a chain. Of a head copied from elsewhere `seal` may be its first letters alone."""

    number: int
    seal: str

    @property
    def shown(self) -> str:
        """The head as papers, backups and checks name it: `120-3fa9c04d51b2e6a7`."""
        return f"{self.number}-{self.seal[:_SHOWN_OF_SEAL]}"

    @property
    def short(self) -> str:
        """The head as it is printed where there is little room."""
        return f"{self.number}-{self.seal[:_SHORT_OF_SEAL]}"


def head_of_text(written: str) -> ChainHead:
    """Return the head that `shown`, or a part of it by hand, says. Raises ValueError."""
    found = _HEAD.fullmatch(written.strip().lower())
    if found is None:
        raise ValueError("no head of a trail")
    return ChainHead(number=int(found[1]), seal=found[2])


class CaseDeleted(Exception):
    """The case was deleted: its key is gone, and nothing of it can be read."""


class RoundOpen(Exception):
    """A round of this case has not ended; a second one is not started."""


class RoundEnded(Exception):
    """The round has ended; nothing is added to it."""


class StaleRevision(Exception):
    """A write started from a revision that is no longer the newest; `newest` is the one that is.

    `taken_as`: the number under which this very save was stored before others followed it, its answer lost on the way.
    """

    def __init__(self, newest: Revision, taken_as: int | None = None) -> None:
        self.newest = newest
        self.taken_as = taken_as
        super().__init__(f"revision {newest.number} is newer")


class UnknownRecord(LookupError):
    """Nothing of this kind is stored under this id."""

    def __init__(self, kind: Literal["case", "revision", "plan", "round", "attachment"]) -> None:
        self.kind = kind
        super().__init__(f"no {kind} under this id")


class StorageError(Exception):
    """The record cannot be read or written; `trouble` says why. Nothing of the failed request was written."""

    def __init__(self, trouble: StorageTrouble) -> None:
        self.trouble: StorageTrouble = trouble
        super().__init__(trouble)


class DamagedCase(StorageError):
    """What was asked of a case is damaged; `damage` says what, and what of it is whole."""

    def __init__(self, damage: CaseDamage) -> None:
        self.damage = damage
        super().__init__("damaged")


def storage_error(error: OSError) -> StorageError:
    """Return in our words what the system said of a file."""
    return StorageError(_OF_SYSTEM.get(error.errno or 0, "write_failed"))

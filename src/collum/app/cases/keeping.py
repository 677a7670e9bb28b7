"""How long cases are kept: a rule that the practice sets, who is past it, and decisions of an owner on each.

Nothing is ever deleted by the rule: it tells which cases to decide on. No number of years is built in, for the law of the place
and the rules of the profession set it. No date of birth is recorded, so that longer times for minors are decided by hand.
"""

import json
from collections.abc import Mapping
from dataclasses import dataclass
from datetime import date

from collum.app.cases.case_store import CaseStore
from collum.app.environment import Environment, utc_text
from collum.app.record.stamp import stamp_of
from collum.records import Revision
from collum.records.keeping import KeptCase

MOST_YEARS = 100
LEAST_REASON, MOST_REASON = 3, 200


class NotToCome(ValueError):
    """The day until which a case is to be kept is none that is still to come."""


class UnfitReason(ValueError):
    """A reason is shorter than LEAST_REASON characters or longer than MOST_REASON."""


@dataclass(frozen=True, slots=True, kw_only=True)
class CaseKept:
    """A case, the moment of its last entry, and the last day it is kept: by the rule, or a later one by `decided`."""

    case_id: str
    reference: str
    teeth: tuple[int, ...]
    last_entry_at: str
    until: str
    past: bool
    decided: KeptCase | None


@dataclass(frozen=True, slots=True, kw_only=True)
class KeepingNow:
    """`years`: the rule, 0 where there is none; `cases`: every case that is whole, the one longest past its time first."""

    years: int
    cases: tuple[CaseKept, ...]

    @property
    def past(self) -> tuple[CaseKept, ...]:
        """The cases that are past their time."""
        return tuple(case for case in self.cases if case.past)


class KeepingDesk:
    """Tells which cases are past their time, and keeps what the practice decides. For several threads."""

    def __init__(self, environment: Environment, store: CaseStore) -> None:
        self._environment = environment
        self._store = store

    def now(self) -> KeepingNow:
        """Return the rule and its effect today; no case without a rule. Raises StorageError."""
        rule = self._store.keeping.rule()
        if rule is None or rule.years == 0:
            return KeepingNow(years=0, cases=())
        last, decided, today = self._store.keeping.last_entries(), self._store.keeping.decisions(), self._today()
        found = [
            _case_kept(revision, last, decided.get(revision.case_id), rule.years, today)
            for revision in self._store.newest_revisions()
            if isinstance(revision, Revision)
        ]
        return KeepingNow(years=rule.years, cases=tuple(sorted(found, key=lambda case: (case.until, case.case_id))))

    def set_rule(self, years: int) -> None:
        """Keep cases for so many years after their last entry; 0 ends the rule. Raises ValueError, StorageError."""
        if not 0 <= years <= MOST_YEARS:
            raise ValueError(years)
        self._store.keeping.set_rule(years, stamp_of(self._environment))

    def keep(self, case_id: str, until: date, reason: str) -> None:
        """Keep a case until a day, whatever the rule says. Raises NotToCome, UnfitReason, UnknownRecord, CaseDeleted."""
        if until.isoformat() <= self._today():
            raise NotToCome
        if not LEAST_REASON <= len(reason.strip()) <= MOST_REASON:
            raise UnfitReason
        self._store.keeping.keep(case_id, until.isoformat(), reason.strip(), stamp_of(self._environment))

    def _today(self) -> str:
        return utc_text(self._environment.now())[:10]


def kept_until(last_entry_at: str, years: int, decided_until: str | None = None) -> str:
    """Return the last day a case is kept: the same day so many years later, or a later day that was decided on.

    An entry of 29 February is kept until 1 March of a year that has no such day.
    """
    entry = date.fromisoformat(last_entry_at[:10])
    year = min(entry.year + years, date.max.year)
    try:
        by_rule = entry.replace(year=year)
    except ValueError:
        by_rule = date(year, 3, 1)
    return max(by_rule.isoformat(), decided_until or "")


def _case_kept(revision: Revision, last: Mapping[str, str], decided: KeptCase | None, years: int, today: str) -> CaseKept:
    document = json.loads(revision.document)
    last_entry_at = last.get(revision.case_id, revision.saved_at)
    until = kept_until(last_entry_at, years, None if decided is None else decided.until)
    return CaseKept(
        case_id=revision.case_id,
        reference=document["patient"]["reference"],
        teeth=tuple(tooth["number"] for tooth in document["teeth"]),
        last_entry_at=last_entry_at,
        until=until,
        past=until < today,
        decided=decided,
    )

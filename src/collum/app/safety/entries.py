"""Use cases of a visit: open it, read the list out, count the tooth, answer for a rule by name, correct the record.

Each writes into the visit what no save may bring in.
"""

import json
from typing import Any

from collum.app.cases.case_store import CaseStore
from collum.app.chair.visits import (
    free_second,
    with_correction,
    with_override,
    with_place_for_correction,
    with_read_out,
    with_time_out,
    with_visit,
)
from collum.app.environment import Environment, utc_text
from collum.app.record.stamp import stamp_of
from collum.app.safety.counted import Counted, check_counted
from collum.app.safety.gate import NotCleared, moment_of
from collum.case import canonical_json, from_document, to_document, todays
from collum.case.shapes import Json
from collum.case.visit import Visit
from collum.evidence.safety_rules import OVERRIDES_OF_PLAN, Procedure
from collum.plan.patient.answers import carried, list_mark
from collum.plan.safety import Screening, screen
from collum.records import Revision


class NothingToOverride(LookupError):
    """The rule is not closed in the visit that counts."""


class NotReadOut(ValueError):
    """The list was not read out; `trouble` says why: "another_list" or "asked_in_full"."""

    def __init__(self, trouble: str) -> None:
        self.trouble = trouble
        super().__init__(trouble)


class NothingToCorrect(LookupError):
    """The record has no such entry."""


class VisitDesk:
    """The use cases of a visit, over one store and one environment."""

    def __init__(self, environment: Environment, store: CaseStore) -> None:
        self._environment = environment
        self._store = store

    def open_visit(self, case_id: str, *, base_revision: int, kind: str, by: str) -> Revision:
        """Add a visit that is opened now, nothing answered. Raises UnknownRecord, StaleRevision, CaseFaults."""
        document = self._document(case_id, base_revision)
        opened_at = utc_text(free_second(document, self._environment.now()))
        visit = {"date": opened_at[:10], "kind": kind, "by": by, "opened_at": opened_at}
        with_it = with_visit(document, visit)
        before = list_mark(from_document(with_it))
        return self._saved(case_id, base_revision, with_visit(document, {**visit, "list_before": before}))

    def read_out(self, case_id: str, *, base_revision: int, list: str, by: str) -> Revision:
        """Enter that the list of drugs and illnesses was read out, as the mark `list` names it, with what changed.

        Raises NotReadOut where it is another list by now or the history has to be asked in full, NotCleared where no visit
        counts, UnknownRecord, StaleRevision, CaseFaults.
        """
        document, screening = self._asked_now(case_id, base_revision, "current")
        case = from_document(document)
        if carried(case).taken_at is None:
            raise NotReadOut("asked_in_full")
        if list != list_mark(case):
            raise NotReadOut("another_list")
        entry = {"list": list, "by": by, "at": self._at(screening)}
        return self._saved(case_id, base_revision, with_read_out(document, _visit_of(screening).index, entry))

    def time_out(self, case_id: str, *, base_revision: int, procedure: Procedure, counted: Counted, name: str) -> Revision:
        """Enter the time-out of a tooth after the anaesthetic, where nothing else keeps its paper closed.

        Raises WrongTimeOut where another tooth was counted or another instrument named than the procedure needs, NotCleared,
        UnknownRecord, StaleRevision, CaseFaults.
        """
        document, screening = self._asked_now(case_id, base_revision, procedure)
        of_tooth = screening.of_tooth(counted.planned)
        if not of_tooth.ready and not of_tooth.cleared:
            raise NotCleared(of_tooth)
        check_counted(counted, procedure)
        entry = {
            "tooth": counted.planned,
            "side": counted.side,
            "instrument": counted.instrument,
            "name": name,
            "at": self._at(screening),
            "given_for": screening.plan,
        }
        return self._saved(case_id, base_revision, with_time_out(document, _visit_of(screening).index, entry))

    def override(
        self,
        case_id: str,
        *,
        base_revision: int,
        rule: str,
        tooth: int | None,
        name: str,
        reason: str,
        procedure: Procedure = "current",
    ) -> Revision:
        """Let somebody answer for a caution that closes a procedure, in the visit that counts.

        A stop and what a physician has to answer cannot be answered for. Raises NotCleared where the rule is one of these or
        nothing was answered, NothingToOverride where it is not closed, UnknownRecord, StaleRevision, CaseFaults.
        """
        document, screening = self._screened(case_id, base_revision, procedure)
        closed = [point for point in screening.closing if (point.rule, point.tooth) == (rule, tooth)]
        if screening.visit is None or not closed:
            raise NothingToOverride
        if _aged(screening) or not closed[0].overridable:
            raise NotCleared(screening)
        override: dict[str, Any] = {"rule": rule, "name": name, "reason": reason, "at": self._at(screening)}
        if procedure != "current":
            override["procedure"] = procedure
        if tooth is not None:
            override["tooth"] = tooth
        if rule in OVERRIDES_OF_PLAN:
            override["given_for"] = screening.plan
        return self._saved(case_id, base_revision, with_override(document, screening.visit.index, override))

    def correct(
        self, case_id: str, *, base_revision: int, field: str, entry: str, instead: str | None, name: str, reason: str
    ) -> Revision:
        """Take an entry out of what the record names of the patient, by name and reason; no visit has to be opened for it.

        `field` is "stops", "drugs" or "history"; `instead`: the fact the entry is put down as. Raises NothingToCorrect
        where the record has no such entry, UnknownRecord, StaleRevision, CaseFaults.
        """
        document = self._document(case_id, base_revision)
        if entry not in document["patient"].get(field, ()):
            raise NothingToCorrect
        now = self._environment.now()
        document, index = with_place_for_correction(document, now)
        at = max(utc_text(now), document["visits"][index].get("opened_at", ""))
        correction = {"field": field, "entry": entry, "name": name, "reason": reason, "at": at}
        if instead is not None:
            correction["instead"] = instead
        return self._saved(case_id, base_revision, with_correction(document, index, correction))

    def _screened(self, case_id: str, revision: int, procedure: Procedure) -> tuple[Json, Screening]:
        """Return the document of a revision and its screening, now."""
        document = self._document(case_id, revision)
        entry = self._store.newest_with_entry(case_id)[1]
        now = self._environment.now()
        return document, screen(from_document(document), procedure, now=now, newest_entry=moment_of(entry))

    def _asked_now(self, case_id: str, revision: int, procedure: Procedure) -> tuple[Json, Screening]:
        """Return the same where a visit counts now. Raises NotCleared."""
        document, screening = self._screened(case_id, revision, procedure)
        if screening.visit is None or _aged(screening):
            raise NotCleared(screening)
        return document, screening

    def _at(self, screening: Screening) -> str:
        """Return the moment of an entry in the visit that counts: never before it, which may be a second ahead."""
        return max(utc_text(self._environment.now()), str(_visit_of(screening).opened_at))

    def _document(self, case_id: str, revision: int) -> Json:
        return todays(json.loads(self._store.revision(case_id, revision).document))

    def _saved(self, case_id: str, base_revision: int, document: Json) -> Revision:
        canonical = canonical_json(to_document(from_document(document))).decode()
        return self._store.add_revision(case_id, base_revision, canonical, stamp_of(self._environment))


def _visit_of(screening: Screening) -> Visit:
    assert screening.visit is not None  # asked before
    return screening.visit


def _aged(screening: Screening) -> bool:
    """Return whether the visit does not count any more, or not yet."""
    return any(point.group == "state" and point.where.endswith("opened_at") for point in screening.closing)

"""What the use cases ask of the record, whatever store implements it."""

from collections.abc import Callable, Collection, Sequence
from typing import Protocol

from collum.records import (
    Attachments,
    Card,
    CardGround,
    CaseDamage,
    ChainHead,
    DoseLimitEntry,
    PlanContent,
    PlanSummary,
    Revision,
    Rounds,
    Stamp,
    StorageTrouble,
    StoredPlan,
)
from collum.records.answers import Answers
from collum.records.attached import ArrivingFile
from collum.records.chain import NO_ROW
from collum.records.deletion import DeletedCase, DeletionReason
from collum.records.keeping import Keeping
from collum.records.person import PersonRecord


class CaseStore(Protocol):
    """Cases by revision and stored plans; raises UnknownRecord, StaleRevision, StorageError."""

    @property
    def rounds(self) -> Rounds: ...

    @property
    def answers(self) -> Answers: ...

    @property
    def attachments(self) -> Attachments: ...

    @property
    def keeping(self) -> Keeping: ...

    @property
    def trouble(self) -> StorageTrouble | None: ...

    @property
    def begun(self) -> bool: ...

    def newest_revisions(self) -> tuple[Revision | CaseDamage, ...]: ...

    def newest_revision(self, case_id: str) -> Revision: ...

    def revision(self, case_id: str, number: int) -> Revision: ...

    def add_case(self, case_id: str, document: str, stamp: Stamp) -> Revision: ...

    def add_cases(self, cases: Sequence[tuple[str, str, Stamp]]) -> tuple[Revision, ...]: ...

    def add_revision(self, case_id: str, base: int, document: str, stamp: Stamp) -> Revision: ...

    def add_plan(self, case_id: str, number: int, content: PlanContent, stamp: Stamp) -> StoredPlan: ...

    def plans_of(self, case_id: str) -> tuple[PlanSummary, ...]: ...

    def last_verdicts(self) -> dict[str, tuple[str, ...]]: ...

    def plan(self, plan_id: str) -> StoredPlan: ...

    def issue_card(
        self,
        plan_id: str,
        tooth: int,
        revision: int,
        decide: Callable[[CardGround], str],
        stamp: Stamp,
        *,
        heat: str | None = None,
    ) -> Card: ...

    def issued_card(self, plan_id: str, tooth: int) -> tuple[Card | None, CardGround]: ...

    def newest_with_entry(self, case_id: str) -> tuple[Revision, str]: ...

    def add_dose_limit(self, entry: DoseLimitEntry) -> DoseLimitEntry: ...

    def note(self, action: str, row: str, stamp: Stamp, *, key_file: str = NO_ROW) -> None: ...

    def everything_of(self, case_id: str) -> PersonRecord: ...

    def take_in(self, case_id: str, document: str, stamp: Stamp, files: Sequence[ArrivingFile]) -> Revision: ...

    def delete_case(self, case_id: str, reason: DeletionReason, stamp: Stamp) -> DeletedCase: ...

    def deleted_cases(self) -> tuple[DeletedCase, ...]: ...

    def entry_of_plan(self, plan_id: str) -> str | None: ...

    def entry_of_card(self, card_id: str) -> str | None: ...

    def holds(self, head: ChainHead) -> bool: ...

    def narrow(self, case_ids: Collection[str]) -> None: ...

    def close(self) -> None: ...

    def dose_limits(self) -> tuple[DoseLimitEntry, ...]: ...

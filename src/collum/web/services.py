"""What the routes ask of the use cases, in wire form; the one place where both meet."""

from typing import IO, Any, Protocol

from collum.app.plans.planning import Planner
from collum.papers import PaperKind
from collum.web import schemas
from collum.web.attachment_services import AttachmentServices
from collum.web.keeping_services import KeepingServices
from collum.web.person_services import PersonServices
from collum.web.safety_services import SafetyServices
from collum.web.work_services import WorkServices
from collum.wire.preparation.document import PreparationDocument

Document = dict[str, Any]


class NoSuchRecord(LookupError):
    """Nothing is stored under this id."""


class NoStorage(RuntimeError):
    """The record cannot be read or written: what is wrong and what to do, in words that name no path."""

    def __init__(self, what: str, remedy: str) -> None:
        self.what = what
        self.remedy = remedy
        super().__init__(what)


class Outdated(RuntimeError):
    """A save started from an old revision; `newest` is the case as it is now, `taken_as` as in StaleRevision."""

    def __init__(self, newest: schemas.CaseAnswer, taken_as: int | None) -> None:
        self.newest = newest
        self.taken_as = taken_as
        super().__init__("outdated")


class Services(Protocol):
    """The use cases."""

    @property
    def planner(self) -> Planner: ...

    @property
    def safety(self) -> SafetyServices: ...

    @property
    def attachments(self) -> AttachmentServices: ...

    @property
    def work(self) -> WorkServices: ...

    @property
    def keeping(self) -> KeepingServices: ...

    @property
    def person(self) -> PersonServices: ...

    def take_in(self, file: IO[bytes], passphrase: str | None) -> schemas.CaseAnswer: ...

    def case_file(self, case_id: str, revision: int | None) -> schemas.CaseAnswer: ...

    def new_id(self) -> str: ...

    def log_crash(self, error_id: str, error: Exception) -> None: ...

    def about(self, kept: schemas.KeptAnswer | None) -> schemas.AboutAnswer: ...

    def cases(self) -> schemas.CasesAnswer: ...

    def create(self, document: Document, key: str | None) -> schemas.CaseAnswer: ...

    def open(self, case_id: str) -> schemas.CaseAnswer: ...

    def open_earlier(self, case_id: str, number: int) -> schemas.CaseAnswer: ...

    def save(self, case_id: str, base_revision: int, document: Document) -> schemas.CaseAnswer: ...

    def preparation_beside_plan(self, found: PreparationDocument, case_id: str, number: int) -> PreparationDocument: ...

    def store_plan(self, case_id: str, revision: int) -> schemas.StoredPlanAnswer: ...

    def plans(self, case_id: str) -> schemas.StoredPlansAnswer: ...

    def stored_plan(self, plan_id: str) -> bytes: ...

    def paper(self, plan_id: str, kind: PaperKind, tooth: int) -> bytes: ...

    def compare(self, plan_id: str, other_id: str, tooth: int | None) -> schemas.ComparisonAnswer: ...

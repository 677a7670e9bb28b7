"""The use cases of a practice, in wire form."""

from collections.abc import Iterator
from contextlib import contextmanager
from typing import IO, Any, cast, get_args

from collum.app.cases.compare import Change, Comparison, NoCommonTooth, compare_plans
from collum.app.chair.kept_hands import KeptHands
from collum.app.logs import Log
from collum.app.plans.planning import Planner
from collum.app.plans.preparation import beside_plan
from collum.app.practice import DamagedSummary, OpenCase, Practice, opened
from collum.app.record.data_directory import is_demo
from collum.app.record.lockable import RecordLocked
from collum.app.record.vault import Vault
from collum.app.speaking import saves_words, storage_words
from collum.case import from_document
from collum.core.tooth import universal
from collum.papers import PaperKind
from collum.records import PlanSummary, RecordClosed, StaleRevision, StorageError, UnknownRecord
from collum.vocabulary import Verdict
from collum.web import schemas
from collum.web.attachment_services import AttachmentServices
from collum.web.faults import FAULTS
from collum.web.keeping_services import KeepingServices
from collum.web.person_services import PersonServices
from collum.web.safety_services import SafetyServices
from collum.web.services import NoStorage, NoSuchRecord, Outdated
from collum.web.work_services import WorkServices
from collum.wire.earlier import todays_form
from collum.wire.preparation.document import PreparationDocument
from collum.wording import names_in_force

Document = dict[str, Any]


class PracticeServices:
    """Answers the routes from the practice of a vault, as long as it is open; its troubles become those the routes know."""

    def __init__(self, vault: Vault, log: Log, hands: KeptHands | None = None) -> None:
        self._vault = vault
        self._log = log
        self._hands = hands or KeptHands(vault.environment.data_directory)

    @property
    def _practice(self) -> Practice:
        return self._vault.practice

    @property
    def planner(self) -> Planner:
        """The planner of the open practice. Raises RecordLocked."""
        return self._practice.planner

    @property
    def safety(self) -> SafetyServices:
        return SafetyServices(self._practice.safety, self._hands, self._troubles)

    @property
    def work(self) -> WorkServices:
        return WorkServices(self._vault, self._hands, self._troubles)

    @property
    def attachments(self) -> AttachmentServices:
        return AttachmentServices(self._practice.attachments, self._troubles)

    @property
    def keeping(self) -> KeepingServices:
        return KeepingServices(self._vault, self._troubles)

    @property
    def person(self) -> PersonServices:
        return PersonServices(self._vault, self._troubles)

    def take_in(self, file: IO[bytes], passphrase: str | None) -> schemas.CaseAnswer:
        return _case(self.person.take_in(file, passphrase))

    def case_file(self, case_id: str, revision: int | None) -> schemas.CaseAnswer:
        return _case(self.person.case_file(case_id, revision))

    def new_id(self) -> str:
        return self._vault.environment.new_id()

    def log_crash(self, error_id: str, error: Exception) -> None:
        self._log.crash(error_id, error)

    def about(self, kept: schemas.KeptAnswer | None) -> schemas.AboutAnswer:
        environment, trouble = self._vault.environment, self._vault.trouble
        return schemas.AboutAnswer(
            program_version=environment.program_version,
            demo=is_demo(environment.data_directory),
            kept=kept,
            record_note=None if trouble is None else " ".join(storage_words(StorageError(trouble), page=True)),
            facial_letter=names_in_force().facial,
            palatal_letter=names_in_force().palatal,
        )

    def cases(self) -> schemas.CasesAnswer:
        with self._troubles():
            found = self._practice.listed()
        return schemas.CasesAnswer(
            cases=[
                schemas.CaseSummaryAnswer(
                    case_id=c.case_id,
                    reference=c.reference,
                    teeth=list(c.teeth),
                    universal=[universal(number) for number in c.teeth],
                    invented=c.invented,
                    note=c.note,
                    saved_at=c.saved_at,
                    last_verdict=_verdict(c.last_verdicts[0]) if c.last_verdicts else None,
                )
                for c in found.cases
            ],
            damaged=[_damaged(one) for one in found.damaged],
        )

    def create(self, document: Document, key: str | None) -> schemas.CaseAnswer:
        with self._troubles():
            return _case(self._practice.create(document, key=key))

    def open(self, case_id: str) -> schemas.CaseAnswer:
        with self._troubles():
            return _case(self._practice.open(case_id))

    def open_earlier(self, case_id: str, number: int) -> schemas.CaseAnswer:
        with self._troubles():
            return _case(self._practice.open_earlier(case_id, number))

    def save(self, case_id: str, base_revision: int, document: Document) -> schemas.CaseAnswer:
        with self._troubles():
            return _case(self._practice.save(case_id, base_revision=base_revision, document=document))

    def preparation_beside_plan(self, found: PreparationDocument, case_id: str, number: int) -> PreparationDocument:
        with self._troubles():
            case = from_document(self._practice.open(case_id).document)
        return beside_plan(found, case, self.planner.planned(case, only=number))

    def store_plan(self, case_id: str, revision: int) -> schemas.StoredPlanAnswer:
        with self._troubles():
            return _stored(self._practice.store_plan(case_id, revision=revision))

    def plans(self, case_id: str) -> schemas.StoredPlansAnswer:
        with self._troubles():
            return schemas.StoredPlansAnswer(plans=[_stored(plan) for plan in self._practice.plans(case_id)])

    def stored_plan(self, plan_id: str) -> bytes:
        with self._troubles():
            return todays_form(self._practice.stored_plan(plan_id).result).encode()

    def paper(self, plan_id: str, kind: PaperKind, tooth: int) -> bytes:
        with self._troubles():
            try:
                return self._practice.paper(plan_id, kind, tooth=tooth)
            except IndexError:  # the plan has no tooth at this position
                raise NoSuchRecord from None

    def compare(self, plan_id: str, other_id: str, tooth: int | None) -> schemas.ComparisonAnswer:
        with self._troubles():
            try:
                return _comparison(compare_plans(self._practice.store, plan_id, other_id, tooth_number=tooth))
            except NoCommonTooth:
                raise NoSuchRecord from None

    @contextmanager
    def _troubles(self) -> Iterator[None]:
        try:
            yield
        except UnknownRecord:
            raise NoSuchRecord from None
        except RecordClosed:
            raise RecordLocked("locked") from None
        except StaleRevision as stale:
            raise Outdated(_case(opened(stale.newest)), stale.taken_as) from None
        except StorageError as error:
            raise NoStorage(*storage_words(error, page=True)) from error
        except Exception as error:
            trouble = self._vault.trouble
            if trouble is None or isinstance(error, tuple(FAULTS)):
                raise
            self._log.crash(self.new_id(), error)  # what is read of a damaged record may break anything that reads it
            raise NoStorage(*storage_words(StorageError(trouble), page=True)) from error


@contextmanager
def storage_troubles() -> Iterator[None]:
    """Tell of a file of the data directory that cannot be written in the words of the record."""
    try:
        yield
    except StorageError as error:
        raise NoStorage(*storage_words(error, page=True)) from error


def _damaged(found: DamagedSummary) -> schemas.DamagedCaseAnswer:
    what, remedy = saves_words(found.damaged, found.whole)
    return schemas.DamagedCaseAnswer(
        case_id=found.case_id, reference=found.reference, whole=list(found.whole), what=what, remedy=remedy
    )


def _verdict(word: str) -> Verdict | None:
    """Return a verdict, None where the word is none any more."""
    return cast(Verdict, word) if word in get_args(Verdict) else None


def _case(case: OpenCase) -> schemas.CaseAnswer:
    return schemas.CaseAnswer(case_id=case.case_id, revision=case.revision, saved_at=case.saved_at, document=case.document)


def _stored(plan: PlanSummary) -> schemas.StoredPlanAnswer:
    return schemas.StoredPlanAnswer(
        plan_id=plan.id,
        case_id=plan.case_id,
        revision=plan.revision_number,
        made_at=plan.made_at,
        program_version=plan.program_version,
        verdicts=[verdict for word in plan.verdicts if (verdict := _verdict(word)) is not None],
    )


def _comparison(found: Comparison) -> schemas.ComparisonAnswer:
    return schemas.ComparisonAnswer(
        tooth_number=found.tooth_number,
        recommended=_change(found.recommended),
        readings=[_change(c) for c in found.readings],
        wishes=[_change(c) for c in found.wishes],
        constants=[_change(c) for c in found.constants],
        program=[_change(c) for c in found.program],
        routes=[
            schemas.RouteChangeAnswer(
                verdict=_change(route.verdict),
                decides=_change(route.decides),
                requirements=[_change(c) for c in route.requirements],
            )
            for route in found.routes
        ],
    )


def _change(found: Change) -> schemas.ChangeAnswer:
    return schemas.ChangeAnswer(what=found.what, before=found.before, after=found.after)

"""Use cases of a practice: list, make, open and save cases; make, keep and print plans.

Each is one transaction of the record, named by the revision it starts from. A stored plan is printed from what is stored.
"""

import json
from collections.abc import Callable, Iterator, Sequence
from contextlib import contextmanager
from dataclasses import dataclass
from functools import partial

from collum.app.cases.attachments import AttachmentDesk
from collum.app.cases.case_store import CaseStore
from collum.app.cases.keeping import KeepingDesk
from collum.app.chair.kept_heat import HeatDesk
from collum.app.chair.rounds import RoundDesk
from collum.app.chair.visits import check_marks, without_marks
from collum.app.environment import Environment, utc_text
from collum.app.logs import note_fault, served_before
from collum.app.plans.kept_answers import AnswerDesk
from collum.app.plans.planning import DRAWS, Planner
from collum.app.record.data_directory import prepare_data_directory
from collum.app.record.stamp import id_of, stamp_of
from collum.app.safety.answers import SafetyDesk
from collum.case import Case, canonical_json, from_document, to_document, todays
from collum.case.shapes import Json
from collum.papers import OPERATING, PaperHead, PaperKind, Typesetter, in_process, paper
from collum.records import (
    CaseDamage,
    PlanContent,
    PlanSummary,
    Revision,
    StorageError,
    Store,
    StoredPlan,
    UnknownRecord,
    WriterLock,
)
from collum.records.sealing import Keys
from collum.vocabulary import Verdict
from collum.wire.earlier import todays_form
from collum.wire.plan.document import PlanDocument, ToothDocument


@dataclass(frozen=True, slots=True, kw_only=True)
class CaseSummary:
    """One line in the list of cases. `last_verdicts`: of its last stored plan, one for each planned tooth."""

    case_id: str
    revision: int
    reference: str
    teeth: tuple[int, ...]
    invented: bool
    note: str | None
    saved_at: str
    last_verdicts: tuple[str, ...]


@dataclass(frozen=True, slots=True, kw_only=True)
class DamagedSummary:
    """One line for a case that is damaged: which revisions are, which are whole, and what the last whole one says of it."""

    case_id: str
    reference: str | None
    damaged: tuple[int, ...]
    whole: tuple[int, ...]


@dataclass(frozen=True, slots=True, kw_only=True)
class CaseList:
    """The cases, oldest first, and apart from them those whose newest revision is damaged."""

    cases: tuple[CaseSummary, ...]
    damaged: tuple[DamagedSummary, ...]


@dataclass(frozen=True, slots=True, kw_only=True)
class OpenCase:
    """A case as it was saved; `document` is its canonical form, `revision` the number a further save has to name."""

    case_id: str
    revision: int
    saved_at: str
    document: Json


class Practice:
    """The use cases, over one store and one environment."""

    def __init__(
        self,
        environment: Environment,
        store: CaseStore,
        planner: Planner | None = None,
        typesetter: Typesetter = in_process,
    ) -> None:
        self.environment = environment
        self.store = store
        self.planner = planner or practice_planner(environment)
        self.heat = HeatDesk(self.planner)
        self.safety = SafetyDesk(environment, store, self.heat, typesetter)
        self.rounds = RoundDesk(environment, store, self.heat)
        self.attachments = AttachmentDesk(environment, store)
        self.keeping = KeepingDesk(environment, store)
        self._answers = AnswerDesk(environment, store, self.planner)
        self._typesetter = typesetter

    def listed(self) -> CaseList:
        """Return every case; one that is damaged hides no other."""
        verdicts = self.store.last_verdicts()
        found = self.store.newest_revisions()
        return CaseList(
            cases=tuple(_summary(r, verdicts.get(r.case_id, ())) for r in found if isinstance(r, Revision)),
            damaged=tuple(_damaged(one) for one in found if isinstance(one, CaseDamage)),
        )

    def cases(self) -> tuple[CaseSummary, ...]:
        """Return the cases that are whole, oldest first."""
        return self.listed().cases

    def create(self, document: Json, *, key: str | None = None) -> OpenCase:
        """Add a case; what it answers of safety is history, to be asked again here. Raises CaseFaults.

        A `key` that made a case before gives that case as it was made, and writes nothing.
        """
        return self._create([(id_of(key, self.environment), document)])[0]

    def create_all(self, documents: Sequence[Json]) -> tuple[OpenCase, ...]:
        """Add cases, all of them or none. Raises CaseFaults."""
        return self._create([(self.environment.new_id(), document) for document in documents])

    def _create(self, cases: Sequence[tuple[str, Json]]) -> tuple[OpenCase, ...]:
        new = [(case_id, as_new(from_document(document)), stamp_of(self.environment)) for case_id, document in cases]
        return tuple(opened(revision) for revision in self.store.add_cases(new))

    def open(self, case_id: str) -> OpenCase:
        """Return a case as last saved. Raises UnknownRecord; DamagedCase says which revisions are whole."""
        return opened(self.store.newest_revision(case_id))

    def open_earlier(self, case_id: str, number: int) -> OpenCase:
        """Return a case as one of its revisions has it. Raises UnknownRecord, DamagedCase."""
        return opened(self.store.revision(case_id, number))

    def save(self, case_id: str, *, base_revision: int, document: Json) -> OpenCase:
        """Add the revision after `base_revision`. Raises CaseFaults, UnknownRecord; StaleRevision holds the newer one."""
        canonical = _canonical(from_document(document))
        self._check_marks(case_id, base_revision, json.loads(canonical))
        return opened(self.store.add_revision(case_id, base_revision, canonical, stamp_of(self.environment)))

    def store_plan(self, case_id: str, *, revision: int, cancelled: Callable[[], bool] = lambda: False) -> StoredPlan:
        """Make the plan of a saved revision and keep it. Raises UnknownRecord, Cancelled."""
        saved = self.store.revision(case_id, revision)
        plan = self.planner.plan(from_document(json.loads(saved.document)), cancelled=cancelled)
        return self.store.add_plan(case_id, revision, plan_content(plan), stamp_of(self.environment))

    def plans(self, case_id: str) -> tuple[PlanSummary, ...]:
        """Return the stored plans of a case, newest first. Raises UnknownRecord."""
        return self.store.plans_of(case_id)

    def stored_plan(self, plan_id: str) -> StoredPlan:
        """Return a stored plan; its `result` is the plan's JSON as it was written. Raises UnknownRecord."""
        return self.store.plan(plan_id)

    def paper(self, plan_id: str, kind: PaperKind, *, tooth: int = 0) -> bytes:
        """Return a paper (PDF) of a stored plan for its tooth at position `tooth`: the same bytes every time.

        Raises UnknownRecord, IndexError where the plan has no such tooth, PaperRefused where it does not open the route that
        the paper is about or no answer is stored and none can be given (see `AnswerDesk`), and NotCleared for a paper of an
        operation that the answers do not open now, or a card that was not issued.
        """
        if kind == "chairside-card":
            return self.safety.card_paper(plan_id, tooth=tooth)
        if kind in OPERATING:
            return self.safety.surgery_paper(plan_id, OPERATING[kind], tooth=tooth)
        stored = self.store.plan(plan_id)
        case = todays(json.loads(self.store.revision(stored.case_id, stored.revision_number).document))
        entry = self.store.entry_of_plan(plan_id)
        head = PaperHead(plan_id=stored.id, made_at=stored.made_at, result_sha256=stored.sha256, entry=entry)
        plan = json.loads(todays_form(stored.result))
        answer = self._answers.shown(kind, stored, case, plan["teeth"][tooth]["number"])
        return paper(kind, plan, tooth=tooth, head=head, case=case, answer=answer, typesetter=self._typesetter)

    def _check_marks(self, case_id: str, base_revision: int, document: Json) -> None:
        """Refuse marks of the program that the base does not hold; a base that never was is left to the store to refuse."""
        try:
            base = self.store.revision(case_id, base_revision)
        except UnknownRecord:
            return
        check_marks(todays(json.loads(base.document)), document)


def open_store(
    environment: Environment, keys: Keys | None = None, *, lock: WriterLock | None = None, new: bool = False
) -> Store:
    """Open the record of the environment's data directory, sealed where there are `keys`. Raises StorageError.

    It is made where there never was one; one that was and is not there is no reason to make another, but where a `new` one is
    wanted. `lock`: the right to write in that directory, without which nothing is confirmed.
    """
    folder = environment.data_directory
    prepare_data_directory(folder)
    at = utc_text(environment.now())
    return Store.open(folder, keys, lock=lock, at=at, lived=served_before(environment), new=new)


@contextmanager
def open_practice(
    environment: Environment,
    keys: Keys | None = None,
    *,
    draws: int = DRAWS,
    lock: WriterLock | None = None,
    new: bool = False,
) -> Iterator[Practice]:
    """Give the practice of the environment's data directory; see `open_store`. Raises StorageError."""
    store = open_store(environment, keys, lock=lock, new=new)
    try:
        yield Practice(environment, store, practice_planner(environment, draws))
    finally:
        store.close()


def practice_planner(environment: Environment, draws: int = DRAWS) -> Planner:
    """Return a planner that notes in the log of the practice what a route failed by."""
    return Planner(draws, partial(note_fault, environment))


@contextmanager
def open_beside(environment: Environment, keys: Keys | None = None) -> Iterator[Practice]:
    """Give the practice to read from, also while a workbench writes in it. Raises StorageError."""
    prepare_data_directory(environment.data_directory)
    try:
        lock = WriterLock(environment.data_directory)
    except StorageError as error:
        if error.trouble != "locked":
            raise
        store = Store.open_to_read(environment.data_directory, keys)
        try:
            yield Practice(environment, store)
        finally:
            store.close()
        return
    try:
        with open_practice(environment, keys, lock=lock) as practice:
            yield practice
    finally:
        lock.release()


def plan_content(plan: PlanDocument) -> PlanContent:
    """Return a plan as it is kept."""
    constants = [constant.model_dump() for constant in plan.constants]
    return PlanContent(
        seed=plan.seed,
        draws=plan.draws,
        program_version=plan.program_version,
        plan_format=plan.format,
        verdicts=tuple(_told(tooth) for tooth in plan.teeth),
        constants=json.dumps(constants, ensure_ascii=False),
        result=plan.model_dump_json(),
    )


def _told(tooth: ToothDocument) -> Verdict:
    """Return what a list says of a tooth: the verdict of the recommended route, of the first where none is recommended."""
    verdicts = {route.name: route.verdict for route in tooth.routes}
    return verdicts[tooth.recommended_route or tooth.routes[0].name]


def opened(revision: Revision) -> OpenCase:
    """Return a stored revision as an open case."""
    return OpenCase(
        case_id=revision.case_id,
        revision=revision.number,
        saved_at=revision.saved_at,
        document=todays(json.loads(revision.document)),
    )


def _damaged(found: CaseDamage) -> DamagedSummary:
    last = found.last_whole
    reference = None if last is None else json.loads(last.document)["patient"]["reference"]
    return DamagedSummary(case_id=found.case_id, reference=reference, damaged=found.damaged, whole=found.whole)


def as_new(case: Case) -> str:
    """Return the document of a case that comes in from elsewhere, canonical: what it answers of safety is history here."""
    return _canonical(from_document(without_marks(to_document(case))))


def _canonical(case: Case) -> str:
    return canonical_json(to_document(case)).decode()


def _summary(revision: Revision, last_verdicts: tuple[str, ...]) -> CaseSummary:
    document = json.loads(revision.document)
    return CaseSummary(
        case_id=revision.case_id,
        revision=revision.number,
        reference=document["patient"]["reference"],
        teeth=tuple(tooth["number"] for tooth in document["teeth"]),
        invented=document.get("invented", False),
        note=document.get("note"),
        saved_at=revision.saved_at,
        last_verdicts=last_verdicts,
    )

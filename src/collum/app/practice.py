"""Use cases of a practice: list, make, open and save cases; make, keep and print plans.

Each is one transaction of the record, named by the revision it starts from. A stored plan is printed from what is stored.
"""

import json
from collections.abc import Callable, Iterator
from contextlib import contextmanager
from dataclasses import dataclass

from collum.app.case_store import CaseStore
from collum.app.chair import HeatDesk
from collum.app.data_directory import prepare_data_directory
from collum.app.environment import Environment
from collum.app.planning import DRAWS, Planner
from collum.app.rounds import RoundDesk
from collum.app.safety import SafetyDesk
from collum.app.stamp import stamp_of
from collum.app.visits import check_marks, without_marks
from collum.case import Case, canonical_json, from_document, to_document
from collum.case.shapes import Json
from collum.documents import OPERATING, PaperHead, PaperKind, paper
from collum.plan.document import PlanDocument, ToothDocument, Verdict
from collum.records import PlanContent, PlanSummary, Revision, Store, StoredPlan, UnknownRecord


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
class OpenCase:
    """A case as it was saved; `document` is its canonical form, `revision` the number a further save has to name."""

    case_id: str
    revision: int
    saved_at: str
    document: Json


class Practice:
    """The use cases, over one store and one environment."""

    def __init__(self, environment: Environment, store: CaseStore, planner: Planner | None = None) -> None:
        self.environment = environment
        self.store = store
        self.planner = planner or Planner()
        self.heat = HeatDesk(self.planner)
        self.safety = SafetyDesk(environment, store, self.heat)
        self.rounds = RoundDesk(environment, store, self.heat)

    def cases(self) -> tuple[CaseSummary, ...]:
        """Return the cases, oldest first."""
        verdicts = self.store.last_verdicts()
        return tuple(_summary(revision, verdicts.get(revision.case_id, ())) for revision in self.store.newest_revisions())

    def create(self, document: Json) -> OpenCase:
        """Add a case; what it answers of safety is history, to be asked again here. Raises CaseFaults."""
        canonical = _canonical(from_document(without_marks(to_document(from_document(document)))))
        return opened(self.store.add_case(self.environment.new_id(), canonical, stamp_of(self.environment)))

    def open(self, case_id: str) -> OpenCase:
        """Return a case as last saved. Raises UnknownRecord."""
        return opened(self.store.newest_revision(case_id))

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
        the paper is about, and NotCleared for a paper of an operation that the answers do not open now, or a card that was not
        issued.
        """
        if kind == "chairside-card":
            return self.safety.card_paper(plan_id, tooth=tooth)
        if kind in OPERATING:
            return self.safety.surgery_paper(plan_id, OPERATING[kind], tooth=tooth)
        stored = self.store.plan(plan_id)
        case = json.loads(self.store.revision(stored.case_id, stored.revision_number).document)
        head = PaperHead(plan_id=stored.id, made_at=stored.made_at, result_sha256=stored.sha256)
        return paper(kind, json.loads(stored.result), tooth=tooth, head=head, case=case)

    def _check_marks(self, case_id: str, base_revision: int, document: Json) -> None:
        """Refuse marks of the program that the base does not hold; a base that never was is left to the store to refuse."""
        try:
            base = self.store.revision(case_id, base_revision)
        except UnknownRecord:
            return
        check_marks(json.loads(base.document), document)


@contextmanager
def open_practice(environment: Environment, *, draws: int = DRAWS) -> Iterator[Practice]:
    """Give the practice of the environment's data directory, made where there is none. Raises StorageError."""
    prepare_data_directory(environment.data_directory)
    store = Store.open(environment.data_directory)
    try:
        yield Practice(environment, store, Planner(draws))
    finally:
        store.close()


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
        document=json.loads(revision.document),
    )


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

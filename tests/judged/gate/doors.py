"""The doors by which a paper of an operation may be had: a case file, and the record of a practice."""

from collections.abc import Callable, Mapping
from contextlib import suppress
from datetime import datetime
from pathlib import Path
from typing import Any

import pytest
import typst

from collum.app.chair import kept_heat as chair
from collum.app.chair.rounds import NoRound
from collum.app.plans import papers
from collum.app.plans.papers import PaperRefused, loose_paper
from collum.app.plans.planning import PlannedCase, Planner
from collum.app.practice import Practice
from collum.app.record.stamp import stamp_of
from collum.app.safety.entries import NothingToCorrect, NothingToOverride
from collum.app.safety.gate import NotCleared
from collum.case import Case, CaseFaults, canonical_json, from_document, plan_mark, planned_on, read, to_document
from collum.evidence.patient_rows import FACTS
from collum.papers import PaperKind
from collum.plan.heat import HeatWishes
from collum.plan.patient.answers import answers_of
from collum.records import StaleRevision, StorageError, UnknownRecord
from collum.wire.plan.document import PlanDocument
from tests.judged.gate.cases import NOW, visit_of
from tests.judged.gate.expected import Told
from tests.judged.gate.said import Way, recorded
from tests.judged.gate.truth import Operation
from tests.making.environment import FixedEnvironment
from tests.measuring.heat import heat_by_hand

DRAWS = 300
PAPER: Mapping[Operation, PaperKind] = {
    "current": "chairside-card",
    "scalpel": "scalpel-card",
    "flap": "flap-sheet",
    "movement": "extrusion-sheet",
}
REFUSED = (
    NotCleared,
    PaperRefused,
    CaseFaults,
    NothingToCorrect,
    NothingToOverride,
    NoRound,
    StaleRevision,
    UnknownRecord,
    StorageError,
    IndexError,
)
_PLANNER, _MAKE = Planner(DRAWS), Planner.plan
_PLANS: dict[bytes, PlanDocument] = {}


class _Blank:
    """Stands in for the typesetter: what is tested is whether a paper is made, not how it looks."""

    def __init__(self, *_: object, **__: object) -> None: ...

    def compile(self, **_: object) -> bytes:
        return b"%PDF-"


def without_waiting(monkeypatch: pytest.MonkeyPatch) -> None:
    """Let papers be blank and rounds be given by hand, and plan nothing twice."""
    monkeypatch.setattr(typst, "Compiler", _Blank)
    monkeypatch.setattr(papers, "heat_of_plan", heat_by_hand)
    monkeypatch.setattr(chair, "heat_of_plan", heat_by_hand)
    monkeypatch.setattr(Planner, "plan", lambda _self, case, **_named: planned(case))
    monkeypatch.setattr(Planner, "planned", lambda _self, case, **_named: PlannedCase(document=planned(case), teeth=()))


def planned(case: Case) -> PlanDocument:
    """Return the plan of a case, made once for all that it does not tell apart, so that the gate cannot lean on the plan."""
    said = sorted(rule for rule, answer in answers_of(case).items() if rule in (*FACTS, "growing") and answer != "no")
    rests_on = canonical_json({"case": planned_on(case), "said": said})
    if rests_on not in _PLANS:
        _PLANS[rests_on] = _MAKE(_PLANNER, case)
    return _PLANS[rests_on]


def refused(attempt: Callable[[], object]) -> bool:
    """Say whether an attempt ends in a refusal; any other ending is a fault of the program."""
    with suppress(*REFUSED):
        attempt()
        return False
    return True


def file_opens(data: bytes, operation: Operation, folder: Path, now: datetime = NOW) -> bool:
    """Say whether the file door prints the paper of an operation of any tooth of a case file."""
    environment = FixedEnvironment(data_directory=folder, moment=now)
    try:
        case = read(data, kind="json")
    except CaseFaults:
        return False
    made = PlannedCase(document=planned(case), teeth=())
    return any(
        not refused(lambda i=i: loose_paper(environment, case, made, PAPER[operation], tooth=i))  # type: ignore[misc]
        for i in range(len(made.document.teeth))
    )


class Chair:
    """One case of a practice, with the steps by which somebody may try to get a paper of an operation."""

    def __init__(self, practice: Practice, environment: FixedEnvironment, document: Mapping[str, Any]) -> None:
        self.practice = practice
        self.environment = environment
        self.case_id = practice.create(dict(document)).case_id
        self.plans: list[str] = []

    @property
    def document(self) -> dict[str, Any]:
        return dict(self.practice.open(self.case_id).document)

    @property
    def revision(self) -> int:
        return self.practice.open(self.case_id).revision

    @property
    def number(self) -> int:
        return int(self.document["teeth"][0]["number"])

    def save(self, document: Mapping[str, Any], base: int | None = None) -> None:
        self.practice.save(self.case_id, base_revision=self.revision if base is None else base, document=dict(document))

    def visit(self) -> None:
        self.practice.safety.open_visit(self.case_id, base_revision=self.revision, kind="cut", by="DN")

    def say(self, *ways: Way) -> None:
        """Record and answer, in the visit that was opened last, what the ways say; all else is harmless."""
        self.save(recorded(self.document, self.number, *ways))
        self.answer(*ways)

    def answer(self, *ways: Way) -> None:
        """Answer the visit that was opened last, for the case as it is, and count its teeth aloud unless told otherwise."""
        document = self.document
        mark = plan_mark(from_document(document))
        numbers = [tooth["number"] for tooth in document["teeth"] if tooth.get("role") != "neighbour"]
        answers = visit_of(mark, numbers, Told(ways=ways, answered_for=False))
        del answers["opened_at"], answers["date"], answers["kind"], answers["by"]
        time_outs = answers.pop("time_outs", [])
        document["visits"][-1] |= answers
        self.save(document)
        self.plant(time_outs)

    def plant(self, time_outs: list[dict[str, Any]]) -> None:
        """Write time-outs as the program does, whatever else closes: each fact has to close by itself."""
        document = self.document
        opened_at = document["visits"][-1].get("opened_at")
        if opened_at is None:
            return
        document["visits"][-1]["time_outs"] = [{**entry, "at": opened_at} for entry in time_outs]
        written = canonical_json(to_document(from_document(document))).decode()
        self.practice.store.add_revision(self.case_id, self.revision, written, stamp_of(self.environment))

    def plan(self) -> str:
        self.plans.append(self.practice.store_plan(self.case_id, revision=self.revision).id)
        return self.plans[-1]

    def issue(self, plan_id: str, tooth: int = 0, revision: int | None = None) -> object:
        named = self.revision if revision is None else revision
        return self.practice.safety.issue_card(plan_id, tooth=tooth, revision=named, wishes=HeatWishes())

    def paper(self, plan_id: str, operation: Operation, tooth: int = 0) -> bytes:
        return self.practice.paper(plan_id, PAPER[operation], tooth=tooth)

    def opens(self, operation: Operation, *, tooth: int = 0, with_round: bool = True) -> bool:
        """Say whether any plan that was stored, or a new one, gives the paper of an operation, or a round can be started."""
        self.plan()
        if any(self.opens_of(plan_id, operation, tooth) for plan_id in self.plans):
            return True
        return operation == "current" and with_round and not refused(self.start_round)

    def opens_of(self, plan_id: str, operation: Operation, tooth: int = 0) -> bool:
        if not refused(lambda: self.paper(plan_id, operation, tooth)):
            return True
        return operation == "current" and not refused(lambda: self.issue(plan_id, tooth))

    def start_round(self) -> object:
        start = self.practice.rounds.start
        return start(self.case_id, revision=self.revision, position=0, wishes=HeatWishes(), lead_s=10)

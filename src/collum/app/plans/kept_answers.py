"""Use case: what restoration or bridge answers on a stored plan: worked out and stored when first asked for, then read."""

import json
import re

from collum.app.cases.case_store import CaseStore
from collum.app.environment import Environment
from collum.app.plans.answers import ANSWERED, FORMS, AnswerDocument, whole_answer
from collum.app.plans.planning import Planner
from collum.app.record.stamp import stamp_of
from collum.case import Case, from_document
from collum.case.shapes import Json
from collum.papers import Answer, PaperKind, PaperRefused
from collum.papers.bridge import bridge_shown
from collum.records import StorageError, StoredPlan
from collum.records.answers import AnswerKind, StoredAnswer
from collum.wire.bridge.document import BridgesDocument
from collum.wire.earlier import todays_form
from collum.wording import text

# Under which a fault of our own was logged: new each time that a route fails by it.
_FAULT_ID = re.compile(r"[0-9a-f]{8}(-[0-9a-f]{4}){3}-[0-9a-f]{12}")


class AnswerDesk:
    """Answers on stored plans. For several threads."""

    def __init__(self, environment: Environment, store: CaseStore, planner: Planner) -> None:
        self._environment = environment
        self._store = store
        self._planner = planner

    def shown(self, kind: PaperKind, plan: StoredPlan, document: Json, number: int) -> Answer | None:
        """Return what a sheet shows of a tooth of a stored plan, None for a paper of the plan alone.

        `document`: the case that the plan was made from. The first to ask stores the answer, unless the record can only be
        read. Raises PaperRefused where nothing is stored and this program does not make the plan as it was stored,
        StorageError.
        """
        if kind not in ANSWERED:
            return None
        asked = ANSWERED[kind]
        bridge = bridge_shown(_bridges(document), number) if asked == "bridge" else None
        kept = self._store.answers.of_plan(plan, asked)
        if kept is None:
            worked_out = self._worked_out(asked, plan, from_document(document))
            if self._store.trouble is not None:
                return _of_tooth(worked_out, bridge, number, None)
            written = worked_out.model_dump_json()
            stamp = stamp_of(self._environment)
            kept = self._store.answers.add(plan, asked, worked_out.program_version, written, stamp)
        return _of_tooth(_read(asked, kept), bridge, number, kept.made_at)

    def _worked_out(self, kind: AnswerKind, plan: StoredPlan, case: Case) -> AnswerDocument:
        """Return the answer from the same draws as the plan's. Raises PaperRefused where they are not to be had again."""
        if plan.program_version != self._environment.program_version:
            raise PaperRefused(text("paper.restoration.other_version", {"version": plan.program_version}))
        made = self._planner.planned(case, seed=plan.seed, draws=plan.draws)
        if _compared(made.document.model_dump_json()) != _compared(todays_form(plan.result)):
            raise PaperRefused(text("paper.restoration.not_the_plan"))
        return whole_answer(kind, case, made)


def _bridges(document: Json) -> list[list[int]]:
    """Return the teeth of each bridge of a case as it is stored: what prints a stored answer has not to judge the case anew."""
    return [[*bridge["teeth"], *bridge["pontics"]] for bridge in document.get("bridges", ())]


def _compared(result: str) -> Json:
    """Return a plan as it is compared: its values, without the ids of faults."""
    return json.loads(_FAULT_ID.sub("", result))


def _read(kind: AnswerKind, kept: StoredAnswer) -> AnswerDocument:
    try:
        found = FORMS[kind].model_validate_json(todays_form(kept.document))
    except ValueError:
        raise PaperRefused(text("paper.restoration.unread", {"version": kept.program_version})) from None
    if found.program_version != kept.program_version:
        raise StorageError("damaged")
    return found


def _of_tooth(document: AnswerDocument, bridge: int | None, number: int, stored_at: str | None) -> Answer:
    if isinstance(document, BridgesDocument):
        assert bridge is not None
        return Answer(document=document, position=bridge, stored_at=stored_at)
    position = [tooth.number for tooth in document.teeth].index(number)
    return Answer(document=document, position=position, stored_at=stored_at)

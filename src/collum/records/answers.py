"""What restoration or bridge answered on a stored plan: one row of each kind beside the plan, written once, read ever after."""

from collections.abc import Sequence
from dataclasses import dataclass
from typing import Any, Literal

from sqlalchemy import Connection, Engine, inspect, select

from collum.records.chain import add_closed, row_is_sealed
from collum.records.engine import reading, writing
from collum.records.payloads import Row, opened_row
from collum.records.rows import fitting
from collum.records.stored import PlanSummary, Stamp, StorageError
from collum.records.tables import PLAN_ANSWER

AnswerKind = Literal["restoration", "bridge"]


@dataclass(frozen=True, slots=True, kw_only=True)
class StoredAnswer:
    """An answer as it was when it was stored. `document` is its wire form (JSON), `sha256` the hash of that with
    `plan_sha256`, the hash of the result of the plan it is about.
    """

    id: str
    plan_id: str
    kind: str
    program_version: str
    plan_sha256: str
    document: str
    sha256: str
    made_at: str
    zone: str
    author: str


class Answers:
    """The answers on the stored plans of one record."""

    def __init__(self, engine: Engine) -> None:
        self._engine = engine

    def of_plan(self, plan: PlanSummary, kind: AnswerKind) -> StoredAnswer | None:
        """Return the answer of a kind on a plan, None where none is stored.

        Raises StorageError where it is not what was written or is about another plan, CaseDeleted.
        """
        with reading(self._engine) as connection:
            return _of_plan(connection, plan, kind)

    def add(self, plan: PlanSummary, kind: AnswerKind, program_version: str, document: str, stamp: Stamp) -> StoredAnswer:
        """Store an answer on a plan; where one of its kind is there, return that and write nothing. Raises CaseDeleted."""
        with writing(self._engine) as connection:
            known = _of_plan(connection, plan, kind)
            if known is not None:
                return known
            about = {"id": stamp.id, "plan_id": plan.id, "kind": kind, "program_version": program_version}
            row = about | {"plan_sha256": plan.sha256, "document": document} | stamp.columns("made_at")
            stored = add_closed(connection, PLAN_ANSWER, plan.case_id, row, "answer stored", stamp.columns())
            return _opened(connection, plan, stored)


def answers_to(connection: Connection, plans: Sequence[PlanSummary]) -> tuple[StoredAnswer, ...]:
    """Return every answer on plans, in the order of the plans. Raises StorageError, CaseDeleted."""
    return tuple(_opened(connection, plan, row) for plan in plans for row in _rows(connection, plan))


def _of_plan(connection: Connection, plan: PlanSummary, kind: AnswerKind) -> StoredAnswer | None:
    found = [row for row in _rows(connection, plan) if row["kind"] == kind]
    return _opened(connection, plan, found[0]) if found else None


def _rows(connection: Connection, plan: PlanSummary) -> Sequence[Row]:
    if not inspect(connection).has_table(PLAN_ANSWER.name):  # a record of an older schema that can only be read
        return ()
    query = select(PLAN_ANSWER).where(PLAN_ANSWER.c.plan_id == plan.id).order_by(PLAN_ANSWER.c.made_at, PLAN_ANSWER.c.id)
    return [fitting(row, PLAN_ANSWER) for row in connection.execute(query).mappings().all()]


def _opened(connection: Connection, plan: PlanSummary, row: Row) -> StoredAnswer:
    found: dict[str, Any] = opened_row(connection, PLAN_ANSWER, plan.case_id, row)
    if found["plan_sha256"] != plan.sha256 or not row_is_sealed(connection, PLAN_ANSWER, row):
        raise StorageError("damaged")
    return StoredAnswer(**found)

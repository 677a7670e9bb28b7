"""One case of a practice on its way to a card, for the tests of cards."""

import sqlite3
from contextlib import closing
from typing import Any

import pytest

from collum.app.practice import Practice
from collum.app.safety.gate import NotCleared
from collum.case import to_document
from collum.plan.heat import HeatWishes
from collum.records import DATABASE
from tests.making.answers import answered
from tests.making.environment import FixedEnvironment
from tests.making.teeth import case_of, overgrown_premolar


class Bench:
    """One case of a practice, with the steps that lead to a card."""

    def __init__(self, practice: Practice) -> None:
        self.practice = practice
        self.case_id = practice.create(to_document(case_of(overgrown_premolar()))).case_id

    @property
    def document(self) -> dict[str, Any]:
        return dict(self.practice.open(self.case_id).document)

    @property
    def revision(self) -> int:
        return self.practice.open(self.case_id).revision

    def open_visit(self) -> None:
        self.practice.safety.open_visit(self.case_id, base_revision=self.revision, kind="cut", by="DN")

    def save(self, document: dict[str, Any]) -> None:
        self.practice.save(self.case_id, base_revision=self.revision, document=document)

    def answer(self, changes: dict[str, str | None] | None = None) -> None:
        self.save(answered(self.document, changes))

    def override(self, rule: str, tooth: int | None = None) -> None:
        self.practice.safety.override(
            self.case_id, base_revision=self.revision, rule=rule, tooth=tooth, name="D. Nurse", reason="for a reason"
        )

    def plan(self) -> str:
        return self.practice.store_plan(self.case_id, revision=self.revision).id

    def issue(self, plan_id: str) -> Any:
        return self.practice.safety.issue_card(plan_id, tooth=0, revision=self.revision, wishes=HeatWishes())

    def print(self, plan_id: str) -> bytes:
        return self.practice.paper(plan_id, "chairside-card")


def cards(environment: FixedEnvironment) -> int:
    with closing(sqlite3.connect(environment.data_directory / DATABASE)) as connection:
        return int(connection.execute("SELECT count(*) FROM card").fetchone()[0])


def stays_closed(bench: Bench, plan_id: str, because: str) -> None:
    """Check that no card is opened or printed, and that the reason is named."""
    for attempt in (bench.issue, bench.print):
        with pytest.raises(NotCleared) as refused:
            attempt(plan_id)
        assert because in [point.rule for point in refused.value.points], [p.rule for p in refused.value.points]
        for fault in refused.value.faults:
            assert fault["where"] and fault["what"] and fault["allowed"]

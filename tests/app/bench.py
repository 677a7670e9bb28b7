"""One case of a practice on its way to a card, for the tests of cards."""

import sqlite3
from contextlib import closing, suppress
from itertools import product
from typing import Any

import pytest

from collum.app.practice import Practice
from collum.app.safety.counted import Counted
from collum.app.safety.gate import NotCleared
from collum.case import to_document
from collum.evidence.safety_layers import INSTRUMENT_OF
from collum.evidence.safety_rules import PROCEDURES
from collum.plan.heat import HeatWishes
from collum.records import DATABASE
from tests.making.answers import answered, counted_aloud
from tests.making.environment import FixedEnvironment
from tests.making.teeth import case_of, overgrown_premolar


def count_aloud(practice: Practice, case_id: str) -> None:
    """Enter the time-out of every planned tooth, for each procedure of which nothing else keeps the paper closed."""
    planned = [tooth for tooth in practice.open(case_id).document["teeth"] if tooth.get("role") != "neighbour"]
    for tooth, procedure in product(planned, PROCEDURES):
        counted = Counted(planned=tooth["number"], **counted_aloud(tooth["number"], INSTRUMENT_OF[procedure]))
        revision = practice.open(case_id).revision
        with suppress(NotCleared):
            practice.safety.time_out(case_id, base_revision=revision, procedure=procedure, counted=counted, name="D. Nurse")


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
        self.count_aloud()

    def count_aloud(self) -> None:
        count_aloud(self.practice, self.case_id)

    def override(self, rule: str, tooth: int | None = None) -> None:
        self.practice.safety.override(
            self.case_id, base_revision=self.revision, rule=rule, tooth=tooth, name="D. Nurse", reason="for a reason"
        )
        self.count_aloud()

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

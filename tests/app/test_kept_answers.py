"""Answers on stored plans: worked out and stored by who asks first, read by all others, also by another version."""

import sqlite3
from contextlib import closing
from dataclasses import replace
from importlib import resources
from typing import Any

import pytest

from collum.app.plans import kept_answers
from collum.app.plans.answers import whole_answer
from collum.app.plans.planning import Planner
from collum.app.practice import Practice, open_beside, open_practice
from collum.app.record.stamp import stamp_of
from collum.case import read, to_document
from collum.papers import PaperKind, PaperRefused
from collum.plan.lengthening.procedures.bone_surgery import BoneSurgery
from collum.records import DATABASE, PlanContent, StorageError, WriterLock
from tests.making.environment import FixedEnvironment
from tests.making.teeth import broken_premolar, case_of, overgrown_premolar
from tests.measuring.earlier import in_format_1
from tests.papers.pages import words_of

SHEETS: tuple[PaperKind, ...] = ("restoration-sheet", "bridge-sheet")


@pytest.fixture
def worked_out(monkeypatch: pytest.MonkeyPatch) -> list[str]:
    """Which answers were worked out, in their order."""
    asked: list[str] = []
    work = whole_answer

    def counted(kind: Any, *given: Any) -> Any:
        asked.append(kind)
        return work(kind, *given)

    monkeypatch.setattr(kept_answers, "whole_answer", counted)
    return asked


def planned(practice: Practice) -> str:
    return practice.store_plan(practice.create(to_document(case_of(overgrown_premolar()))).case_id, revision=1).id


def with_bridge(practice: Practice) -> str:
    case = read((resources.files("collum.demo_practice") / "AQ-26.toml").read_bytes(), kind="toml")
    return practice.store_plan(practice.create(to_document(case)).case_id, revision=1).id


def stored(environment: FixedEnvironment) -> list[tuple[str, str]]:
    with closing(sqlite3.connect(environment.data_directory / DATABASE)) as connection:
        return connection.execute("SELECT plan_id, kind FROM plan_answer ORDER BY rowid").fetchall()


def edited(environment: FixedEnvironment, table: str, statement: str) -> None:
    with closing(sqlite3.connect(environment.data_directory / DATABASE)) as connection:
        connection.executescript(f"DROP TRIGGER {table}_refuses_update; {statement}")


def test_the_first_to_ask_stores_the_answer_and_nobody_works_it_out_again(
    practice: Practice, environment: FixedEnvironment, worked_out: list[str], monkeypatch: pytest.MonkeyPatch
) -> None:
    plan_id = with_bridge(practice)
    first = {kind: practice.paper(plan_id, kind) for kind in SHEETS}
    assert worked_out == ["restoration", "bridge"]
    assert stored(environment) == [(plan_id, "restoration"), (plan_id, "bridge")]

    def refuse(*_arguments: object, **_named: object) -> None:
        raise AssertionError("worked out again")

    monkeypatch.setattr(Planner, "planned", refuse)
    monkeypatch.setattr(kept_answers, "from_document", refuse)  # a later version may ask more of a case
    with open_practice(replace(environment, program_version="9.9.9")) as later:
        assert {kind: later.paper(plan_id, kind) for kind in SHEETS} == first
    assert len(stored(environment)) == 2
    for pdf in first.values():
        assert "by program version 0.1.0, and stored beside the plan at 2026-05-01 08:00 UTC" in words_of(pdf)


def test_every_tooth_of_a_plan_is_shown_from_one_row(practice: Practice, worked_out: list[str]) -> None:
    plan_id = with_bridge(practice)
    sheets = {practice.paper(plan_id, "restoration-sheet", tooth=tooth) for tooth in (0, 1)}
    assert len(sheets) == 2 and worked_out == ["restoration"]


def test_another_version_answers_on_no_plan_that_nobody_asked_about(practice: Practice, environment: FixedEnvironment) -> None:
    """Another version would judge other draws than those whose plan stands beside the answer."""
    plan_id = planned(practice)
    with open_practice(replace(environment, program_version="9.9.9")) as later:
        assert later.paper(plan_id, "plan-sheet").startswith(b"%PDF-")
        with pytest.raises(PaperRefused, match=r"made by program version 0\.1\.0: plan again"):
            later.paper(plan_id, "restoration-sheet")
    assert stored(environment) == []


def test_an_answer_is_of_the_draws_that_the_plan_was_made_of(practice: Practice, environment: FixedEnvironment) -> None:
    """A planner with another number of draws answers on a kept plan as the one that made it, or its plan would differ."""
    plan_id = planned(practice)
    with open_practice(environment, draws=200) as later:
        assert later.paper(plan_id, "restoration-sheet").startswith(b"%PDF-")


def test_nothing_is_answered_where_the_plan_does_not_come_out_as_stored(
    practice: Practice, environment: FixedEnvironment
) -> None:
    """The same version on another machine, or one that was changed without a new number."""
    plan_id = planned(practice)
    edited(environment, "plan", "UPDATE plan SET seed = seed + 1")
    with pytest.raises(PaperRefused, match="does not come out as it was stored, .*: plan again"):
        practice.paper(plan_id, "restoration-sheet")
    assert stored(environment) == []


def test_a_route_that_fails_each_time_with_a_new_id_is_the_same_plan(
    practice: Practice, monkeypatch: pytest.MonkeyPatch
) -> None:
    def fails(*_given: object, **_named: object) -> None:
        raise ZeroDivisionError

    monkeypatch.setattr(BoneSurgery, "plan", fails)
    case_id = practice.create(to_document(case_of(broken_premolar()))).case_id
    plan = practice.store_plan(case_id, revision=1)
    assert practice.paper(plan.id, "restoration-sheet").startswith(b"%PDF-")
    assert plan.result != practice.planner.plan(case_of(broken_premolar())).model_dump_json()  # the ids differ


@pytest.mark.parametrize(
    "change", ["document = '{}'", "document = replace(document, '0.1.0', '0.1.1')", "plan_sha256 = sha256"]
)
def test_a_row_that_was_changed_is_not_printed(practice: Practice, environment: FixedEnvironment, change: str) -> None:
    plan_id = planned(practice)
    practice.paper(plan_id, "restoration-sheet")
    edited(environment, "plan_answer", f"UPDATE plan_answer SET {change}")
    with pytest.raises(StorageError) as trouble:
        practice.paper(plan_id, "restoration-sheet")
    assert trouble.value.trouble == "damaged"


def test_an_answer_in_a_form_of_another_version_says_so(practice: Practice, environment: FixedEnvironment) -> None:
    plan = practice.stored_plan(planned(practice))
    stamp = stamp_of(environment)
    practice.store.answers.add(plan, "restoration", "7.0.0", '{"format": "collum-restoration/9"}', stamp)
    with pytest.raises(PaperRefused, match=r"by program version 7\.0\.0 in a form .*: plan again"):
        practice.paper(plan.id, "restoration-sheet")


def test_a_version_that_is_not_that_of_the_answer_is_damage(practice: Practice, environment: FixedEnvironment) -> None:
    plan_id = planned(practice)
    practice.paper(plan_id, "restoration-sheet")
    edited(environment, "plan_answer", "UPDATE plan_answer SET program_version = '0.0.9'")
    with pytest.raises(StorageError):
        practice.paper(plan_id, "restoration-sheet")


def test_a_record_that_can_only_be_read_shows_an_answer_and_stores_none(
    environment: FixedEnvironment, worked_out: list[str]
) -> None:
    with open_practice(environment, draws=300) as practice:
        plan_id = planned(practice)
    lock = WriterLock(environment.data_directory)
    try:
        with open_beside(environment) as beside:
            shown = [beside.paper(plan_id, "restoration-sheet") for _ in range(2)]
    finally:
        lock.release()
    assert shown[0] == shown[1] and "when it was printed, by program version 0.1.0" in words_of(shown[0])
    assert worked_out == ["restoration"] * 2 and stored(environment) == []


def test_nothing_of_an_answer_that_was_cut_short_is_stored(
    practice: Practice, environment: FixedEnvironment, monkeypatch: pytest.MonkeyPatch
) -> None:
    plan_id = planned(practice)

    def killed(*_given: object) -> None:
        raise KeyboardInterrupt

    with monkeypatch.context() as patch:
        patch.setattr(kept_answers, "stamp_of", killed)
        with pytest.raises(KeyboardInterrupt):
            practice.paper(plan_id, "restoration-sheet")
    assert stored(environment) == []
    assert practice.paper(plan_id, "restoration-sheet") == practice.paper(plan_id, "restoration-sheet")


def test_a_plan_and_an_answer_of_format_1_are_printed_as_those_of_today(practice: Practice) -> None:
    """Only the names of fields changed: gate, papers and what is worked out anew take both."""
    plan_id = with_bridge(practice)
    now = practice.stored_plan(plan_id)
    kinds: tuple[PaperKind, ...] = ("plan-sheet", "findings-sheet", *SHEETS)
    sheets = {kind: words_of(practice.paper(plan_id, kind)) for kind in kinds}
    as_it_was = PlanContent(
        seed=now.seed,
        draws=now.draws,
        program_version=now.program_version,
        plan_format="collum-plan/2",
        verdicts=now.verdicts,
        constants=now.constants,
        result=in_format_1("plan", now.result),
    )
    for answered in (False, True):
        old = practice.store.add_plan(now.case_id, now.revision_number, as_it_was, stamp_of(practice.environment))
        if answered:
            for kind in ("restoration", "bridge"):
                kept = practice.store.answers.of_plan(now, kind)
                assert kept is not None
                practice.store.answers.add(
                    old, kind, kept.program_version, in_format_1(kind, kept.document), stamp_of(practice.environment)
                )
        for kind, words in sheets.items():
            told = words_of(practice.paper(old.id, kind)).split()
            other = {one for one in {*words.split()} - {*told} if one != plan_id and one not in now.sha256}
            assert (other, len(told)) == (set(), len(words.split())), kind
        as_it_was = replace(as_it_was, result=as_it_was.result + " ")  # another plan, so that its answers are not there yet

"""The card behind its gate: opened by answers alone, in one transaction, and every way round it that we could think of."""

import json
import sqlite3
from contextlib import closing
from dataclasses import replace
from datetime import timedelta

import pytest

from collum.app.practice import open_practice
from collum.app.record.stamp import stamp_of
from collum.app.safety.answers import limits_in_force
from collum.app.safety.entries import NothingToOverride
from collum.app.safety.gate import NotCleared
from collum.case import CaseFaults
from collum.plan.heat import HeatWishes
from collum.plan.safety import DoseLimit
from collum.records import DATABASE, StaleRevision, StorageError, UnknownRecord
from tests.app.bench import Bench, cards, stays_closed
from tests.making.answers import answered
from tests.making.environment import FixedEnvironment

pytestmark = pytest.mark.usefixtures("planned_once", "paced_by_hand")


def test_answers_of_an_opened_visit_open_the_card(cleared: Bench, environment: FixedEnvironment) -> None:
    plan_id = cleared.plan()
    card = cleared.issue(plan_id)
    assert (card.number, card.tooth, card.plan_id) == (45, 0, plan_id)
    assert cleared.print(plan_id).startswith(b"%PDF-")
    assert cleared.print(plan_id) == cleared.print(plan_id)
    assert cards(environment) == 1
    assert cleared.practice.safety.of_case(cleared.case_id).cleared


def test_the_plan_says_on_what_it_rests(cleared: Bench) -> None:
    made = json.loads(cleared.practice.stored_plan(cleared.plan()).result)
    assert made["safety_cleared"] is True
    assert "answers of 2026-05-01 08:0" in made["safety_reason"]["text"]
    assert made["safety_reason"]["text"].endswith("asked by DN, for that visit only.")


def test_the_plan_repeats_what_the_answers_bring_stops_first(bench: Bench) -> None:
    bench.open_visit()
    bench.answer({"allergy": "yes", "cochlear_implant": "yes", "masks": "no", "smoking": None})
    made = json.loads(bench.practice.stored_plan(bench.plan()).result)
    assert (made["safety_cleared"], made["safety_reason"]["text"]) == (False, "Not cleared: 1 stop, 3 more open.")
    keys = [caution["key"] for caution in made["cautions"]]
    assert keys[:3] == ["safety.reason.cochlear_implant", "safety.reason.masks", "safety.reason.allergy"]
    assert keys[3] == "plan.caution.clinician_decides"


def test_without_a_visit_the_card_stays_closed(bench: Bench, environment: FixedEnvironment) -> None:
    stays_closed(bench, bench.plan(), "no_visit")
    assert cards(environment) == 0


def test_a_visit_without_answers_leaves_it_closed(bench: Bench) -> None:
    bench.open_visit()
    plan_id = bench.plan()
    stays_closed(bench, plan_id, "cardiac_device")
    with pytest.raises(NotCleared) as refused:
        bench.issue(plan_id)
    assert len(refused.value.points) == 51  # 50 questions, and nobody named for the roles


@pytest.mark.parametrize(
    ("rule", "answer"),
    [
        ("cardiac_device", "yes"),
        ("cardiac_device", "unknown"),
        ("implant_beside", "yes"),
        ("oxygen_off", "no"),
        ("masks", "no"),
    ],
)
def test_an_answer_that_closes_keeps_it_closed(bench: Bench, environment: FixedEnvironment, rule: str, answer: str) -> None:
    bench.open_visit()
    bench.answer({rule: answer})
    stays_closed(bench, bench.plan(), rule)
    assert cards(environment) == 0


def test_one_question_left_out_keeps_it_closed(bench: Bench) -> None:
    bench.open_visit()
    bench.answer({"cochlear_implant": None})
    stays_closed(bench, bench.plan(), "cochlear_implant")


# Ways round it


def test_a_document_that_says_it_is_cleared_is_refused(cleared: Bench) -> None:
    for where in ("top", "visit", "tooth", "patient"):
        document = cleared.document
        part = {
            "top": document,
            "visit": document["visits"][0],
            "tooth": document["teeth"][0],
            "patient": document["patient"],
        }[where]
        part["safety_cleared"] = True
        with pytest.raises(CaseFaults):
            cleared.save(document)


def test_a_save_cannot_date_a_visit(bench: Bench) -> None:
    document = answered(bench.document, opened_at="2026-05-01T08:00:00Z")
    with pytest.raises(CaseFaults) as refused:
        bench.save(document)
    assert [fault.where for fault in refused.value.faults] == ["visits[0].opened_at"]
    bench.save(answered(bench.document))
    stays_closed(bench, bench.plan(), "no_visit")


def test_a_save_cannot_move_the_opening_of_a_visit(cleared: Bench, environment: FixedEnvironment) -> None:
    environment.moment += timedelta(days=1)
    document = cleared.document
    document["visits"][0]["opened_at"] = "2026-05-02T08:00:00Z"
    with pytest.raises(CaseFaults):
        cleared.save(document)
    stays_closed(cleared, cleared.plan(), "aged")


def test_a_save_cannot_bring_in_or_change_an_override(bench: Bench) -> None:
    bench.open_visit()
    bench.answer({"masks": "no", "tip_clean": "no"})
    document = bench.document
    made = {"rule": "masks", "name": "X", "reason": "y", "at": document["visits"][0]["opened_at"]}
    document["visits"][0]["overrides"] = [made]
    with pytest.raises(CaseFaults):
        bench.save(document)
    bench.override("masks")
    document = bench.document
    document["visits"][0]["overrides"][0]["rule"] = "tip_clean"
    with pytest.raises(CaseFaults):
        bench.save(document)
    stays_closed(bench, bench.plan(), "tip_clean")


def test_an_override_cannot_be_carried_to_another_visit(bench: Bench) -> None:
    bench.open_visit()
    bench.answer({"masks": "no"})
    bench.override("masks")
    bench.open_visit()
    document = answered(bench.document, {"masks": "no"})
    document["visits"][1]["overrides"] = document["visits"][0]["overrides"]
    with pytest.raises(CaseFaults):
        bench.save(document)
    bench.save(answered(bench.document, {"masks": "no"}))
    stays_closed(bench, bench.plan(), "masks")


def test_a_case_brought_in_from_a_file_has_to_be_asked_again(cleared: Bench) -> None:
    made = cleared.practice.create(cleared.document)
    assert made.document["visits"][0]["screening"]["cardiac_device"] == "no"
    assert "opened_at" not in made.document["visits"][0]
    plan_id = cleared.practice.store_plan(made.case_id, revision=1).id
    with pytest.raises(NotCleared):
        cleared.practice.safety.issue_card(plan_id, tooth=0, revision=1, wishes=HeatWishes())


@pytest.mark.parametrize("rule", ["cardiac_device", "implant_beside", "oxygen_off", "time_out"])
def test_nobody_can_answer_for_a_stop(bench: Bench, rule: str) -> None:
    bench.open_visit()
    bench.answer({rule: "no" if rule in ("oxygen_off", "time_out") else "yes"})
    before = bench.revision
    with pytest.raises(NotCleared):
        bench.override(rule, 45 if rule in ("implant_beside", "time_out") else None)
    assert bench.revision == before
    stays_closed(bench, bench.plan(), rule)


def test_nobody_can_answer_for_what_was_not_asked_or_is_not_closed(bench: Bench) -> None:
    bench.open_visit()
    with pytest.raises(NotCleared):
        bench.override("masks")
    bench.answer()
    with pytest.raises(NothingToOverride):
        bench.override("masks")
    with pytest.raises(NothingToOverride):
        bench.override("no_such_rule")


@pytest.mark.parametrize("rule", ["cardiac_device", "bleeding_disorder", "pregnant"])
def test_what_a_physician_has_to_answer_nobody_answers_for_by_name(bench: Bench, rule: str) -> None:
    bench.open_visit()
    bench.answer({rule: "yes"})
    with pytest.raises(NotCleared) as refused:
        bench.override(rule)
    assert "letter" in str(refused.value.faults[0]["allowed"])
    stays_closed(bench, bench.plan(), rule)


def test_who_answers_for_a_caution_stands_with_the_card(bench: Bench) -> None:
    bench.open_visit()
    bench.answer({"endocarditis_risk": "yes"})
    stays_closed(bench, bench.plan(), "endocarditis_risk")
    bench.override("endocarditis_risk")
    card = bench.issue(bench.plan())
    assert card.revision == bench.revision
    decision = bench.practice.store.issued_card(card.plan_id, 0)[0]
    assert decision is not None
    (point,) = json.loads(decision.decision)["points"]
    assert point["override"] == {"name": "D. Nurse", "reason": "for a reason", "at": point["override"]["at"]}


def test_a_plan_of_an_earlier_revision_opens_no_card(cleared: Bench) -> None:
    plan_id = cleared.plan()
    assert cleared.issue(plan_id)
    document = cleared.document
    document["teeth"][0]["sites"]["bone_sounding"]["F"] = 3.0
    document["teeth"][0]["sites"]["probing_depth"]["F"] = 2.0
    cleared.save(document)
    stays_closed(cleared, plan_id, "plan_outdated")
    cleared.answer()
    stays_closed(cleared, plan_id, "plan_outdated")
    assert cleared.issue(cleared.plan())


def test_answers_alone_do_not_outdate_a_plan(bench: Bench) -> None:
    plan_id = bench.plan()
    bench.open_visit()
    bench.answer()
    assert bench.issue(plan_id)
    assert bench.print(plan_id).startswith(b"%PDF-")


def test_a_plan_of_another_version_opens_no_card(cleared: Bench, environment: FixedEnvironment) -> None:
    plan_id = cleared.plan()
    assert cleared.issue(plan_id)
    with open_practice(replace(environment, program_version="9.9.9"), draws=300) as later:
        other = Bench.__new__(Bench)
        other.practice, other.case_id = later, cleared.case_id
        stays_closed(other, plan_id, "plan_of_another_version")


def test_a_plan_that_says_cleared_opens_no_card_of_a_case_that_is_not(cleared: Bench) -> None:
    plan_id = cleared.plan()
    assert json.loads(cleared.practice.stored_plan(plan_id).result)["safety_cleared"]
    cleared.answer({"pregnant": "yes"})
    stays_closed(cleared, plan_id, "pregnant")


def test_an_answer_changed_in_another_tab_is_seen_before_the_card_opens(cleared: Bench) -> None:
    plan_id, seen = cleared.plan(), cleared.revision
    cleared.answer({"cardiac_device": "yes"})
    with pytest.raises(StaleRevision):
        cleared.practice.safety.issue_card(plan_id, tooth=0, revision=seen, wishes=HeatWishes())
    stays_closed(cleared, plan_id, "cardiac_device")


def test_a_card_that_was_opened_closes_when_an_answer_changes(cleared: Bench) -> None:
    plan_id = cleared.plan()
    cleared.issue(plan_id)
    cleared.answer({"oxygen_off": "no"})
    stays_closed(cleared, plan_id, "oxygen_off")


def test_a_card_that_would_say_something_else_now_has_to_be_opened_again(cleared: Bench) -> None:
    plan_id = cleared.plan()
    cleared.issue(plan_id)
    cleared.answer({"allergy": "yes"})
    with pytest.raises(NotCleared) as refused:
        cleared.print(plan_id)
    assert [point.rule for point in refused.value.points] == ["not_issued"]
    cleared.issue(plan_id)
    assert cleared.print(plan_id).startswith(b"%PDF-")


def test_a_visit_opened_in_another_tab_closes_the_card_until_it_is_answered(cleared: Bench) -> None:
    plan_id = cleared.plan()
    cleared.issue(plan_id)
    cleared.open_visit()
    stays_closed(cleared, plan_id, "cardiac_device")
    cleared.answer()
    with pytest.raises(NotCleared) as refused:
        cleared.print(plan_id)
    assert [point.rule for point in refused.value.points] == ["not_issued"]
    cleared.issue(plan_id)
    assert cleared.print(plan_id).startswith(b"%PDF-")


def test_the_paper_alone_does_not_open_a_card(cleared: Bench, environment: FixedEnvironment) -> None:
    plan_id = cleared.plan()
    with pytest.raises(NotCleared) as refused:
        cleared.print(plan_id)
    assert [point.rule for point in refused.value.points] == ["not_issued"]
    assert cards(environment) == 0


def test_yesterdays_answers_sent_again_do_not_count(cleared: Bench, environment: FixedEnvironment) -> None:
    plan_id = cleared.plan()
    cleared.issue(plan_id)
    replayed = cleared.document
    environment.moment += timedelta(hours=12, minutes=1)
    stays_closed(cleared, plan_id, "aged")
    cleared.save({**replayed, "note": "sent again"})
    stays_closed(cleared, plan_id, "aged")


def test_a_clock_set_back_does_not_bring_yesterday_back(cleared: Bench, environment: FixedEnvironment) -> None:
    plan_id = cleared.plan()
    opened = environment.moment
    environment.moment += timedelta(days=1)
    cleared.save({**cleared.document, "note": "a day later"})
    environment.moment = opened + timedelta(minutes=5)
    stays_closed(cleared, plan_id, "clock_set_back")


def test_a_clock_set_ahead_and_back_does_not_stretch_a_visit(bench: Bench, environment: FixedEnvironment) -> None:
    real = environment.moment
    environment.moment += timedelta(days=30)
    bench.open_visit()
    bench.answer()
    plan_id = bench.plan()
    environment.moment = real
    stays_closed(bench, plan_id, "from_the_future")


def test_after_a_clock_that_was_ahead_a_new_visit_opens_the_card(bench: Bench, environment: FixedEnvironment) -> None:
    real = environment.moment
    environment.moment += timedelta(days=30)
    bench.open_visit()
    environment.moment = real
    bench.open_visit()
    bench.answer()
    plan_id = bench.plan()
    bench.issue(plan_id)
    assert bench.print(plan_id).startswith(b"%PDF-")


def test_a_visit_that_found_a_stop_cannot_be_dropped_or_moved(cleared: Bench) -> None:
    plan_id = cleared.plan()
    cleared.open_visit()
    cleared.answer({"cardiac_device": "yes"})
    first, second = cleared.document["visits"]
    for visits in ([first], [second, first], [], [first, {**second, "opened_at": first["opened_at"]}]):
        with pytest.raises(CaseFaults):
            cleared.save({**cleared.document, "visits": visits})
    stays_closed(cleared, plan_id, "cardiac_device")


def test_a_visit_without_answers_of_the_program_can_be_noted_anywhere(cleared: Bench) -> None:
    document = cleared.document
    recall = {"date": "2026-04-01", "kind": "recall"}
    cleared.save({**document, "visits": [recall, *document["visits"], recall]})
    assert cleared.issue(cleared.plan())


def test_a_decision_that_is_not_cleared_is_refused_by_the_database_itself(
    cleared: Bench, environment: FixedEnvironment
) -> None:
    plan_id = cleared.plan()
    store = cleared.practice.store
    with pytest.raises(Exception, match="CHECK"):
        store.issue_card(
            plan_id, 0, cleared.revision, lambda _ground: '{"cleared": false}', stamp_of(cleared.practice.environment)
        )
    assert cards(environment) == 0


def test_a_refused_card_writes_nothing_and_a_later_one_is_free(bench: Bench, environment: FixedEnvironment) -> None:
    bench.open_visit()
    bench.answer({"masks": "no"})
    plan_id = bench.plan()
    with pytest.raises(NotCleared):
        bench.issue(plan_id)
    bench.answer()
    bench.issue(plan_id)
    assert cards(environment) == 1


@pytest.mark.parametrize("change", ["UPDATE card SET author = 'x'", "DELETE FROM card"])
def test_an_issued_card_is_kept_as_it_was(cleared: Bench, environment: FixedEnvironment, change: str) -> None:
    cleared.issue(cleared.plan())
    with (
        closing(sqlite3.connect(environment.data_directory / DATABASE)) as connection,
        pytest.raises(sqlite3.IntegrityError, match="append-only"),
    ):
        connection.execute(change)


def test_a_card_that_was_tampered_with_is_noticed(cleared: Bench, environment: FixedEnvironment) -> None:
    plan_id = cleared.plan()
    cleared.issue(plan_id)
    with closing(sqlite3.connect(environment.data_directory / DATABASE)) as connection, connection:
        connection.execute("DROP TRIGGER card_refuses_update")
        connection.execute("UPDATE card SET decision = json_set(decision, '$.counts_until', 'never')")
    with pytest.raises(StorageError):
        cleared.print(plan_id)


def test_what_is_not_there_opens_nothing(cleared: Bench) -> None:
    plan_id = cleared.plan()
    with pytest.raises(UnknownRecord):
        cleared.issue("01900000-0000-7000-8000-000000000000")
    with pytest.raises(IndexError):
        cleared.practice.safety.issue_card(plan_id, tooth=1, revision=cleared.revision, wishes=HeatWishes())


def test_a_limit_of_the_practice_is_dated_kept_and_in_force(bench: Bench) -> None:
    desk = bench.practice.safety
    first = limits_in_force(desk.dose_limits())["lidocaine"]
    assert (first.at, first.by) == (None, None)
    for mg_per_kg in (5.0, 6.0):
        desk.add_dose_limit(DoseLimit(agent="lidocaine", mg_per_kg=mg_per_kg, most_mg=400, source="local rule", by="DN"))
    entered = desk.dose_limits()["lidocaine"]
    assert [limit.mg_per_kg for limit in entered] == [4.4, 5.0, 6.0]
    assert limits_in_force(desk.dose_limits())["lidocaine"].by == "DN"
    assert entered[1].at is not None and entered[1].at.startswith("2026-05-01T08:0")

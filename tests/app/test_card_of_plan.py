"""The card and the plan that was answered for: other lines, other answers."""

import pytest

from collum.app.safety.gate import NotCleared
from tests.app.bench import Bench, cards, stays_closed
from tests.making.answers import answered
from tests.making.environment import FixedEnvironment
from tests.plan.safety.test_safety_of_plan import OF_PLAN

pytestmark = pytest.mark.usefixtures("planned_once", "paced_by_hand")


def test_what_was_confirmed_for_other_lines_opens_no_card_of_a_new_plan(cleared: Bench, environment: FixedEnvironment) -> None:
    assert cleared.issue(cleared.plan())
    before, answers = cleared.document, cleared.document["visits"]
    document = cleared.document
    document["teeth"][0]["sites"]["probing_depth"]["F"] = 2.0
    cleared.save(document)
    with pytest.raises(NotCleared) as refused:
        cleared.issue(cleared.plan())
    asked = {point.rule for point in refused.value.points}
    assert asked == OF_PLAN and {point.outcome for point in refused.value.points} == {"outdated"}
    assert {"right_patient", "thin_over_bone", "consent", "time_out"} <= asked
    assert {fault["allowed"] for fault in refused.value.faults} == {"an answer for the plan as it is now"}
    assert all("Answered for another plan" in str(fault["what"]) for fault in refused.value.faults)
    assert cards(environment) == 1
    cleared.answer()
    assert cleared.issue(cleared.plan())
    cleared.save({**before, "visits": answers})
    assert cleared.issue(cleared.plan()), "the readings are back as they were when it was answered"


def test_who_answers_for_a_rule_of_the_cut_does_so_for_the_plan_there_is(bench: Bench) -> None:
    bench.open_visit()
    bench.answer({"margin_measured": "no"})
    bench.override("margin_measured")
    assert bench.issue(bench.plan())
    document = bench.document
    document["teeth"][0]["sites"]["probing_depth"]["F"] = 2.0
    bench.save(document)
    bench.answer({"margin_measured": "no"})
    stays_closed(bench, bench.plan(), "margin_measured")
    bench.override("margin_measured")
    assert bench.issue(bench.plan())


def test_who_operates_alone_is_answered_for_by_name(bench: Bench) -> None:
    bench.open_visit()
    document = answered(bench.document)
    document["visits"][0]["roles"] = {"operator": "DN", "suction": "DN", "plate": "DN"}
    bench.save(document)
    stays_closed(bench, bench.plan(), "operator_alone")
    bench.override("operator_alone")
    assert bench.issue(bench.plan())

"""The round that a card carries: stored with it, printed from there, and never a way round the gate."""

import json
from typing import Any

import pytest

from collum.app.chair import kept_heat as chair
from collum.app.practice import Practice
from collum.app.record.stamp import stamp_of
from collum.app.safety.gate import NotCleared
from collum.plan.heat import HeatWishes
from collum.records import StaleRevision
from tests.app.bench import Bench, cards
from tests.making.environment import FixedEnvironment
from tests.measuring.heat import heat_by_hand, paced

pytestmark = pytest.mark.usefixtures("planned_once", "paced_by_hand")


def test_the_card_prints_the_round_that_was_stored_with_it_and_reckons_nothing(
    cleared: Bench, monkeypatch: pytest.MonkeyPatch
) -> None:
    plan_id = cleared.plan()
    cleared.issue(plan_id)
    first = cleared.print(plan_id)
    monkeypatch.setattr(chair, "heat_of_plan", lambda *_: pytest.fail("reckoned again"))
    assert cleared.print(plan_id) == first
    again = Practice(cleared.practice.environment, cleared.practice.store)  # nothing is kept in memory
    assert again.paper(plan_id, "chairside-card") == first
    stored = cleared.practice.store.issued_card(plan_id, 0)[0]
    assert stored is not None and stored.heat is not None
    assert json.loads(stored.heat) == paced(45).model_dump(mode="json")


def test_the_card_carries_the_round_that_was_asked_for(cleared: Bench) -> None:
    plan_id = cleared.plan()
    for passes, strokes in ((2, 6), (None, 3)):
        wishes = HeatWishes(passes=passes)
        cleared.practice.safety.issue_card(plan_id, tooth=0, revision=cleared.revision, wishes=wishes)
        stored = cleared.practice.store.issued_card(plan_id, 0)[0]
        assert stored is not None and stored.heat is not None
        assert len(json.loads(stored.heat)["round"]["strokes"]) == strokes


def test_an_answer_changed_while_heat_was_reckoned_keeps_the_card_closed(
    cleared: Bench, environment: FixedEnvironment, monkeypatch: pytest.MonkeyPatch
) -> None:
    plan_id = cleared.plan()
    seen = cleared.revision

    def meanwhile(*given: Any) -> Any:
        cleared.answer({"cardiac_device": "yes"})
        return heat_by_hand(*given)

    monkeypatch.setattr(chair, "heat_of_plan", meanwhile)
    with pytest.raises(StaleRevision):
        cleared.practice.safety.issue_card(plan_id, tooth=0, revision=seen, wishes=HeatWishes())
    with pytest.raises(NotCleared):
        cleared.issue(plan_id)
    assert cards(environment) == 0


def test_a_card_of_a_program_that_put_no_round_on_it_has_to_be_opened_again(cleared: Bench) -> None:
    plan_id = cleared.plan()
    cleared.issue(plan_id)
    card, _ = cleared.practice.store.issued_card(plan_id, 0)
    assert card is not None
    cleared.practice.store.issue_card(
        plan_id, 0, cleared.revision, lambda _ground: card.decision, stamp_of(cleared.practice.environment)
    )
    with pytest.raises(NotCleared) as refused:
        cleared.print(plan_id)
    assert [point.rule for point in refused.value.points] == ["not_issued"]

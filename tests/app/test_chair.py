"""The round at the chair over a fixed clock: where it stands follows from the instant it began, however often it is asked."""

import json
from collections.abc import Iterator
from dataclasses import dataclass
from pathlib import Path

import pytest

from collum.app import chair
from collum.app.chair import as_planned
from collum.app.gate import NotCleared
from collum.app.practice import Practice, open_practice
from collum.case import to_document
from collum.plan.heat import HeatWishes
from collum.records import StaleRevision
from tests.making.answers import answered
from tests.making.environment import FixedEnvironment
from tests.making.teeth import case_of, healthy_premolar
from tests.measuring.heat import MOVE_S, STROKE_S, heat_by_hand, paced

TURN_S = STROKE_S + MOVE_S


@dataclass
class AtTheChair:
    """A case in its visit with the gate open, its practice and the clock in hand."""

    practice: Practice
    environment: FixedEnvironment
    case_id: str
    revision: int

    def start(self, lead_s: float = 0) -> None:
        self.practice.rounds.start(self.case_id, revision=self.revision, position=0, wishes=HeatWishes(), lead_s=lead_s)

    def save(self, **changes: str) -> None:
        document = answered(self.practice.open(self.case_id).document, changes)
        self.revision = self.practice.save(self.case_id, base_revision=self.revision, document=document).revision


@pytest.fixture
def at_the_chair(tmp_path: Path, monkeypatch: pytest.MonkeyPatch) -> Iterator[AtTheChair]:
    monkeypatch.setattr(chair, "heat_of_plan", heat_by_hand)
    environment = FixedEnvironment(data_directory=tmp_path, seconds=1000)
    with open_practice(environment, draws=200) as practice:
        made = practice.create(to_document(case_of(healthy_premolar())))
        visit = practice.safety.open_visit(made.case_id, base_revision=1, kind="cut", by="DN")
        found = AtTheChair(practice=practice, environment=environment, case_id=made.case_id, revision=visit.number)
        found.save()
        yield found


def test_where_it_stands_follows_from_the_clock_alone(at_the_chair: AtTheChair) -> None:
    at_the_chair.start(lead_s=5)
    expected = {
        1000: ("rest", 0, 3),
        1005: ("stroke", 0, 3),
        1005 + STROKE_S + 0.01: ("rest", 1, 2),
        1005 + TURN_S: ("stroke", 1, 2),
        1005 + 2 * TURN_S + STROKE_S + 0.01: ("done", None, 0),
        9000: ("done", None, 0),
    }
    for seconds, stands in [*expected.items(), *reversed(expected.items())]:
        at_the_chair.environment.seconds = seconds
        state = at_the_chair.practice.rounds.now(at_the_chair.case_id)[2]
        assert (state.phase, state.next_sector, state.strokes_left) == stands, seconds
        assert state.deviations == []


def test_the_wall_clock_plays_no_part_in_it(at_the_chair: AtTheChair) -> None:
    at_the_chair.start()
    at_the_chair.environment.seconds += TURN_S + STROKE_S + 1
    assert at_the_chair.practice.rounds.now(at_the_chair.case_id)[1] == pytest.approx(TURN_S + STROKE_S + 1)


def test_a_record_that_went_on_while_heat_was_computed_starts_nothing(
    at_the_chair: AtTheChair, monkeypatch: pytest.MonkeyPatch
) -> None:
    def meanwhile(*given: object) -> object:
        at_the_chair.practice.save(
            at_the_chair.case_id,
            base_revision=at_the_chair.revision,
            document=answered(at_the_chair.practice.open(at_the_chair.case_id).document, {"cardiac_device": "yes"}),
        )
        return heat_by_hand(*given)  # type: ignore[arg-type]  # handed on as they came

    monkeypatch.setattr(chair, "heat_of_plan", meanwhile)
    with pytest.raises(StaleRevision):
        at_the_chair.start()
    at_the_chair.revision += 1
    with pytest.raises(NotCleared):
        at_the_chair.start()
    with pytest.raises(LookupError):
        at_the_chair.practice.rounds.now(at_the_chair.case_id)


def test_what_happened_is_kept_though_the_gate_is_closed_by_now(at_the_chair: AtTheChair) -> None:
    at_the_chair.start()
    at_the_chair.save(cardiac_device="yes")
    events = as_planned(paced(45), 2 * TURN_S + STROKE_S + 0.01)[1:]
    revision, state = at_the_chair.practice.rounds.keep(
        at_the_chair.case_id, base_revision=at_the_chair.revision, events=events
    )
    assert (state.phase, state.deviations) == ("done", [])
    note = json.loads(revision.document)["visits"][0]["note"]
    assert note.startswith("Round at tooth 45, begun 2026-05-01T") and "3 strokes done, 0 left." in note

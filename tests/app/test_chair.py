"""The round at the chair over fixed clocks: where it stands follows from what was said, however often it is asked.

It outlives the program: what was started and marked stands in the record, and either clock may have been set meanwhile.
"""

import json
from collections.abc import Iterator
from dataclasses import dataclass
from datetime import datetime, timedelta
from pathlib import Path

import pytest

from collum.app.chair import kept_heat as chair
from collum.app.chair.round_log import WrongLog
from collum.app.chair.rounds import OpenRound
from collum.app.practice import Practice, open_practice
from collum.app.safety.gate import NotCleared
from collum.case import to_document
from collum.plan.heat import HeatWishes
from collum.records import RoundEnded, RoundMark, RoundOpen, StaleRevision
from collum.wire.heat.document import RoundEventDocument, RoundStateDocument
from tests.app.bench import count_aloud
from tests.making.answers import answered
from tests.making.environment import START, FixedEnvironment
from tests.making.teeth import case_of, healthy_premolar
from tests.measuring.heat import MOVE_S, STROKE_S, heat_by_hand, paced

TURN_S = STROKE_S + MOVE_S


class StandingClocks(FixedEnvironment):
    """Both clocks stand still until a test turns them on, so that they agree."""

    def now(self) -> datetime:
        return self.moment

    def turn(self, by_s: float, *, by_day_s: float | None = None) -> None:
        self.seconds += by_s
        self.moment += timedelta(seconds=by_s if by_day_s is None else by_day_s)


@dataclass
class AtTheChair:
    """A case in its visit with the gate open, its practice and the clocks in hand."""

    practice: Practice
    environment: StandingClocks
    case_id: str
    revision: int

    def start(self, lead_s: float = 0) -> str:
        wishes = HeatWishes()
        begun = self.practice.rounds.start(self.case_id, revision=self.revision, position=0, wishes=wishes, lead_s=lead_s)
        return begun.record.id

    def now(self) -> OpenRound:
        found = self.practice.rounds.now(self.case_id)
        assert found is not None
        return found

    def mark(self, round_id: str, *marks: RoundMark) -> None:
        self.practice.rounds.mark(self.case_id, round_id, marks)

    def close(self, round_id: str, events: list[RoundEventDocument]) -> RoundStateDocument:
        _, ended = self.practice.rounds.close(self.case_id, round_id, events)
        assert ended.end is not None
        return RoundStateDocument.model_validate_json(ended.end.state)

    def save(self, **changes: str) -> None:
        document = answered(self.practice.open(self.case_id).document, changes)
        self.practice.save(self.case_id, base_revision=self.revision, document=document)
        count_aloud(self.practice, self.case_id)
        self.revision = self.practice.open(self.case_id).revision

    def started_anew(self) -> "AtTheChair":
        """The same record under a program that was started anew."""
        practice = Practice(self.environment, self.practice.store)
        return AtTheChair(practice=practice, environment=self.environment, case_id=self.case_id, revision=self.revision)


def touch(key: str, at_s: float, lasted_s: float | None = None, sector: int = 1) -> RoundMark:
    return RoundMark(key=key, kind="metal", at_s=at_s, sector=sector, lasted_s=lasted_s)


def begun(stroke: int, at_s: float) -> RoundMark:
    """The word that a stroke of the round begins; the round goes from place to place."""
    return RoundMark(key=f"begun {stroke}", kind="stroke", at_s=at_s, sector=stroke % 3, lasted_s=STROKE_S)


def followed(until_s: float) -> list[RoundEventDocument]:
    planned = paced(45).round
    assert planned is not None
    return [
        RoundEventDocument(kind="stroke", at_s=s.start_s, sector=s.sector, lasted_s=STROKE_S)
        for s in planned.strokes
        if s.end_s <= until_s
    ]


@pytest.fixture
def at_the_chair(tmp_path: Path, monkeypatch: pytest.MonkeyPatch) -> Iterator[AtTheChair]:
    monkeypatch.setattr(chair, "heat_of_plan", heat_by_hand)
    environment = StandingClocks(data_directory=tmp_path, seconds=1000)
    with open_practice(environment, draws=200) as practice:
        made = practice.create(to_document(case_of(healthy_premolar())))
        visit = practice.safety.open_visit(made.case_id, base_revision=1, kind="cut", by="DN")
        found = AtTheChair(practice=practice, environment=environment, case_id=made.case_id, revision=visit.number)
        found.save()
        yield found


def test_a_stroke_is_waited_for_and_never_done_by_the_clock_alone(at_the_chair: AtTheChair) -> None:
    """A closed lid, a night: whatever the clock says, nothing is done that nobody said began."""
    at_the_chair.start(lead_s=5)
    for seconds, phase in [(0, "rest"), (5, "stroke"), (5 + 20 * TURN_S, "stroke"), (3000, "stroke"), (1, "rest")]:
        at_the_chair.environment.seconds = 1000 + seconds
        at_the_chair.environment.moment = START + timedelta(seconds=seconds)
        state = at_the_chair.now().state
        assert state is not None
        assert (state.phase, state.next_sector, state.strokes_left, state.deviations) == (phase, 0, 3, []), seconds


def test_what_was_said_counts_whatever_the_clock_and_a_program_that_was_killed(at_the_chair: AtTheChair) -> None:
    round_id = at_the_chair.start()
    at_the_chair.environment.turn(60)
    at_the_chair.mark(round_id, begun(0, 7.0), begun(1, 40.0))
    for found in (at_the_chair, at_the_chair.started_anew()):
        state = found.now().state
        assert state is not None
        assert (state.phase, state.next_sector, state.passes_done, state.strokes_left) == ("stroke", 2, [1, 1, 0], 1)
        assert state.due_at_s == pytest.approx(40 + TURN_S)  # late by 40 - TURN_S: what is left moves with it
    at_the_chair.mark(round_id, begun(2, 50.0))
    state = at_the_chair.now().state
    assert state is not None and (state.phase, state.strokes_left) == ("done", 0)


def test_what_a_page_of_an_earlier_version_marked_by_its_clock_is_kept_and_not_done(at_the_chair: AtTheChair) -> None:
    round_id = at_the_chair.start()
    at_the_chair.environment.turn(60)
    at_the_chair.mark(round_id, RoundMark(key="stroke 0", kind="stroke", at_s=0, sector=0, lasted_s=STROKE_S))
    found = at_the_chair.now()
    assert [mark.kind for mark in found.record.marks] == ["stroke"]
    assert found.state is not None and found.state.strokes_left == 3


@pytest.mark.parametrize("by_s", [-300, 300])
def test_a_clock_of_the_day_that_is_set_while_the_program_runs_changes_nothing_and_is_said(
    at_the_chair: AtTheChair, by_s: float
) -> None:
    at_the_chair.environment.turn(300)
    at_the_chair.start()
    at_the_chair.environment.turn(4, by_day_s=4 + by_s)
    found = at_the_chair.now()
    assert (found.now_s, found.clock) == (pytest.approx(4), "was set")
    assert found.clock_note is not None and "by 300 s" in found.clock_note
    # A clock that was set back behind what is written closes the gate, as it does everywhere else.
    assert bool(found.halted) == (by_s < 0)


def test_a_round_is_taken_up_again_by_a_program_that_was_started_anew(at_the_chair: AtTheChair) -> None:
    round_id = at_the_chair.start(lead_s=5)
    at_the_chair.mark(round_id, begun(0, 0.0), touch("t", 0.2, 0.5))
    at_the_chair.environment.turn(5 + TURN_S + 0.2)
    found = at_the_chair.started_anew().now()
    assert (found.record.id, found.now_s, found.clock, found.halted) == (round_id, pytest.approx(TURN_S + 0.2), "runs", ())
    assert found.state is not None
    assert (found.state.phase, found.state.next_sector, found.state.touches_s) == ("stroke", 1, [0.5])


@pytest.mark.parametrize(
    ("steady_s", "by_day_s"), [(4, 304), (4, -296), (-900, 60)], ids=["day on", "day back", "machine anew"]
)
def test_after_a_new_start_clocks_that_disagree_tell_nobody_where_it_stands(
    at_the_chair: AtTheChair, steady_s: float, by_day_s: float
) -> None:
    at_the_chair.environment.turn(900)
    round_id = at_the_chair.start()
    at_the_chair.environment.turn(steady_s, by_day_s=by_day_s)
    anew = at_the_chair.started_anew()
    found = anew.now()
    assert (found.clock, found.state) == ("unknown", None)
    assert any("where the round stands is not known" in why for why in found.halted)
    anew.close(round_id, followed(TURN_S))
    assert anew.practice.rounds.now(anew.case_id) is None


def test_a_round_forgotten_overnight_is_named_and_closed_with_what_was_done(at_the_chair: AtTheChair) -> None:
    round_id = at_the_chair.start()
    at_the_chair.environment.turn(16 * 3600)
    anew = at_the_chair.started_anew()
    found = anew.now()
    assert found.record.id == round_id
    assert found.halted and found.state is None  # the answers of the visit no longer count
    state = anew.close(round_id, followed(TURN_S))
    assert (sum(state.passes_done), state.strokes_left) == (1, 2)
    assert anew.practice.rounds.of_case(anew.case_id)[0].end is not None


def test_a_second_start_is_refused_while_one_is_open(at_the_chair: AtTheChair) -> None:
    round_id = at_the_chair.start()
    with pytest.raises(RoundOpen):
        at_the_chair.start()
    with pytest.raises(RoundOpen):
        at_the_chair.started_anew().start()
    at_the_chair.close(round_id, [])
    assert at_the_chair.start() != round_id


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
    assert at_the_chair.practice.rounds.now(at_the_chair.case_id) is None


def test_what_happened_is_kept_though_the_gate_is_closed_by_now(at_the_chair: AtTheChair) -> None:
    round_id = at_the_chair.start()
    at_the_chair.save(cardiac_device="yes")
    at_the_chair.mark(round_id, touch("t", 1.0, 0.3))
    state = at_the_chair.close(round_id, followed(2 * TURN_S + STROKE_S + 0.01))
    assert (sum(state.passes_done), state.strokes_left) == (3, 0)


def test_a_round_names_the_visit_it_ran_in_though_another_was_opened_since(at_the_chair: AtTheChair) -> None:
    round_id = at_the_chair.start()
    at_the_chair.environment.turn(60)
    at_the_chair.practice.safety.open_visit(at_the_chair.case_id, base_revision=at_the_chair.revision, kind="again", by="DN")
    at_the_chair.close(round_id, followed(TURN_S))
    visits = at_the_chair.practice.open(at_the_chair.case_id).document["visits"]
    (ended,) = at_the_chair.practice.rounds.of_case(at_the_chair.case_id)
    assert ended.visit_opened_at == visits[0]["opened_at"] != visits[1]["opened_at"]


def test_sixty_rounds_in_one_visit_all_end_though_its_note_is_full(at_the_chair: AtTheChair) -> None:
    document = at_the_chair.practice.open(at_the_chair.case_id).document
    document["visits"][0]["note"] = "x" * 2000  # not one character more is taken
    at_the_chair.revision = at_the_chair.practice.save(
        at_the_chair.case_id, base_revision=at_the_chair.revision, document=document
    ).revision
    for _ in range(60):
        at_the_chair.close(at_the_chair.start(), followed(TURN_S))
    found = at_the_chair.practice.rounds.of_case(at_the_chair.case_id)
    assert [round_.end is not None for round_ in found] == [True] * 60
    assert at_the_chair.practice.open(at_the_chair.case_id).revision == at_the_chair.revision  # the case is as it was saved


def test_a_stop_ends_the_count_and_what_is_sent_twice_is_written_once(at_the_chair: AtTheChair) -> None:
    round_id = at_the_chair.start()
    at_the_chair.environment.turn(20)
    stop = RoundMark(key="stop", kind="stopped", at_s=TURN_S - 0.5, sector=None, lasted_s=None)
    for _ in range(2):
        at_the_chair.mark(round_id, begun(0, 0.0), stop)
    found = at_the_chair.now()
    assert len(found.record.marks) == 2
    assert found.state is not None
    assert (found.state.phase, found.state.strokes_left) == ("stopped", 2)


@pytest.mark.parametrize(
    "mark",
    [touch("t", 1.0, sector=3), RoundMark(key="s", kind="stroke", at_s=1.0, sector=None, lasted_s=1.0)],
    ids=["no such place", "stroke without a place"],
)
def test_a_mark_that_cannot_be_is_refused_whole(at_the_chair: AtTheChair, mark: RoundMark) -> None:
    round_id = at_the_chair.start()
    with pytest.raises(WrongLog):
        at_the_chair.mark(round_id, touch("fine", 0.5), mark)
    assert at_the_chair.now().record.marks == ()


def test_a_closed_round_takes_nothing_more_and_stays_readable(at_the_chair: AtTheChair) -> None:
    round_id = at_the_chair.start()
    at_the_chair.mark(round_id, touch("t", 1.0))
    events = [*followed(TURN_S), RoundEventDocument(kind="metal", at_s=1.0, sector=1, lasted_s=0.5)]
    at_the_chair.close(round_id, events)
    with pytest.raises(RoundEnded):
        at_the_chair.mark(round_id, touch("late", 2.0))
    (found,) = at_the_chair.practice.rounds.of_case(at_the_chair.case_id)
    assert found.end is not None
    assert [event["kind"] for event in json.loads(found.end.log)] == ["stroke", "metal"]
    assert json.loads(found.end.state)["touches_s"] == [0.5]
    assert [mark.key for mark in found.marks] == ["t"]


def test_the_same_end_sent_again_writes_nothing_and_another_is_refused(at_the_chair: AtTheChair) -> None:
    round_id = at_the_chair.start()
    first = at_the_chair.close(round_id, followed(TURN_S))
    assert at_the_chair.close(round_id, followed(TURN_S)) == first
    with pytest.raises(RoundEnded):
        at_the_chair.close(round_id, followed(2 * TURN_S))

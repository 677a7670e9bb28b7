"""The round from its printed plan: the same state as from the task it was planned with, and only behind the gate."""

from datetime import datetime

import pytest

from collum.app.speaking import words
from collum.core.heat.pacing import Pacing, plan_pacing
from collum.core.heat.pacing_round import RoundEvent, round_state
from collum.core.heat.pacing_task import PacingTask, Place, hand_rules, ring_neighbours
from collum.plan.safety import Screening, screen
from collum.plan.safety.gate import ToothGate
from collum.wire.form import SentenceDocument
from collum.wire.heat.document import (
    HandDocument,
    HeatSectorDocument,
    RoundDocument,
    RoundEventDocument,
    StrokeDocument,
    ToothHeatDocument,
)
from collum.wire.heat.round_now import GateClosed, round_now
from tests.making.teeth import case_of, overgrown_premolar

TASK = PacingTask(
    places=tuple(
        Place(length_mm=5, speed_mm_s=7, passes=2, pause_s=8, neighbours=beside) for beside in ring_neighbours(3, closed=False)
    ),
    rules=hand_rules(),
)
MOMENT = datetime.fromisoformat("2026-11-25T12:00:00+00:00")
CASE = case_of(overgrown_premolar())


def screened(*teeth: ToothGate) -> Screening:
    return Screening(procedure="current", plan="", case=CASE, visit=None, points=(), teeth=teeth)


CLEARED = screened(ToothGate(number=45, points=(), shared_closed=False))


def printed() -> ToothHeatDocument:
    """The wire form of a made round."""
    pacing = plan_pacing(TASK)
    assert isinstance(pacing, Pacing)
    said = SentenceDocument(key="k", parameters={}, text="t")
    return ToothHeatDocument(
        number=45,
        universal=29,
        name=said,
        outcome="paced",
        passes_asked=2,
        answer=[],
        sectors=[
            HeatSectorDocument(
                number=number,
                from_deg=0,
                to_deg=90,
                centre_deg=90.0 * number,
                length_mm=place.length_mm,
                stroke_s=place.stroke_s,
                passes=place.passes,
                form="straight wire",
                rest_s=place.pause_s,
                rest_repeat_s=place.pause_s * 1.25,
                neighbours=list(place.neighbours),
                tissue_over_bone_mm=2,
                remarks=[],
            )
            for number, place in enumerate(TASK.places)
        ],
        kept_out=[],
        hand=HandDocument(speed_mm_s=7, move_s=1, neighbour_s=2, longest_wait_s=30, tolerance_s=0.2),
        round=RoundDocument(
            strokes=[
                StrokeDocument(sector=s.place, number=s.number, start_s=s.start_s, end_s=s.end_s, wait_s=s.waited_s)
                for s in pacing.strokes
            ],
            duration_s=pacing.duration_s,
            waiting_s=pacing.waiting_s,
            neighbours_apart_s=pacing.neighbours_apart_s,
            organs=[],
        ),
        by_passes=[],
        reminders=[],
    )


def test_the_printed_round_stands_where_the_planned_one_does() -> None:
    pacing = plan_pacing(TASK)
    assert isinstance(pacing, Pacing)
    log = [RoundEventDocument(kind="began", at_s=50)]
    log += [RoundEventDocument(kind="stroke", at_s=50 + s.start_s, sector=s.place, lasted_s=5 / 7) for s in pacing.strokes[:4]]
    log += [RoundEventDocument(kind="metal", at_s=log[-1].at_s + 1, lasted_s=0.5)]
    events = [RoundEvent(kind=e.kind, at_s=e.at_s, place=e.sector, lasted_s=e.lasted_s) for e in log]
    for after_s in (12.0, 13.0, 40.0):
        found = round_now(printed(), CLEARED, log, 50 + after_s, words)
        expected = round_state(TASK, pacing.strokes, events, 50 + after_s)
        assert (found.phase, found.next_sector, found.passes_done) == (
            expected.phase,
            expected.next_place,
            list(expected.passes_done),
        )
        assert found.wait_s == pytest.approx(expected.wait_s, abs=1e-6)  # printed to the microsecond
        assert found.due_at_s == pytest.approx(expected.due_at_s, abs=1e-6)
        assert [d.kind for d in found.deviations] == [d.kind for d in expected.deviations] == ["metal, pulp at risk"]
        assert found.touches_s == [0.5]


@pytest.mark.parametrize(
    ("pulp", "kind", "said"),
    [
        (True, "metal, pulp at risk", "Metal was touched for 0.5 s: the pulp may be harmed."),
        (False, "metal", "Metal was touched for 0.5 s. Write it down; if it was a neighbour's, test that tooth later."),
    ],
)
def test_of_a_pulp_that_is_not_there_nothing_is_said_after_a_touch_on_metal(pulp: bool, kind: str, said: str) -> None:
    log = [RoundEventDocument(kind="began", at_s=0), RoundEventDocument(kind="metal", at_s=1, lasted_s=0.5)]
    (found,) = round_now(printed().model_copy(update={"pulp": pulp}), CLEARED, log, 2, words).deviations
    assert (found.kind, found.by_s) == (kind, 0.5) and found.text.text.startswith(said)
    assert ("pulp" in found.text.text) is pulp


def test_a_round_of_the_record_that_does_not_say_it_is_told_as_before() -> None:
    stored = printed().model_dump(exclude={"pulp"})
    assert ToothHeatDocument.model_validate(stored).pulp


def test_it_says_in_words_what_is_next() -> None:
    log = [RoundEventDocument(kind="began", at_s=0), RoundEventDocument(kind="stroke", at_s=0, sector=0, lasted_s=0.7)]
    assert round_now(printed(), CLEARED, [], 0, words).text.text == "The round has not begun: 6 strokes."
    assert round_now(printed(), CLEARED, log, 0.7, words).text.text.startswith("Next: place 3, lingual, in 1")
    assert round_now(printed(), CLEARED, log, 60, words).text.text == (
        "Ready: place 3, lingual. It begins when somebody says so."
    )
    stopped = [*log, RoundEventDocument(kind="stopped", at_s=2)]
    assert round_now(printed(), CLEARED, stopped, 60, words).text.text == "The round was stopped with 5 strokes left."


def test_quick_hands_may_go_on_as_soon_as_rests_and_heat_allow_and_late_ones_move_what_is_left() -> None:
    """The round is printed with 10 s more before each stroke for the hands; rests and heat alone are the lower bound."""
    slow = printed()
    assert slow.round is not None
    soonest = slow.round.strokes
    strokes = [
        s.model_copy(update={"start_s": s.start_s + 10 * i, "end_s": s.end_s + 10 * i, "earliest_s": s.start_s, "wait_s": 0.0})
        for i, s in enumerate(soonest)
    ]
    slow = slow.model_copy(update={"round": slow.round.model_copy(update={"strokes": strokes})})
    log = [RoundEventDocument(kind="began", at_s=0), RoundEventDocument(kind="stroke", at_s=0, sector=0, lasted_s=5 / 7)]
    assert round_now(slow, CLEARED, log, 1, words).due_at_s == pytest.approx(soonest[1].start_s, abs=1e-5)
    late = [log[0], log[1].model_copy(update={"at_s": 4.0})]
    assert round_now(slow, CLEARED, late, 5, words).due_at_s == pytest.approx(soonest[1].start_s + 4, abs=1e-5)
    waited = next(i for i, s in enumerate(soonest) if s.wait_s > 0)
    early = [
        *(RoundEventDocument(kind="stroke", at_s=s.start_s, sector=s.sector, lasted_s=5 / 7) for s in soonest[:waited]),
        RoundEventDocument(kind="stroke", at_s=soonest[waited].start_s - 1, sector=soonest[waited].sector, lasted_s=5 / 7),
    ]
    assert [one.kind for one in round_now(slow, CLEARED, [log[0], *early], 60, words).deviations] == ["too soon"]


@pytest.mark.parametrize(
    "screening",
    [
        screened(),
        screened(ToothGate(number=45, points=(), shared_closed=True)),
        screened(ToothGate(number=46, points=(), shared_closed=False)),
    ],
    ids=["nothing answered", "closed for all", "another tooth"],
)
def test_behind_a_closed_gate_there_is_no_round(screening: Screening) -> None:
    with pytest.raises(GateClosed) as refused:
        round_now(printed(), screening, [], 0, words)
    assert words(refused.value.reason)


def test_a_case_whose_questions_are_unanswered_has_no_round() -> None:
    with pytest.raises(GateClosed):
        round_now(printed(), screen(case_of(overgrown_premolar()), now=MOMENT), [], 0, words)


def test_without_a_planned_round_there_is_none_to_stand_in() -> None:
    with pytest.raises(ValueError, match="no round is planned"):
        round_now(printed().model_copy(update={"round": None}), CLEARED, [], 0, words)


def test_tolerance_and_repeats_come_from_the_printed_plan() -> None:
    longer = printed()
    sectors = [s.model_copy(update={"rest_repeat_s": 20.0}) for s in longer.sectors]
    rounds = longer.round
    assert rounds is not None
    strokes = [
        *rounds.strokes,
        rounds.strokes[0].model_copy(update={"number": 3, "start_s": 30.0, "end_s": 30.7, "wait_s": 0.0}),
    ]
    longer = longer.model_copy(update={"sectors": sectors, "round": rounds.model_copy(update={"strokes": strokes})})
    log = [RoundEventDocument(kind="began", at_s=0)]
    log += [RoundEventDocument(kind="stroke", at_s=s.start_s, sector=s.sector, lasted_s=0.7) for s in strokes[:-1]]
    last_there = max(s.end_s for s in strokes[:-1] if s.sector == strokes[0].sector)
    found = round_now(longer, CLEARED, log, 16, words)
    assert found.due_at_s == pytest.approx(max(30.0, last_there + 20), abs=0.1)  # a stroke of 0.7 s, not 5/7

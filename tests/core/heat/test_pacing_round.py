"""The round at the chair: everything follows from the plan, the log and the present instant."""

from dataclasses import replace

import pytest

from collum.core.heat.pacing import Pacing, plan_pacing
from collum.core.heat.pacing_round import DeviationKind, RoundEvent, RoundState, round_state
from collum.core.heat.pacing_task import PacingTask, Stroke
from collum.evidence import value
from tests.core.heat.making_rounds import even_task

TASK = even_task(3, 2)
BEGAN_S = 1000.0  # the clock has any origin
STROKE_S = 5 / 7


def planned() -> tuple[Stroke, ...]:
    found = plan_pacing(TASK)
    assert isinstance(found, Pacing)
    return found.strokes


def began() -> RoundEvent:
    return RoundEvent(kind="began", at_s=BEGAN_S)


def stroke(place: int, at_s: float, lasted_s: float = STROKE_S) -> RoundEvent:
    return RoundEvent(kind="stroke", at_s=BEGAN_S + at_s, place=place, lasted_s=lasted_s)


def as_planned(count: int, late_s: float = 0) -> list[RoundEvent]:
    return [began(), *(stroke(s.place, s.start_s + late_s) for s in planned()[:count])]


def at(log: list[RoundEvent], after_s: float, task: PacingTask = TASK) -> RoundState:
    return round_state(task, planned(), log, BEGAN_S + after_s)


def kinds(state: RoundState) -> list[DeviationKind]:
    return [deviation.kind for deviation in state.deviations]


def test_before_the_beginning_nothing_is_due() -> None:
    state = round_state(TASK, planned(), [], 5.0)
    assert (state.phase, state.elapsed_s, state.next_place, state.due_at_s, state.wait_s) == ("not begun", 0, None, None, 0)
    assert (state.passes_done, state.strokes_left) == ((0, 0, 0), 6)


def test_the_countdown_follows_from_the_present_instant_alone() -> None:
    log = as_planned(3)
    due_s = planned()[3].start_s
    for after_s in (due_s - 4, due_s - 2.5, due_s - 0.25):
        state = at(log, after_s)
        assert (state.phase, state.next_place) == ("rest", planned()[3].place)
        assert state.wait_s == pytest.approx(due_s - after_s)
        assert state.elapsed_s == pytest.approx(after_s)
    assert at(log, due_s + 1e-6).phase == "stroke"  # a hair: sums of floats
    asleep = at(log, due_s + 600)
    assert (asleep.phase, asleep.wait_s, asleep.strokes_left) == ("stroke", 0, 3)
    assert at(log, due_s - 4) == at(log, due_s - 4)


def test_a_round_as_planned_has_no_deviation_and_ends() -> None:
    state = at(as_planned(6), planned()[-1].end_s + 1)
    assert (state.phase, state.passes_done, state.strokes_left, state.deviations) == ("done", (2, 2, 2), 0, ())


def test_a_late_stroke_moves_all_that_is_left_and_is_no_fault() -> None:
    log = [*as_planned(2), stroke(planned()[2].place, planned()[2].start_s + 3)]
    state = at(log, planned()[2].start_s + 5)
    assert state.due_at_s == pytest.approx(BEGAN_S + planned()[3].start_s + 3)
    assert state.deviations == ()


def test_a_stroke_before_its_rest_is_noted_with_its_seconds_and_the_next_rest_counts_from_it() -> None:
    first = planned()[0].place
    log = [*as_planned(3), stroke(first, planned()[3].start_s - 2)]
    state = at(log, planned()[3].start_s)
    assert kinds(state) == ["too soon"]
    assert state.deviations[0].by_s == pytest.approx(2)
    assert (state.deviations[0].place, state.deviations[0].at_s) == (first, log[-1].at_s)


def test_within_the_tolerance_nothing_is_noted() -> None:
    hair_s = 0.01
    tolerance_s = value("pacing.tolerance_s")
    third = planned()[3]
    for early_s, expected in ((tolerance_s - hair_s, []), (tolerance_s + hair_s, ["too soon"])):
        assert kinds(at([*as_planned(3), stroke(third.place, third.start_s - early_s)], 60)) == expected
    for over_s, expected in ((tolerance_s - hair_s, []), (tolerance_s + hair_s, ["too slow"])):
        assert kinds(at([began(), stroke(planned()[0].place, 0, STROKE_S + over_s)], 60)) == expected


def test_a_quicker_hand_is_no_fault_where_nothing_has_to_rest() -> None:
    second = planned()[1]
    assert second.waited_s == 0
    assert at([*as_planned(1), stroke(second.place, second.start_s - 0.5)], 3).deviations == ()


def test_a_wait_that_heat_asks_for_is_kept_too() -> None:
    """The plan waits 20 s where the rest alone would allow the stroke after 8."""
    first = Stroke(place=0, number=1, start_s=0, end_s=STROKE_S, waited_s=0)
    second = Stroke(place=0, number=2, start_s=20.0, end_s=20 + STROKE_S, waited_s=18.3)
    log = [began(), stroke(0, 0), stroke(0, 12.0)]
    found = round_state(even_task(1, 2), (first, second), log, BEGAN_S + 13)
    assert kinds(found) == ["too soon"]
    assert found.deviations[0].by_s == pytest.approx(8)


def test_another_place_is_noted_and_the_plan_goes_on_with_what_is_left() -> None:
    order = [s.place for s in planned()]
    log = [began(), stroke(order[1], 0)]
    state = at(log, 1)
    assert kinds(state) == ["other place"]
    assert (state.next_place, state.strokes_left) == (order[0], 5)


def test_a_stroke_too_many_is_noted() -> None:
    state = at([*as_planned(6), stroke(0, 60)], 61)
    assert (kinds(state), state.phase, state.passes_done[0]) == (["stroke too many"], "done", 3)


@pytest.mark.parametrize(
    ("lasted_s", "kind"), [(0.1, "metal"), (0.4, "metal"), (0.41, "metal, pulp at risk"), (1.0, "metal, pulp at risk")]
)
def test_a_touch_of_metal_is_kept_with_its_seconds(lasted_s: float, kind: DeviationKind) -> None:
    """Beyond 0.4 s pulps of dogs had changed in most teeth (Krejci et al. 1982)."""
    log = [*as_planned(1), RoundEvent(kind="metal", at_s=BEGAN_S + 1, lasted_s=lasted_s, place=1)]
    state = at(log, 2)
    assert state.touches_s == (lasted_s,)
    assert kinds(state) == [kind]
    assert state.deviations[0].by_s == lasted_s


def test_a_stopped_round_stands_still() -> None:
    log = [*as_planned(2), RoundEvent(kind="stopped", at_s=BEGAN_S + 9)]
    state = at(log, 500)
    assert (state.phase, state.elapsed_s, state.next_place, state.strokes_left) == ("stopped", 9, None, 4)


@pytest.mark.parametrize(
    ("log", "fault"),
    [
        ([stroke(0, 0)], "starts with its beginning"),
        ([began(), began()], "begins once"),
        ([began(), RoundEvent(kind="stopped", at_s=BEGAN_S + 1), stroke(0, 2)], "ends when it is stopped"),
        ([began(), stroke(0, 5), stroke(1, 4)], "goes back"),
        ([began(), stroke(3, 0)], "no place 3"),
    ],
)
def test_a_log_that_cannot_be_is_refused(log: list[RoundEvent], fault: str) -> None:
    with pytest.raises(ValueError, match=fault):
        at(log, 10)


def test_a_line_of_the_log_is_whole_or_refused() -> None:
    whole = stroke(0, 0)
    for change in ({"place": None}, {"lasted_s": None}, {"lasted_s": -0.1}):
        with pytest.raises(ValueError, match=r"needs|less than"):
            replace(whole, **change)
    with pytest.raises(ValueError, match="metal"):
        RoundEvent(kind="metal", at_s=0)

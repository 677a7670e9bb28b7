"""Hands in the pacing: they only add, groups come together, and a later or a quicker start keeps every limit."""

from dataclasses import replace
from itertools import groupby

import numpy as np
import pytest
from numpy.random import Generator

from collum.core.heat import Organ
from collum.core.heat.pacing import Pacing, judge_strokes, plan_pacing
from collum.core.heat.pacing_round import RoundEvent, round_state
from collum.core.heat.pacing_task import HandPosition, HandTimes, PacingTask, Stroke, hand_rules, usual_hands
from tests.core.heat.making_rounds import broken_rules, even_task, random_task, warmth

NONE = HandTimes(position_s=0, wipe_s=0, change_s=0)
SIDES: tuple[HandPosition, ...] = ("facial", "facial", "proximal", "oral", "oral", "proximal")
DUST_S = 1e-6


def paced(task: PacingTask) -> Pacing:
    found = plan_pacing(task)
    assert isinstance(found, Pacing)
    return found


def round_the_tooth(task: PacingTask, hands: HandTimes | None) -> PacingTask:
    """Places round a tooth: two facial ones, one between the teeth, two oral ones with a bent wire, one between the teeth."""
    places = tuple(
        replace(place, hand_position=side, form="angled wire" if side == "oral" else "straight wire")
        for place, side in zip(task.places, SIDES, strict=False)
    )
    return replace(task, places=places, rules=replace(task.rules, hands=hands))


def groups_of(task: PacingTask, strokes: tuple[Stroke, ...]) -> list[tuple[str, str]]:
    """The groups in the order they are worked on: one entry each time hands or wire change."""
    kinds = [(task.places[s.place].form, task.places[s.place].hand_position) for s in strokes]
    return [kind for kind, _ in groupby(kinds)]


def test_hands_that_take_no_time_leave_the_round_as_rests_and_heat_have_it() -> None:
    rng = np.random.default_rng(5)
    for _ in range(30):
        task = random_task(rng)
        without, with_none = paced(task), paced(round_the_tooth(task, NONE))
        assert (with_none.strokes, with_none.soonest) == (without.strokes, without.strokes)


def test_longer_hand_times_never_shorten_a_round_and_never_start_a_stroke_before_its_earliest_moment() -> None:
    rng = np.random.default_rng(6)
    for _ in range(30):
        task = random_task(rng)
        hands = [HandTimes(position_s=p, wipe_s=w, change_s=c) for p, w, c in np.sort(rng.uniform(0, 40, (4, 3)), axis=0)]
        found = [paced(round_the_tooth(task, one)) for one in (None, *hands)]
        lengths = [one.duration_s for one in found]
        assert all(longer >= shorter - DUST_S for shorter, longer in zip(lengths, lengths[1:], strict=False)), task
        for one in found:
            assert broken_rules(task, one.strokes) == []
            assert all(s.start_s >= q.start_s - DUST_S for s, q in zip(one.strokes, one.soonest, strict=True))


@pytest.mark.parametrize("passes", [1, 2, 3])
def test_each_group_is_worked_on_at_a_stretch_and_each_wire_is_put_in_once(passes: int) -> None:
    task = round_the_tooth(even_task(6, passes, closed=True), usual_hands())
    found = paced(task)
    assert found.together == "whole"
    assert groups_of(task, found.strokes) == [
        ("straight wire", "facial"),
        ("straight wire", "proximal"),
        ("angled wire", "oral"),
    ]


def test_what_the_hands_take_is_added_where_they_take_it() -> None:
    """Six strokes of 5/7 s; by hand: five moves of 1 s, one change of wire of 20 s, four wipes of 3 s, two new sides of 8 s."""
    found = paced(round_the_tooth(even_task(6, 1, closed=True), usual_hands()))
    assert found.duration_s == pytest.approx(6 * 5 / 7 + 5 + 20 + 4 * 3 + 2 * 8)
    assert (found.waiting_s, found.longest_wait_s) == (pytest.approx(0), pytest.approx(0))


def hot_task(gap_mm: float, strength: float, hands: HandTimes | None, count: int = 4, passes: int = 2) -> PacingTask:
    organs: tuple[Organ, ...] = ("bone", "soft_tissue")
    task = replace(
        even_task(count, passes, length_mm=7), responses=warmth(count, gap_mm=gap_mm, organs=organs), strength=strength
    )
    return round_the_tooth(task, hands)


def test_where_heat_allows_no_round_with_groups_at_a_stretch_they_come_back_pass_by_pass() -> None:
    """One place each side that needs more rest between its passes than the longest wait: meanwhile the other is worked on."""
    task = round_the_tooth(even_task(2, 2), usual_hands())
    sides = (task.places[0], replace(task.places[1], hand_position="oral", neighbours=()))
    task = replace(task, places=(replace(sides[0], neighbours=()), sides[1]))
    task = replace(task, rules=replace(task.rules, longest_wait_s=5.0))
    rise = warmth(1, gap_mm=0.5)[0]
    cold = replace(rise, rise_degC=0 * rise.rise_degC)
    both = (
        replace(rise, rise_degC=np.concatenate([rise.rise_degC, cold.rise_degC]), organs=("bone", "bone")),
        replace(rise, rise_degC=np.concatenate([cold.rise_degC, rise.rise_degC]), organs=("bone", "bone")),
    )
    peak_degC = float(rise.rise_degC.max())
    hot = replace(task, responses=both, strength=6.3 / peak_degC)
    found = paced(hot)
    assert found.together == "by pass"
    assert [place.hand_position for place in (hot.places[s.place] for s in found.strokes)] == ["facial", "oral"] * 2
    assert paced(replace(hot, strength=0.1)).together == "whole"  # heat is what decides


def lived(rng: Generator, task: PacingTask, found: Pacing) -> tuple[Stroke, ...]:
    """Strokes as hands that are now quick, now late start them: each at or after the moment the running round allows."""
    log = [RoundEvent(kind="began", at_s=0)]
    strokes: list[Stroke] = []
    for planned in found.strokes:
        at_s = log[-1].at_s + (log[-1].lasted_s or 0)
        due_s = round_state(task.without_hands(), found.soonest, log, at_s).due_at_s
        assert due_s is not None
        late_s = float(rng.choice([0.0, rng.uniform(0, 3), rng.uniform(0, 40)]))
        lasted_s = task.places[planned.place].stroke_s
        log.append(RoundEvent(kind="stroke", at_s=max(due_s, at_s) + late_s, place=planned.place, lasted_s=lasted_s))
        start_s = log[-1].at_s
        strokes.append(replace(planned, start_s=start_s, end_s=start_s + lasted_s))
    state = round_state(task.without_hands(), found.soonest, log, log[-1].at_s)
    assert (state.phase, state.deviations) == ("done", ())
    return tuple(strokes)


@pytest.mark.parametrize(
    ("gap_mm", "strength", "count", "passes"), [(0.5, 1.3, 4, 2), (0.9, 2.2, 3, 2), (1.2, 2.6, 4, 2), (1.2, 2.7, 3, 2)]
)
def test_whatever_the_hands_do_every_limit_is_kept(gap_mm: float, strength: float, count: int, passes: int) -> None:
    """A later start finds cooler tissue, but warmth that has just arrived from another place: without room the dose in the
    last row rises to 1.03 of its limit.
    """
    task = hot_task(gap_mm, strength, usual_hands(), count, passes)
    found = paced(task)
    assert found.longest_wait_s > 5  # heat is what decides
    rng = np.random.default_rng(8)
    for _ in range(40):
        assert all(verdict.holds for verdict in judge_strokes(task, lived(rng, task, found)))


def test_a_round_that_is_started_late_all_along_is_cooler_than_the_planned_one() -> None:
    task = hot_task(0.9, 2.2, usual_hands())
    found = paced(task)
    assert [stroke.place for stroke in found.strokes] == [stroke.place for stroke in found.soonest]
    shares = []
    for late_s in (0.0, 2.0, 10.0):
        later = [replace(s, start_s=s.start_s + i * late_s, end_s=s.end_s + i * late_s) for i, s in enumerate(found.strokes)]
        shares.append(max(verdict.share for verdict in judge_strokes(task, later)))
    assert shares == sorted(shares, reverse=True) and shares[-1] < shares[0]


@pytest.mark.parametrize("times", [{"position_s": -1.0}, {"wipe_s": 61.0}, {"change_s": float("nan")}])
def test_a_time_outside_its_range_cannot_be_entered(times: dict[str, float]) -> None:
    with pytest.raises(ValueError, match=next(iter(times))):
        replace(usual_hands(), **times)


def test_usual_rules_reckon_with_no_hands_unless_they_are_given() -> None:
    assert hand_rules().hands is None
    assert hand_rules(usual_hands()).hands == HandTimes(position_s=8, wipe_s=3, change_s=20)

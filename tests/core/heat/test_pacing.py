"""The planner of rounds: no rule broken, near the exhaustive optimum, and an answer where no pause helps."""

from dataclasses import replace
from itertools import permutations

import numpy as np
import pytest

from collum.core.heat import Organ, judge_course, superpose
from collum.core.heat.pacing import NoPacing, Pacing, judge_strokes, plan_pacing
from collum.core.heat.pacing_search import best_orders, earliest_starts
from collum.core.heat.pacing_task import HandRules, PacingTask, Place, Stroke, hand_rules, pause_s, ring_neighbours
from tests.core.heat.making_rounds import TIMES_S, broken_rules, even_task, random_task, warmth


def paced(task: PacingTask) -> Pacing:
    found = plan_pacing(task)
    assert isinstance(found, Pacing)
    return found


def test_six_places_round_the_neck_need_no_idle_second() -> None:
    """Hand arithmetic: 12 strokes of 5/7 s and 11 moves of 1 s; the first place rests 10.29 - 0.71 = 9.57 s, over its 8."""
    found = paced(even_task(6, 2, closed=True))
    assert found.duration_s == pytest.approx(12 * 5 / 7 + 11)
    assert found.waiting_s == pytest.approx(0, abs=1e-9)
    assert found.neighbours_apart_s is not None and found.neighbours_apart_s >= 1 + 5 / 7 + 1 - 1e-9


def test_three_places_in_a_row_have_to_wait() -> None:
    """Hand arithmetic: the place stroked first rests 8 s, then three strokes with two moves, the last two of them beside it."""
    found = paced(even_task(3, 2))
    assert found.duration_s == pytest.approx(13.857, abs=1e-3)
    assert 3.6 <= found.waiting_s <= 5.6  # what three places alone are short of 8 to 10 s in a round


def test_one_place_rests_longer_from_its_third_stroke_on() -> None:
    """Hand arithmetic: 3 strokes of 5/7 s with rests of 8 and 10 s."""
    found = paced(even_task(1, 3))
    assert [round(s.start_s, 6) for s in found.strokes] == [0, pytest.approx(5 / 7 + 8), pytest.approx(10 / 7 + 18)]


def test_a_loop_rests_longer_than_a_wire() -> None:
    assert pause_s("straight wire") == pause_s("angled wire") == 8
    assert pause_s("loop") == 15


@pytest.mark.parametrize("change", [{"speed_mm_s": 6.99}, {"pause_s": 7.99}, {"passes": -1}, {"length_mm": 0.0}])
def test_a_place_below_a_floor_cannot_be_asked_for(change: dict[str, float]) -> None:
    place = Place(length_mm=5, speed_mm_s=7, passes=1, pause_s=8)
    with pytest.raises(ValueError, match=r"slower|shorter|passes"):
        replace(place, **change)  # type: ignore[arg-type]  # the case names fields of Place


def test_neighbours_have_to_be_mutual() -> None:
    alone = Place(length_mm=5, speed_mm_s=7, passes=1, pause_s=8)
    with pytest.raises(ValueError, match="neighbour"):
        PacingTask(places=(alone, replace(alone, neighbours=(0,))), rules=hand_rules())


@pytest.mark.parametrize(
    ("count", "closed", "expected"),
    [(1, True, ((),)), (2, True, ((1,), (0,))), (3, False, ((1,), (0, 2), (1,))), (4, True, ((1, 3), (0, 2), (1, 3), (0, 2)))],
)
def test_ring_neighbours(count: int, closed: bool, expected: tuple[tuple[int, ...], ...]) -> None:
    assert ring_neighbours(count, closed=closed) == expected


def test_nothing_to_cut_is_an_empty_round() -> None:
    found = paced(even_task(3, 0))
    assert (found.strokes, found.duration_s, found.neighbours_apart_s, found.organs) == ((), 0, None, ())


@pytest.mark.slow
def test_no_rule_is_broken_in_ten_thousand_random_rounds() -> None:
    rng = np.random.default_rng(20261125)
    for number in range(10_000):
        task = random_task(rng, most_places=5)
        found = paced(task)
        assert broken_rules(task, found.strokes) == [], f"round {number}: {task}"


def test_the_checker_of_rules_sees_planted_breaches() -> None:
    task = even_task(3, 2)
    strokes = list(paced(task).strokes)
    for number in range(1, len(strokes)):
        sooner = [replace(s, start_s=s.start_s - 0.01) if i == number else s for i, s in enumerate(strokes)]
        later = [replace(s, start_s=s.start_s + 0.01) if i < number else s for i, s in enumerate(strokes)]
        assert broken_rules(task, sooner) and broken_rules(task, later)
    assert broken_rules(task, strokes[:-1])


def by_all_orders(task: PacingTask) -> tuple[float, float]:
    """The least length over all orders, and the longest that neighbours are kept apart in a round of that length."""
    strokes = [place for place, asked in enumerate(task.places) for _ in range(asked.passes)]
    rounds = [earliest_starts(task, order) for order in set(permutations(strokes))]
    least_s = min(found[-1].end_s for found in rounds)
    return least_s, max(apart_s(task, found) for found in rounds if found[-1].end_s < least_s + 1e-9)


def apart_s(task: PacingTask, strokes: tuple[Stroke, ...]) -> float:
    pairs = [(a, b) for i, a in enumerate(strokes) for b in strokes[i + 1 :] if b.place in task.places[a.place].neighbours]
    return min((b.start_s - a.end_s for a, b in pairs), default=np.inf)


def test_the_round_is_as_short_as_the_best_of_all_orders() -> None:
    """A twentieth is allowed; of these none misses by more than dust."""
    rng = np.random.default_rng(7)
    tried = 0
    while tried < 80:
        task = random_task(rng, most_places=4, most_passes=3)
        if not 2 <= sum(place.passes for place in task.places) <= 6:
            continue
        tried += 1
        assert paced(task).duration_s == pytest.approx(by_all_orders(task)[0], abs=1e-6)


@pytest.mark.parametrize("passes", [1, 2, 3])
def test_eight_places_need_no_idle_second_and_keep_neighbours_three_moves_apart(passes: int) -> None:
    """Hand arithmetic: an order such as 1, 4, 7, 2, 5, 8, 3, 6 has two strokes of 5/7 s and three moves of 1 s in between."""
    found = paced(even_task(8, passes, closed=True))
    assert found.waiting_s == pytest.approx(0, abs=1e-9)
    assert found.neighbours_apart_s == pytest.approx(2 * 5 / 7 + 3)


@pytest.mark.parametrize(("count", "passes", "closed"), [(5, 1, True), (6, 1, False), (3, 2, False), (4, 1, False)])
def test_among_rounds_of_one_length_neighbours_are_kept_furthest_apart(count: int, passes: int, closed: bool) -> None:
    task = even_task(count, passes, closed=closed)
    found = paced(task)
    least_s, apart = by_all_orders(task)
    assert found.duration_s == pytest.approx(least_s)
    assert found.neighbours_apart_s == pytest.approx(apart)


@pytest.mark.slow
@pytest.mark.parametrize(
    ("count", "passes", "gap_mm", "strength", "organs"),
    [
        (1, 3, 0.5, 2.6, ("bone",)),
        (2, 2, 0.5, 3.0, ("bone",)),
        (2, 3, 0.5, 2.2, ("bone",)),
        (3, 2, 0.5, 2.7, ("bone",)),
        (1, 3, 0.9, 2.0, ("bone", "soft_tissue")),
        (2, 2, 0.9, 2.4, ("bone", "soft_tissue")),
        (3, 2, 0.9, 2.2, ("bone", "soft_tissue")),
    ],
)
def test_with_heat_nothing_a_twentieth_shorter_exists(
    count: int, passes: int, gap_mm: float, strength: float, organs: tuple[Organ, ...]
) -> None:
    """Every order and every start on a grid of half a second, down to 0.95 of the length found: none keeps all limits."""
    responses = warmth(count, gap_mm=gap_mm, organs=organs)
    task = replace(even_task(count, passes, length_mm=7), responses=responses, strength=strength)
    found = paced(task)
    assert found.duration_s > paced(replace(task, responses=())).duration_s + 0.5  # heat is what decides here
    places = [place for place in range(count) for _ in range(passes)]
    for order in sorted(set(permutations(places))):
        starts_s = grid_starts_s(task, order, 0.95 * found.duration_s)
        for some_s in np.array_split(starts_s, len(starts_s) // 400 + 1):
            assert not keep_limits(task, order, some_s).any(), order


def grid_starts_s(task: PacingTask, order: tuple[int, ...], until_s: float, step_s: float = 0.5) -> np.ndarray:
    """Every list of starts on the grid that keeps the rests and ends in time, as an array (n, strokes)."""
    rows = [[0.0]]
    for place in order[1:]:
        grown = []
        for row in rows:
            earliest = earliest_after(task, order, row, place)
            start = np.ceil(earliest / step_s - 1e-9) * step_s
            while start + 1 <= until_s:
                grown.append([*row, float(start)])
                start += step_s
        rows = grown
    return np.array(rows).reshape(len(rows), len(order))


def earliest_after(task: PacingTask, order: tuple[int, ...], row: list[float], place: int) -> float:
    least = row[-1] + 1 + task.rules.move_s
    done = [start for start, stroked in zip(row, order, strict=False) if stroked == place]
    if done:
        least = max(least, done[-1] + 1 + (8 if len(done) == 1 else 10))
    beside = [start for start, stroked in zip(row, order, strict=False) if stroked in task.places[place].neighbours]
    return max(least, beside[-1] + 1 + task.rules.neighbour_s) if beside else least


def keep_limits(task: PacingTask, order: tuple[int, ...], starts_s: np.ndarray) -> np.ndarray:
    """Which rows of starts keep 47 degC in bone and 50 degC in soft tissue, 37 at rest, and 16 and 9 equivalent minutes."""
    one, bone = task.responses[0], np.array(task.responses[0].organs) == "bone"
    instants = np.arange(400)
    temperature = np.full((len(starts_s), bone.size, instants.size), 37.0)
    for column, place in enumerate(order):
        at = instants[None, :] - np.round(starts_s[:, column] / one.step_s).astype(int)[:, None]
        rise = task.responses[place].rise_degC[:, np.clip(at, 0, None)].transpose(1, 0, 2)
        temperature += np.where(at[:, None, :] >= 0, rise * task.strength, 0)
    hot = (temperature.max(axis=2) > np.where(bone, 47, 50)).any(axis=1)
    cooler: np.ndarray = ~hot
    rate = np.where(temperature[cooler] < 43, 0.25, 0.5) ** (43 - temperature[cooler]) * (temperature[cooler] >= 39)
    cooler[cooler] = (rate.sum(axis=2) * one.step_s / 60 <= np.where(bone, 16, 9)).all(axis=1)
    return cooler


def test_the_judged_course_is_that_of_the_public_parts() -> None:
    task = replace(even_task(2, 2, length_mm=7), responses=warmth(2, gap_mm=0.5), strength=2.7)
    found = paced(task)
    starts_s = [[s.start_s for s in found.strokes if s.place == place] for place in (0, 1)]
    course = superpose(task.responses, starts_s)
    assert found.organs == judge_strokes(task, found.strokes)
    for ours, public in zip(found.organs, judge_course(course.scaled(2.7)), strict=True):
        assert ours.share == pytest.approx(public.share)
    assert all(verdict.holds for verdict in found.organs)


@pytest.mark.slow
def test_a_round_offered_keeps_rules_and_limits_whatever_the_heat() -> None:
    rng = np.random.default_rng(3)
    answered = {"paced": 0, "none": 0}
    for _ in range(150):
        count, passes = int(rng.integers(1, 5)), int(rng.integers(1, 4))
        task = replace(
            even_task(count, passes, length_mm=7, closed=bool(rng.integers(2))),
            responses=warmth(count, gap_mm=rng.uniform(0.4, 1.5), organs=("bone", "soft_tissue")),
            strength=rng.uniform(0.5, 2.7),
        )
        found = plan_pacing(task)
        offered = found if isinstance(found, Pacing) else found.with_fewer
        answered["paced" if isinstance(found, Pacing) else "none"] += 1
        if isinstance(found, NoPacing):
            assert found.worst.share > 1
            most = [0 if i in found.left_out else max(found.passes_that_hold, 1) for i in range(count)]
            task = replace(
                task, places=tuple(replace(p, passes=min(p.passes, m)) for p, m in zip(task.places, most, strict=True))
            )
        if offered is not None:
            assert broken_rules(task, offered.strokes) == []
            assert all(v.holds for v in judge_strokes(task, offered.strokes))
    assert min(answered.values()) >= 15


def six_cuts(gap_mm: float, passes: int = 6) -> PacingTask:
    """Cuts 7 mm long and 2 mm deep at one place over bone, in the worst band: strength 2.7, no perfusion."""
    return replace(even_task(1, passes, length_mm=7), responses=warmth(1, gap_mm=gap_mm), strength=2.7)


def test_where_no_pause_helps_it_says_how_many_passes_do() -> None:
    """Six cuts half a millimetre over bone pass 47 degC even with a cut every 30 s (37 + 3.79 * 2.69 = 47.2)."""
    found = plan_pacing(six_cuts(0.5))
    assert isinstance(found, NoPacing)
    assert found.worst.organ == "bone" and found.worst.share > 1
    assert (found.passes_asked, found.longest_wait_s) == (6, 30)
    assert 1 <= found.passes_that_hold < 6
    assert found.with_fewer is not None
    assert len(found.with_fewer.strokes) == found.passes_that_hold
    assert all(verdict.holds for verdict in found.with_fewer.organs)


def test_strokes_after_the_first_at_a_place_have_responses_of_their_own() -> None:
    """Hand arithmetic: with rises of 1 K for the first and 2 K for later strokes, held for ever, three strokes make 5 K.

    The ligament may rise by 10 K and has no limit of dose.
    """
    held = replace(warmth(1, gap_mm=0.5)[0], rise_degC=np.ones((1, TIMES_S.size)), organs=("ligament",))
    task = replace(even_task(1, 3), responses=(held,), later_responses=(replace(held, rise_degC=2 * held.rise_degC),))
    found = paced(task)
    (ligament,) = found.organs
    assert ligament.share == pytest.approx(0.5)
    assert isinstance(plan_pacing(replace(task, strength=1.99)), Pacing)
    too_much = plan_pacing(replace(task, strength=2.01))  # 10.05 K, 10 allowed; two strokes are 6 K
    assert isinstance(too_much, NoPacing)
    assert too_much.passes_that_hold == 2


def test_more_distance_is_the_other_way_out() -> None:
    assert isinstance(plan_pacing(six_cuts(1.0)), Pacing)


def test_one_stroke_too_many_leaves_no_round_at_all() -> None:
    found = plan_pacing(replace(six_cuts(0.5), strength=20))
    assert isinstance(found, NoPacing)
    assert (found.passes_that_hold, found.left_out, found.with_fewer) == (0, (), None)


def test_where_one_pass_all_round_is_too_much_the_warmest_places_are_left_out() -> None:
    """Three places over one point of bone, the second twice as warm: any two others hold together, not all three."""
    responses = warmth(1, gap_mm=0.5)
    alike = (responses[0], replace(responses[0], rise_degC=2 * responses[0].rise_degC), responses[0])
    strength = 4 / responses[0].rise_degC.max()  # 4, 8 and 4 K at their peaks, 10 allowed
    task = replace(even_task(3, 1), responses=alike, strength=float(strength))
    task = replace(task, rules=replace(task.rules, longest_wait_s=1.0))
    found = plan_pacing(task)
    assert isinstance(found, NoPacing)
    assert (found.passes_that_hold, found.left_out) == (0, (1,))
    assert found.with_fewer is not None
    assert sorted(stroke.place for stroke in found.with_fewer.strokes) == [0, 2]
    assert all(verdict.holds for verdict in found.with_fewer.organs)


def test_more_heat_never_shortens_a_round() -> None:
    lengths = [paced(replace(six_cuts(0.5, passes=3), strength=s)).duration_s for s in (0.5, 1, 1.5, 2, 2.5)]
    assert lengths == sorted(lengths) and lengths[-1] > lengths[0]


def test_orders_of_one_task_differ_and_hold_all_strokes() -> None:
    task = even_task(4, 2, closed=True)
    orders = best_orders(task)
    assert len(set(orders)) == len(orders) > 1
    assert all(sorted(order) == [0, 0, 1, 1, 2, 2, 3, 3] for order in orders)


def test_no_stroke_overlaps_one_beside_it_even_with_a_quick_hand() -> None:
    rules = HandRules(move_s=0.0, neighbour_s=3.0, repeat_factor=1.0, longest_wait_s=30.0)
    task = replace(even_task(4, 1), rules=rules)
    strokes: tuple[Stroke, ...] = paced(task).strokes
    assert broken_rules(task, strokes) == []

"""Made rounds: tasks by rule and by chance, the warmth of made strokes, and a checker written apart from the planner."""

from collections.abc import Sequence

import numpy as np
from numpy.random import Generator

from collum.core.heat import StrokeResponse
from collum.core.heat.pacing_task import HandRules, PacingTask, Place, Stroke, hand_rules, ring_neighbours
from collum.core.heat.sources import unit_heat_mJ_mm2
from collum.core.heat.superposition import Organ
from tests.core.heat.hot_sheet import HotSheet

TIMES_S = np.arange(0, 120.1, 0.25)


def even_task(
    count: int, passes: int, *, closed: bool = False, length_mm: float = 5, responses: tuple[StrokeResponse, ...] = ()
) -> PacingTask:
    """A row or ring of equal places, wire, usual rules."""
    beside = ring_neighbours(count, closed=closed)
    places = tuple(
        Place(length_mm=length_mm, speed_mm_s=7, passes=passes, pause_s=8, neighbours=beside[i]) for i in range(count)
    )
    return PacingTask(places=places, rules=hand_rules(), responses=responses)


def warmth(
    count: int, *, gap_mm: float, depth_mm: float = 2, length_mm: float = 7, organs: Sequence[Organ] = ("bone",)
) -> tuple[StrokeResponse, ...]:
    """Responses of places in a straight row, bone below each and soft tissue beside each."""
    at = {"bone": (0, depth_mm + gap_mm), "soft_tissue": (gap_mm, depth_mm / 2)}
    sheet = HotSheet(length_mm=length_mm, depth_mm=depth_mm, heat_mJ_mm2=unit_heat_mJ_mm2())
    made = []
    for stroked in range(count):
        points = [(at[organ][0], (watched - stroked) * length_mm, at[organ][1]) for watched in range(count) for organ in organs]
        made.append(
            StrokeResponse(
                times_s=TIMES_S,
                rise_degC=sheet.rise_degC(TIMES_S, np.array(points, dtype=float)),
                organs=tuple(organs) * count,
                stroke_s=length_mm / 7,
            )
        )
    return tuple(made)


def random_task(rng: Generator, most_places: int = 6, most_passes: int = 3) -> PacingTask:
    """A task with every figure drawn, some places left alone."""
    count = int(rng.integers(1, most_places + 1))
    beside = ring_neighbours(count, closed=bool(rng.integers(2)))
    places = tuple(
        Place(
            length_mm=rng.uniform(1, 8),
            speed_mm_s=rng.uniform(7, 12),
            passes=int(rng.integers(0, most_passes + 1)),
            pause_s=rng.choice([8.0, 9.5, 10.0, 15.0]),
            neighbours=beside[position],
        )
        for position in range(count)
    )
    rules = HandRules(
        move_s=rng.uniform(0.5, 2), neighbour_s=rng.uniform(1, 6), repeat_factor=rng.uniform(1, 1.5), longest_wait_s=30
    )
    return PacingTask(places=places, rules=rules)


def broken_rules(task: PacingTask, strokes: Sequence[Stroke]) -> list[str]:
    """Every rule a round breaks, from the bare list of strokes: nothing of the planner is used."""
    dust_s = 1e-6
    found = []
    place = np.array([s.place for s in strokes], dtype=int)
    start = np.array([s.start_s for s in strokes])
    end = start + np.array([task.places[p].length_mm / task.places[p].speed_mm_s for p in place])
    counted = np.bincount(place, minlength=len(task.places)).tolist()
    if counted != [p.passes for p in task.places]:
        found.append(f"passes {counted}")
    if (start[1:] < end[:-1] + task.rules.move_s - dust_s).any():
        found.append("two strokes at once")
    for position, asked in enumerate(task.places):
        mine = place == position
        rests = start[mine][1:] - end[mine][:-1]
        due = asked.pause_s * np.where(np.arange(rests.size) == 0, 1, task.rules.repeat_factor)
        if (rests < due - dust_s).any():
            found.append(f"place {position} rests {rests} of {due}")
        for other in asked.neighbours:
            gaps = start[place == other][None, :] - end[mine][:, None]
            if ((gaps > -dust_s) & (gaps < task.rules.neighbour_s - dust_s)).any():
                found.append(f"{other} too soon after {position}")
    return found

"""The entries of heat: a procedure run at once, a new pacing from kept responses, and the reference on a fine grid.

The peer is JAX with explicit steps on equal cells, as its users would write it. The program's grid has the same step about the
path and growing ones beyond, its steps in time are long and implicit: part of the ratio is the method, not the library.
Accuracy is the greatest difference half a millimetre and more from the path beside the greatest rise there.
"""

from functools import cache

import numpy as np

from benchmarks import heat_problem as problem
from benchmarks.measuring import alternate, milliseconds, spread
from benchmarks.peer import heat_in_jax
from collum.core.heat.alternating import AlternatingRun, resting_steps_s
from collum.core.heat.body import FAR, INSULATED, Body, HeatEntering
from collum.core.heat.compressed import compressed_response
from collum.core.heat.explicit import ExplicitRun
from collum.core.heat.grid import Grid, graded_edges
from collum.core.heat.sources import WireStroke, deposit, needle
from collum.core.heat.tissues import Tissue

Array = np.ndarray
FRAMES_S = np.arange(1, 181, dtype=float)
EVENING_S = problem.CYCLE_S * problem.STROKES
# How much of the block has the fine step, how fast it grows beyond, and how long steps in time may be: chosen for each purpose.
QUICK = {"step_mm": 0.2, "margin_mm": 0.8, "growth": 1.4}
REFERENCE = {"step_mm": 0.1, "margin_mm": 0.8, "growth": 1.3}
QUICK_STEPS = {"share": 0.4, "longest_s": 1.6}
REFERENCE_STEPS = {"share": 0.1, "longest_s": 0.4}


def procedure_at_once(repeats: int) -> dict[str, object]:
    """Twenty strokes in three minutes, stepped through from the start; both sides miss the closed form by 0.6 % at most."""
    peer, mine = heat_in_jax.Block(0.2), Procedure(**QUICK, **QUICK_STEPS)
    on_our_grid = {"cells": mine.body.solid.size, "peer_cells": int(np.prod(peer.shape))}
    tasks = {
        "program": lambda: mine.run(problem.STROKES, EVENING_S),
        "peer": lambda: peer.procedure(problem.STROKES, EVENING_S),
    }
    times = alternate(tasks, repeats)
    misses = {
        "program_misses_closed_form_percent": closed_form_miss(**QUICK, **QUICK_STEPS),
        "peer_misses_closed_form_percent": peer_miss(0.2),
        "program_from_explicit_after_a_cycle_percent": explicit_miss(mine),
    }
    return compared(times, {**on_our_grid, **misses}, within=0.6)


def new_pacing(repeats: int) -> dict[str, object]:
    """180 whole fields of a round of other pauses, from the one response that was kept; the peer steps through it again."""
    body = block(**QUICK)
    began = milliseconds(lambda: compressed_response(body, stroke()))
    kept = compressed_response(body, stroke())
    peer = heat_in_jax.Block(0.2)
    starts = [problem.CYCLE_S * i for i in range(problem.STROKES)]
    tasks = {
        "program": lambda: kept.fields_degC(starts, FRAMES_S),
        "peer": lambda: peer.procedure(problem.STROKES, EVENING_S),
    }
    times = alternate(tasks, repeats)
    direct = Procedure(**QUICK, share=0.05, longest_s=0.25, spread_mm=None)
    apart = [
        miss_on(body, kept.fields_degC(starts, np.array([until]))[0], direct.run(int(np.ceil(until / 9)), until))
        for until in (20.0, 60.0, 150.5)
    ]
    agreement = {"from_direct_percent": max(apart), "shapes_kept": kept.shapes.shape[0], "built_once_ms": round(began, 1)}
    return compared(times, agreement, within=0.2)


def reference_on_a_fine_grid(repeats: int) -> dict[str, object]:
    """The same three minutes at 0.1 mm; the peer is timed over one cycle of twenty."""
    mine, peer = Procedure(**REFERENCE, **REFERENCE_STEPS), heat_in_jax.Block(0.1)
    tasks = {
        "program": lambda: mine.run(problem.STROKES, EVENING_S),
        "peer_one_cycle": lambda: peer.procedure(1, problem.CYCLE_S),
    }
    times = alternate(tasks, repeats)
    times["peer"] = [problem.STROKES * each for each in times.pop("peer_one_cycle")]
    misses = {
        "program_misses_closed_form_percent": closed_form_miss(**REFERENCE, **REFERENCE_STEPS),
        "peer_misses_closed_form_percent": peer_miss(0.1),
        "program_from_explicit_after_a_cycle_percent": explicit_miss(mine),
        "cells": mine.body.solid.size,
        "share_of_memory_limit": share_of_memory_limit(mine, min(times["program"]) / 1000),
    }
    return compared(times, misses, within=1.0)


class Procedure:
    """The wire drawn every nine seconds, on a grid of ours and with steps of ours."""

    def __init__(
        self,
        *,
        step_mm: float,
        margin_mm: float,
        growth: float,
        share: float,
        longest_s: float,
        alone: bool = False,
        spread_mm: float | None = 0.0,
    ) -> None:
        self.body = block(step_mm=step_mm, margin_mm=margin_mm, growth=growth, alone=alone)
        self.heat = deposit(self.body, stroke(), spread_mm=spread_mm)
        self._run = AlternatingRun(self.body)
        self._steps = {"share": share, "longest_s": longest_s, "since_s": problem.STROKE_S / 2}

    def run(self, strokes: int, until_s: float) -> Array:
        """Return the rise at an instant of a number of strokes."""
        self._run.clear()
        for rests in self._rests_s(strokes, until_s):
            for part in self.heat.parts:
                self._run.step(self.heat.step_s, part)
            for length in rests:
                self._run.step(length)
        return np.asarray(self._run.rise_degC(), dtype=float)

    def steps(self, strokes: int, until_s: float) -> int:
        """Return how many steps that takes."""
        return sum(len(self.heat.parts) + len(rests) for rests in self._rests_s(strokes, until_s))

    def _rests_s(self, strokes: int, until_s: float) -> list[list[float]]:
        ends = [*(problem.CYCLE_S * number for number in range(1, strokes)), until_s]
        begins = [problem.CYCLE_S * number + problem.STROKE_S for number in range(strokes)]
        return [resting_steps_s(end - begin, **self._steps) for begin, end in zip(begins, ends, strict=True)]


@cache
def block(*, step_mm: float, margin_mm: float, growth: float, alone: bool = False) -> Body:
    """The block on a grid whose step grows away from the path; `alone` leaves out bone, dentine and film."""
    inner = ((problem.FROM_MM, problem.TO_MM), (problem.SIDE_MM - step_mm / 2, problem.SIDE_MM + step_mm / 2))
    x, y = (graded_edges((0, 12), (low - margin_mm, high + margin_mm), step_mm, growth) for low, high in inner)
    grid = Grid(x_mm=x, y_mm=y, z_mm=graded_edges((0, 10), (0, problem.DEPTH_MM + margin_mm), step_mm, growth))
    number = problem.tissue_number(*grid.mesh_mm()) * (not alone)
    tissues = tuple(Tissue(conductivity=k, capacity=c, perfusion=b) for k, c, b in (problem.GUM, problem.BONE, problem.DENTINE))
    top = INSULATED if alone else problem.FILM
    return Body.of(grid, tissues, number, film=0, walls=((FAR, FAR), (FAR, FAR), (top, FAR)))


def stroke() -> WireStroke:
    """The wire: one face of heat, worth what the problem says."""
    entry = np.array([[problem.FROM_MM, problem.SIDE_MM, 0], [problem.TO_MM, problem.SIDE_MM, 0]])
    heat = problem.HEAT_MJ_S * problem.STROKE_S / ((problem.TO_MM - problem.FROM_MM) * problem.DEPTH_MM)
    return WireStroke(sheets=needle(entry, entry + [0, 0, problem.DEPTH_MM]), duration_s=problem.STROKE_S, heat_mJ_mm2=heat)


def closed_form_miss(**choice: float) -> float:
    """How far the program is from the closed form three seconds after a stroke began in gum alone. [%]"""
    procedure = Procedure(**choice, alone=True)
    return miss_on(procedure.body, procedure.run(1, 3.0), problem.in_gum_alone(*procedure.body.grid.mesh_mm(), 3.0))


def peer_miss(step_mm: float) -> float:
    """How far the peer is from it. [%]"""
    places = problem.uniform_axes(step_mm)
    found = heat_in_jax.Block(step_mm, alone=True).procedure(1, 3.0)
    return problem.miss(found, problem.in_gum_alone(*places, 3.0), problem.distance_to_path_mm(*places) >= problem.FAR_MM)


def explicit_miss(procedure: Procedure) -> float:
    """How far a procedure is from explicit steps on the same grid after one cycle. [%]"""
    plain = ExplicitRun(procedure.body)
    parts = int(np.ceil(procedure.heat.step_s / (0.9 * plain.limit_s())))
    for part in procedure.heat.parts:
        for _ in range(parts):
            plain.step(procedure.heat.step_s / parts, HeatEntering(cell=part.cell, energy_mJ=part.energy_mJ / parts))
    rest = problem.CYCLE_S - problem.STROKE_S
    count = int(np.ceil(rest / (0.9 * plain.limit_s())))
    for _ in range(count):
        plain.step(rest / count)
    return miss_on(procedure.body, procedure.run(1, problem.CYCLE_S), plain.rise_degC())


def share_of_memory_limit(procedure: Procedure, taken_s: float) -> float:
    """How much of the time of a procedure the arrays alone would take to pass, at the speed at which this machine copies.

    A step is five flows and four turns; a flow reads or writes a field fourteen times, a turn twice, four bytes a cell.
    """
    field = np.ones(procedure.body.solid.size, dtype=np.float32)
    other = np.zeros_like(field)
    copy_s = min(milliseconds(lambda: np.copyto(other, field)) for _ in range(50)) / 1000
    bytes_per_s = 2 * field.nbytes / copy_s
    moved = procedure.steps(problem.STROKES, EVENING_S) * field.nbytes * (5 * 14 + 4 * 2)
    return round(moved / bytes_per_s / taken_s, 2)


def miss_on(body: Body, found: Array, expected: Array) -> float:
    """Return the greatest difference on the grid of a body. [%]"""
    return round(problem.miss(found, expected, problem.distance_to_path_mm(*body.grid.mesh_mm()) >= problem.FAR_MM), 3)


def compared(times: dict[str, list[float]], agreement: dict[str, float], *, within: float) -> dict[str, object]:
    """Return the times, what was compared, and the ratio where every difference that was measured is small enough."""
    differences = [value for name, value in agreement.items() if name.endswith("_percent")]
    spreads = {name: spread(found) for name, found in times.items()}
    answer: dict[str, object] = {**spreads, "agreement": agreement, "asked_percent": within}
    if max(differences) <= within:
        answer["peer_takes_times"] = round(spreads["peer"]["median_ms"] / spreads["program"]["median_ms"], 1)
        answer["peer_takes_times_at_best"] = round(spreads["peer"]["least_ms"] / spreads["program"]["least_ms"], 1)
    return answer

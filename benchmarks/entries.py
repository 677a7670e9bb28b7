"""The entries that need no browser. Each returns its times, and what was compared."""

import json
import subprocess
import sys
import tempfile
from functools import partial
from pathlib import Path
from typing import Any

import numpy as np

from benchmarks.measuring import alternate, milliseconds, percentile, spread
from benchmarks.peer import levels, route, solvers
from collum.app.memory import keep_freed_memory
from collum.app.plans.planning import DRAWS, Hold, Planner
from collum.app.plans.side_by_side import side_by_side
from collum.case import Case, from_document
from collum.core.neck import neck_posterior, neck_prior
from collum.core.ring import STATIONS_DEG
from collum.plan import ToothPlan, draw_levels, plan_tooth, prepare
from collum.plan.lengthening.levels.inputs import inputs_of
from collum.plan.lengthening.procedures.lines import judge_lines
from collum.plan.lengthening.procedures.procedure import Treatment
from collum.plan.lengthening.procedures.registry import procedure_of
from collum.plan.lengthening.solver.bounds import bounds_of, programme_of
from collum.plan.lengthening.solver.programme import solve
from tests.making.mouths import make_mouths
from tests.measuring.necks import EVIDENCE, LAW, PRIORS, SEED, drawn_neck

SAME_LEVEL_MM, SAME_LINE_MM, SAME_CHANCE = 0.02, 0.10, 0.02
MOVES = 50


def a_mouth(*, short: bool = False) -> dict[str, Any]:
    """The case the entries use: an overgrown tooth with six probing depths and six soundings, of the charts' population.

    `short`: another, healthy, whose sound edge lies where soft tissue alone cannot help.
    """
    made = make_mouths("charts", 20, np.random.default_rng(7), overgrown=not short)
    plausible = [m.document for m in made if m.plausible]
    return next(d for d in plausible if not short or _lowest_sound_edge_mm(d) < 0)


def _lowest_sound_edge_mm(document: dict[str, Any]) -> float:
    return float(min(document["teeth"][0]["sites"]["sound_height"].values()))


def planned_as_the_program_does(case: Case) -> ToothPlan:
    """Plan the first tooth with nothing kept from before, on as many cores as the program uses."""
    keep_freed_memory()
    draw = partial(draw_levels, both=side_by_side)
    return plan_tooth(case, 0, prepare(case, 0, EVIDENCE, seed=SEED, draws=DRAWS, draw=draw), side_by_side)


def levels_alone(repeats: int) -> dict[str, object]:
    """Mean and spread of the crest all round, the soundings' mixture exact on both sides."""
    case, tooth = from_document(a_mouth()), levels.read(a_mouth())

    def ours() -> tuple[np.ndarray, np.ndarray]:
        inputs = inputs_of(case, 0, PRIORS, LAW).levels
        posterior = neck_posterior(inputs.probing, inputs.soundings, inputs.state, PRIORS)
        mean, variance = posterior.crest_depth_moments(neck_prior(STATIONS_DEG, inputs.state, PRIORS))
        return mean, np.sqrt(variance)

    times = alternate({"program": ours, "peer": lambda: levels.crest_moments(tooth)}, repeats)
    apart = float(np.abs(ours()[0] - levels.crest_moments(tooth)[0]).max())
    return _compared(times, {"largest_difference_mm": round(apart, 5)}, same=apart <= SAME_LEVEL_MM)


def whole_plan(repeats: int) -> dict[str, object]:
    """Levels, 10,000 draws, programme, simulation and verdicts of one tooth, nothing kept from before.

    The program plans all routes a tooth has, the peers soft tissue only: the ratio is on the peers' side. Limit 100 ms.
    """
    document = a_mouth()
    case, tooth = from_document(document), levels.read(document)

    def ours() -> Any:
        return planned_as_the_program_does(case).route("soft tissue only").plan

    def peer(simulate: route.Simulate) -> route.Answer:
        return route.plan(tooth, solvers.with_cvxpy, simulate, DRAWS, np.random.default_rng(1))

    tasks = {
        "program": ours,
        "peer": lambda: peer(route.simulate_in_a_loop),
        "peer_vectorised": lambda: peer(route.simulate_vectorised),
    }
    times = alternate(tasks, repeats)
    mine, other = ours(), peer(route.simulate_vectorised)
    graded = {name: g for name, g in mine.assessment.graded.items() if g is not None}
    lines = max(float(np.abs(mine.cut_mm - other.cut).max()), float(np.abs(mine.finish_mm - other.finish).max()))
    chances = max(abs(g.probability - other.probability.get(name, -1)) for name, g in graded.items())
    same = lines <= SAME_LINE_MM and chances <= SAME_CHANCE and all(g.verdict == other.verdict[n] for n, g in graded.items())
    agreement = {"largest_difference_of_lines_mm": round(lines, 4), "largest_difference_of_chances": round(chances, 4)}
    return {**_compared(times, {**agreement, "draws": DRAWS}, same=same), "limit_ms": 100}


def plan_with_all_routes(repeats: int) -> dict[str, object]:
    """The whole plan of a tooth on which no lesser route will do, so that bone and movement are planned too. Limit 100 ms."""
    case = from_document(a_mouth(short=True))

    verdicts = {route.name: route.verdict for route in planned_as_the_program_does(case).routes}
    times = [milliseconds(partial(planned_as_the_program_does, case)) for _ in range(repeats)]
    return {**spread(times), "verdicts": verdicts, "limit_ms": 100, "draws": DRAWS}


def verdict_of_a_moved_line(repeats: int) -> dict[str, object]:
    """What the server computes while a handle is dragged: kept draws, one bent line, no solver. Limit 30 ms."""
    case = from_document(a_mouth())
    planner = Planner()
    first = next(r for r in planner.plan(case).teeth[0].routes if r.name == "soft tissue only")
    cut, finish = list(first.cut_line_height_mm or []), list(first.finish_line_height_mm or [])
    holds = [Hold(line="cut", station_deg=180, height_mm=cut[18] - 0.01 * move) for move in range(MOVES)]

    def move(hold: Hold) -> object:
        return planner.judge(case, tooth=0, cut_line_mm=cut, finish_line_mm=finish, hold=hold)

    move(holds[0])
    times = [milliseconds(partial(move, hold)) for _ in range(repeats) for hold in holds]
    return {**spread(times), "p95_ms": percentile(times, 0.95), "moves": len(times), "limit_ms": 30, "draws": DRAWS}


def parts_of_a_plan(repeats: int) -> dict[str, object]:
    """Where the time of a plan goes: levels and draws, one solve, one simulation, words and wire form."""
    case = from_document(a_mouth())
    prepared = drawn_neck(case, DRAWS)
    plan = plan_tooth(case, 0, prepared)
    treatment = Treatment(procedure=procedure_of("soft tissue only"))
    made = plan.route(treatment.procedure.id).plan
    assert made is not None
    bounds = bounds_of(prepared, plan.wishes, treatment)
    programme = programme_of(prepared, plan.wishes, bounds, {}, treatment, arc_mm=plan.perimeter_mm / 36)
    warm = Planner()
    warm.plan(case)
    tasks = {
        "levels_and_draws": lambda: drawn_neck(case, DRAWS),
        "one_solve": lambda: solve(programme),
        "one_simulation": lambda: judge_lines(prepared, plan.wishes, made.cut_mm, made.finish_mm, treatment),
        "plan_with_kept_draws_and_words": lambda: warm.plan(case),
        "json": lambda: warm.plan(case).model_dump_json(),
    }
    return {name: spread(times) for name, times in alternate(tasks, repeats).items()}


def command_line_cold(repeats: int) -> dict[str, object]:
    """A new process each time: the help, and the plan of one case file as JSON."""
    with tempfile.TemporaryDirectory() as folder:
        file = Path(folder) / "case.json"
        file.write_text(json.dumps(a_mouth()), encoding="utf-8")
        start = [sys.executable, "-c", "from collum.cli.main import run; run()"]

        def call(*arguments: str) -> None:
            subprocess.run([*start, *arguments], check=True, capture_output=True)

        tasks = {"help": lambda: call("--help"), "plan": lambda: call("plan", str(file), "--json")}
        return {name: spread(times) for name, times in alternate(tasks, repeats).items()}


def _compared(times: dict[str, list[float]], agreement: dict[str, float], *, same: bool) -> dict[str, object]:
    """Return the times, and how many times as long the others take only where the answers are the same."""
    spreads = {name: spread(found) for name, found in times.items()}
    ours = spreads["program"]["median_ms"]
    ratios = {f"{name}_takes_times": round(s["median_ms"] / ours, 1) for name, s in spreads.items() if name != "program"}
    return {**spreads, "agreement": agreement, "same_answer": same, **(ratios if same else {})}

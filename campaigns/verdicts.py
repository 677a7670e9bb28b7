"""How often a requirement called kept is short in truth: the unsafe direction, for the lines the plan offers.

Each simulated mouth is planned; its lines are then judged by the reserves of the peer on the truth alone. What heals later has
no truth yet: share and noise of the return are drawn once a mouth.
"""

from dataclasses import dataclass

import numpy as np
from numpy.random import Generator
from numpy.typing import NDArray

from benchmarks.peer import levels, route
from campaigns.levels import binomial_interval
from collum.case import from_document
from collum.plan import plan_tooth, prepare
from tests.making.mouths import POPULATIONS, Mouth, Population, make_mouths
from tests.making.teeth import generator_of

DRAWS = 1_000
BINS = (0.0, 0.1, 0.5, 0.9, 0.99, 1.0)


@dataclass(frozen=True, slots=True, kw_only=True)
class Call:
    """One requirement of one plan: what was said and whether it holds in truth."""

    requirement: str
    verdict: str
    probability: float
    holds: bool


def calls_of(population: Population, count: int, seed: int) -> list[Call]:
    """Return all calls on the plausible ones of `count` mouths, half healthy and half overgrown."""
    rng = np.random.default_rng(np.random.SeedSequence(seed, spawn_key=(POPULATIONS.index(population),)))
    calls = []
    for overgrown in (False, True):
        for number, mouth in enumerate(make_mouths(population, count // 2, rng, overgrown=overgrown)):
            if mouth.plausible:
                calls += _calls_on(mouth, seed + number, rng)
    return calls


def summary(calls: list[Call]) -> dict[str, object]:
    """Return for each requirement how often kept was short in truth, and how often each band of probability held."""
    return {name: _summary_of([c for c in calls if c.requirement == name]) for name in sorted({c.requirement for c in calls})}


def unsafe_share(calls: list[Call]) -> dict[str, object]:
    """Return of the calls that say kept how many are short in truth, with the 95 % binomial interval."""
    kept = [c for c in calls if c.verdict == "kept"]
    if not kept:
        return {"kept": 0}
    short = sum(not c.holds for c in kept)
    low, high = binomial_interval(short, len(kept))
    return {
        "kept": len(kept),
        "short_in_truth": short,
        "share": round(short / len(kept), 4),
        "low": round(low, 4),
        "high": round(high, 4),
    }


def _summary_of(calls: list[Call]) -> dict[str, object]:
    reliability = []
    for low, high in zip(BINS, BINS[1:], strict=False):
        inside = [c for c in calls if low <= c.probability < high or (c.probability == high == BINS[-1])]
        if inside:
            said, held = np.mean([c.probability for c in inside]), np.mean([c.holds for c in inside])
            reliability.append({"calls": len(inside), "said": round(float(said), 3), "held": round(float(held), 3)})
    brier = float(np.mean([(c.probability - c.holds) ** 2 for c in calls]))
    return {"called_kept": unsafe_share(calls), "reliability": reliability, "brier": round(brier, 4)}


def _calls_on(mouth: Mouth, seed: int, rng: Generator) -> list[Call]:
    case = from_document(mouth.document)
    plan = plan_tooth(case, 0, prepare(case, 0, generator_of(seed), DRAWS)).route("soft tissue only").plan
    if plan is None:
        return []
    least = route.simulate_vectorised(levels.read(mouth.document), _as_one_draw(mouth, rng), plan.cut_mm, plan.finish_mm)
    return [
        Call(requirement=name, verdict=graded.verdict, probability=graded.probability, holds=bool(least[name][0] >= 0))
        for name, graded in plan.assessment.graded.items()
        if graded is not None
    ]


def _as_one_draw(mouth: Mouth, rng: Generator) -> route.Draws:
    truth = mouth.truth

    def column(curve: NDArray[np.float64]) -> NDArray[np.float64]:
        return curve[:, None]

    noise = levels.Gaussian(mean=np.zeros(levels.M), covariance=levels.kernel()).draws(1, rng)
    return route.Draws(
        sulcus=column(truth.sulcus_mm),
        attachment=column(truth.attachment_mm),
        own_height=column(truth.own_height_mm),
        share=1 - 0.4 * rng.beta(1, 3, 1),
        noise=noise * np.sqrt(3 / rng.chisquare(5)),
        edge=column(truth.occlusal_edge_mm),
        sound=column(truth.sound_edge_mm),
        junction=column(truth.mucogingival_mm),
    )

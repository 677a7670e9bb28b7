"""How often a requirement called kept is short in truth: the unsafe direction, for the lines each route would offer.

On each simulated mouth every route is planned, whether or not a lesser one would do; what it does is then done to the truth
(bone goes down to the planned distance from the true sound edge, a tooth comes up to it, both as exactly as they are measured),
and its lines are judged by the reserves of the peer on the truth alone. What heals later and what no reading shows (roots)
has no truth in a mouth: it is drawn once for each.
"""

from dataclasses import dataclass

import numpy as np
from numpy.random import Generator
from numpy.typing import NDArray

from benchmarks.peer import levels, rules
from campaigns.levels import in_bins, share_of
from collum.case import from_document
from collum.plan import plan_tooth
from collum.vocabulary import RouteName
from tests.making.mouths import POPULATIONS, Mouth, Population, make_mouths
from tests.measuring.as_peer import STATED, asked_by, done_by, draws_of, route_plan
from tests.measuring.necks import drawn_neck

DRAWS = 1_000
BINS = (0.0, 0.1, 0.5, 0.85, 0.95, 0.99, 1.0)  # the one round 0.9 is judged


@dataclass(frozen=True, slots=True, kw_only=True)
class Call:
    """One requirement of one route of one mouth: what was said and whether it holds in truth."""

    route: RouteName
    requirement: str
    verdict: str
    probability: float
    holds: bool


def calls_of(population: Population, count: int, seed: int, routes: tuple[RouteName, ...] = STATED) -> list[Call]:
    """Return all calls of `routes` on the plausible ones of `count` mouths, half healthy and half overgrown."""
    rng = np.random.default_rng(np.random.SeedSequence(seed, spawn_key=(POPULATIONS.index(population),)))
    calls = []
    for overgrown in (False, True):
        for number, mouth in enumerate(make_mouths(population, count // 2, rng, overgrown=overgrown)):
            if mouth.plausible:
                calls += _calls_on(mouth, seed + number, rng, routes)
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
    return {"kept": len(kept), "short_in_truth": short, **share_of(short, len(kept), 4)}


def _summary_of(calls: list[Call]) -> dict[str, object]:
    reliability = []
    for _, inside in in_bins(calls, lambda call: call.probability, BINS):
        said, held = np.mean([c.probability for c in inside]), np.mean([c.holds for c in inside])
        reliability.append({"calls": len(inside), "said": round(float(said), 3), "held": round(float(held), 3)})
    brier = float(np.mean([(c.probability - c.holds) ** 2 for c in calls]))
    return {"called_kept": unsafe_share(calls), "reliability": reliability, "brier": round(brier, 4)}


def reliability_near(calls: list[Call], low: float, high: float) -> tuple[int, float, float]:
    """Return how many calls were given a probability in a band, what was said of them on the mean, and how many held."""
    inside = [c for c in calls if low <= c.probability < high]
    if not inside:
        return 0, 0.0, 0.0
    return len(inside), float(np.mean([c.probability for c in inside])), float(np.mean([c.holds for c in inside]))


def _calls_on(mouth: Mouth, seed: int, rng: Generator, routes: tuple[RouteName, ...]) -> list[Call]:
    case = from_document(mouth.document)
    prepared = drawn_neck(case, DRAWS, seed=seed)
    plan = plan_tooth(case, 0, prepared)
    truth, calls = as_one_draw(mouth, rng), []
    for name in routes:
        made = route_plan(name, prepared, plan.wishes, plan.perimeter_mm)
        tooth, done = asked_by(levels.read(mouth.document), made), done_by(made)
        planned = rules.planned_on(draws_of(prepared), done)
        least = rules.least_reserves(tooth, truth, made.cut_mm, made.finish_mm, done, planned)
        calls += [
            Call(route=name, requirement=id_, verdict=g.verdict, probability=g.probability, holds=bool(least[id_][0] >= 0))
            for id_, g in made.assessment.graded.items()
            if g is not None
        ]
    return calls


def as_one_draw(mouth: Mouth, rng: Generator) -> rules.Draws:
    """Return the truth of a mouth as a single draw; what no reading shows is drawn once."""
    truth = mouth.truth

    def column(curve: NDArray[np.float64]) -> NDArray[np.float64]:
        return curve[:, None]

    noise = levels.Gaussian(mean=np.zeros(levels.M), covariance=levels.kernel()).draws(1, rng)
    share_deviate, root, trunk, cej, surgery = rng.standard_normal((5, 1))
    return rules.Draws(
        sulcus=column(truth.sulcus_mm),
        attachment=column(truth.attachment_mm),
        own_height=column(truth.own_height_mm),
        share=1 - 0.4 * rng.beta(1, 3, 1),
        noise=noise * np.sqrt(3 / rng.chisquare(5)),
        edge=column(truth.occlusal_edge_mm),
        sound=column(truth.sound_edge_mm),
        junction=column(truth.mucogingival_mm),
        crest_was=-column(truth.crest_depth_mm),
        share_deviate=share_deviate,
        root=root,
        trunk=trunk,
        cej=cej,
        surgery=surgery,
    )

"""Whether what is recommended is enough in truth, and what is said of gum alone where the truth leaves room enough.

On each simulated mouth the plan is made as a dentist gets it, with what it recommends. The recommended route is then done to
the truth and judged by the peer's reserves, as in `campaigns/verdicts.py`: enough is every required rule at once.
"""

from collections import Counter
from collections.abc import Callable, Iterable, Sequence
from dataclasses import dataclass
from typing import Any

import numpy as np

from benchmarks.peer import levels, rules
from campaigns.levels import in_bins, share_of
from campaigns.verdicts import as_one_draw
from collum.case import from_document
from collum.plan import plan_tooth
from collum.plan.lengthening.choice.choice import recommendation
from collum.plan.lengthening.procedures.registry import procedure_of
from collum.plan.lengthening.requirements.table import decides
from collum.plan.lengthening.route import Route
from tests.making.mouths import POPULATIONS, Mouth, Population, make_mouths
from tests.measuring.as_peer import asked_by, done_by, draws_of
from tests.measuring.necks import drawn_neck

DRAWS = 2_000
SPARE_MM = (1.0, 2.0)  # left in truth at the tightest place: gum alone should be called enough
BINS = (0.0, 1 / 3, 0.5, 2 / 3, 0.9, 1.0)


@dataclass(frozen=True, slots=True, kw_only=True)
class Rule:
    """A required rule of a route that was offered: what was said, and whether it holds in truth."""

    route: str
    requirement: str
    verdict: str
    holds: bool


@dataclass(frozen=True, slots=True, kw_only=True)
class Advice:
    """What one mouth was told. `enough`: the recommended route holds in truth. `spare_mm`: what a cut of gum would leave at the
    tightest place for somebody who knows the truth.
    """

    why: str
    route: str | None
    verdict: str | None
    chance: float | None
    of_ten: int | None
    enough: bool | None
    gum: str
    spare_mm: float
    rules: tuple[Rule, ...]


def advice_of(population: Population, count: int, seed: int) -> list[Advice]:
    """Return what the plausible ones of `count` mouths are told, half of them healthy and half overgrown."""
    rng = np.random.default_rng(np.random.SeedSequence(seed, spawn_key=(POPULATIONS.index(population), 1)))
    told = []
    for overgrown in (False, True):
        for number, mouth in enumerate(make_mouths(population, count // 2, rng, overgrown=overgrown)):
            if mouth.plausible:
                told.append(_told(mouth, seed + number, as_one_draw(mouth, rng)))
    return told


def summary(told: Sequence[Advice]) -> dict[str, Any]:
    """Return how often each kind of advice was enough in truth, and what was said of gum alone where it leaves 1 to 2 mm."""
    spared = [one for one in told if SPARE_MM[0] <= one.spare_mm <= SPARE_MM[1]]
    calls = [rule for one in told for rule in one.rules]
    greater = [one for one in told if one.route is not None and procedure_of(one.route).moves_crest]
    return {
        "mouths": len(told),
        "recommended": dict(Counter(f"{one.route or 'none'}, {one.why}" for one in told)),
        "bone_or_extrusion": _enough(greater),
        "bone_or_extrusion_by_chance": _by_chance(greater),
        "staged": {
            f"{n} of 10": _enough([one for one in told if one.of_ten == n and one.why == "staged"]) for n in _told_of_ten(told)
        },
        "staged_all": _enough([one for one in told if one.why == "staged"]),
        "gum_alone_met": _enough([one for one in told if one.gum == "kept" and one.route == "soft tissue only"]),
        "gum_alone_with_1_to_2_mm_left": {"mouths": len(spared), **_shares(one.gum for one in spared)},
        "met_and_short_in_truth": _by_rule(calls, "kept", lambda rule: not rule.holds),
        "short_and_met_in_truth": _by_rule(calls, "short", lambda rule: rule.holds),
    }


def _told(mouth: Mouth, seed: int, truth: rules.Draws) -> Advice:
    case = from_document(mouth.document)
    prepared = drawn_neck(case, DRAWS, seed=seed)
    plan = plan_tooth(case, 0, prepared)
    before, tooth = draws_of(prepared), levels.read(mouth.document)
    found = recommendation(plan.routes, case.teeth[0], prepared.limits)
    judged = {route.name: _held(route, tooth, before, truth) for route in plan.routes if route.plan is not None}
    held = {name: rules_of_route for name, rules_of_route in judged.items() if rules_of_route is not None}
    best = found.route
    return Advice(
        why=found.why,
        route=None if best is None else best.name,
        verdict=None if best is None else best.verdict,
        chance=None if best is None else best.chance,
        of_ten=None if found.staged is None else found.staged.of_ten,
        enough=None if best is None or best.name not in held else all(rule.holds for rule in held[best.name]),
        gum=plan.route("soft tissue only").verdict,
        spare_mm=spare_in_truth_mm(tooth, truth),
        rules=tuple(rule for rules_of_route in held.values() for rule in rules_of_route),
    )


def _held(route: Route, tooth: levels.Tooth, before: rules.Draws, truth: rules.Draws) -> list[Rule] | None:
    """Return the required rules of a route in truth; None where one of them is not among those that the peer has."""
    plan = route.plan
    assert plan is not None
    done = done_by(plan)
    planned = rules.planned_on(before, done)
    least = rules.least_reserves(asked_by(tooth, plan), truth, plan.cut_mm, plan.finish_mm, done, planned)
    graded = {name: g for name, g in plan.assessment.graded.items() if g is not None and decides(name)}
    if not graded.keys() <= least.keys():
        return None
    return [
        Rule(route=route.name, requirement=name, verdict=g.verdict, holds=bool(least[name][0] >= 0))
        for name, g in graded.items()
    ]


def spare_in_truth_mm(tooth: levels.Tooth, truth: rules.Draws) -> float:
    """Return the room for a finish line at the tightest place, once gum is cut to its own height and has come back whole."""
    top = truth.edge - tooth.reduction_mm
    at_sites = np.isin(np.arange(levels.M), rules.HEIGHT_STATIONS)[:, None]
    by_height = np.where(at_sites, top - rules.height_mm(tooth), np.inf)
    highest = np.minimum(np.minimum(truth.sound, top) - rules.ferrule_asked(tooth)[:, None], by_height)
    settled = np.minimum(truth.own_height - truth.crest, 0)
    lowest = np.maximum(rules.lowest_line(truth), settled + rules.low_mm(tooth))
    return float(rules.smooth(highest - lowest).min())


def _enough(told: Sequence[Advice]) -> dict[str, object]:
    """Return of recommendations how many were enough in truth, with the 95 % binomial interval."""
    enough = sum(bool(one.enough) for one in told)
    if not told:
        return {"told": 0}
    return {"told": len(told), "enough": enough, **share_of(enough, len(told), 3)}


def _by_chance(told: Sequence[Advice]) -> list[dict[str, object]]:
    found = []
    for low, inside in in_bins(told, lambda one: one.chance, BINS):
        said = float(np.mean([one.chance for one in inside if one.chance is not None]))
        found.append({"from": round(low, 2), "said": round(said, 3), **_enough(inside)})
    return found


def _told_of_ten(told: Sequence[Advice]) -> list[int]:
    return sorted({one.of_ten for one in told if one.of_ten is not None})


def _shares(words: Iterable[str]) -> dict[str, float]:
    counted = Counter(words)
    total = sum(counted.values())
    return {word: round(count / total, 3) for word, count in sorted(counted.items())}


def _by_rule(calls: Sequence[Rule], verdict: str, wrong: Callable[[Rule], bool]) -> dict[str, object]:
    """Return by requirement how many calls of a verdict were wrong in truth."""
    found: dict[str, object] = {}
    for name in sorted({rule.requirement for rule in calls}):
        said = [rule for rule in calls if rule.requirement == name and rule.verdict == verdict]
        if said:
            missed = sum(wrong(rule) for rule in said)
            found[name] = {"called": len(said), "wrong": missed, **share_of(missed, len(said), 3)}
    return found

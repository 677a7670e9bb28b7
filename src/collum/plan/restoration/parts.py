"""The questions of the answer, judged over the draws: the words and thresholds of the plan's requirements.

What the plan asks of the same draws is its answer here too: ferrule, height, support. Resistance is judged on the line as it
runs and on the widths as recorded; the plan looks at the four sides, and the worse of both counts. What was not measured, and
what is only advised, leaves a question at best in doubt.
"""

from collections.abc import Iterable, Mapping
from dataclasses import dataclass, replace
from typing import Literal

import numpy as np

from collum.core.crown.form import HALF
from collum.core.crown.guidance import meets_height_to_width
from collum.core.ring import Floats
from collum.plan.lengthening.requirements.table import AT_MOST
from collum.plan.lengthening.requirements.verdict import Graded, worst_verdict
from collum.plan.restoration.basis import RestorationBasis
from collum.plan.restoration.ferrule import Ferrule
from collum.plan.restoration.preparation import NoPreparation, Preparation
from collum.plan.restoration.route_draws import RouteDraws
from collum.vocabulary import Verdict

OF_THE_PLAN = ("crown_to_root", "attached_area", "furcation")
_LOW_PERCENT = 5


@dataclass(frozen=True, slots=True, kw_only=True)
class Band:
    """A figure as it is shown, where 90 of 100 draws have it, and its limit. Shares have no unit, heights are in mm."""

    value: float
    low: float
    high: float
    limit: float


@dataclass(frozen=True, slots=True, kw_only=True)
class Part:
    """One question of the answer. `probability`: the share of draws in which the rule holds, None where it is not assessed.

    `own`: the verdict here, None where the plan alone judges; `plan_probability`: the plan's own chance, where it is worse.
    `least` (n,): reserves in every draw.
    """

    id: str
    verdict: Verdict
    own: Verdict | None
    probability: float | None
    confidence: float
    band: Band | None
    plan_probability: float | None
    least: tuple[Floats, ...]


def parts_of(
    basis: RestorationBasis, draws: RouteDraws, preparation: Preparation | NoPreparation, ferrule: Ferrule
) -> tuple[Part, ...]:
    """Return every question that applies to a route."""
    found = (_resistance(basis, preparation), _height(basis, draws), _ferrule(basis, ferrule))
    return (*found, *(_of_plan(basis, name) for name in OF_THE_PLAN if basis.verdict(name) is not None))


def joint_probability(parts: Iterable[Part]) -> float | None:
    """Return the share of draws in which every question holds; None where one is not assessed."""
    parts = tuple(parts)
    if any(part.verdict == "not assessed" or not part.least for part in parts):
        return None
    return float(np.mean(np.min([least for part in parts for least in part.least], axis=0) >= 0))


def verdict_of(parts: tuple[Part, ...]) -> Verdict:
    """Return the worst of the parts; where each is kept, in doubt unless all together are kept as often as one has to be."""
    worst = worst_verdict([part.verdict for part in parts])
    together = joint_probability(parts)
    if worst == "kept" and together is not None and together < min(part.confidence for part in parts):
        return "in doubt"
    return worst


def _resistance(basis: RestorationBasis, preparation: Preparation | NoPreparation) -> Part:
    planned = basis.verdict("resistance")
    of_plan = basis.route.graded.get("resistance")
    least = () if of_plan is None else (of_plan.least,)
    chance, band = (None if planned is None else planned[1]), None
    if isinstance(preparation, str):
        own: Verdict = "not assessed" if preparation in ("edge_not_known", "no_angle") else "short"
    else:
        own, chance = preparation.verdict, preparation.graded.probability
        least = (*least, preparation.graded.least)
        low, high = _ends(preparation.weakest_draws)
        band = Band(value=float(preparation.share.min()), low=low, high=high, limit=HALF)
    verdict = worst_verdict([own, *(() if planned is None else (planned[0],))])
    return Part(
        id="resistance",
        verdict=verdict,
        own=own,
        probability=chance if verdict != "not assessed" else None,
        confidence=_confidence(basis, "resistance"),
        band=band,
        plan_probability=planned[1] if planned is not None and verdict != own else None,
        least=least,
    )


def _height(basis: RestorationBasis, draws: RouteDraws) -> Part:
    """Height against width is advice: it leaves a height that is kept in doubt."""
    part = _of_plan(basis, "preparation_height")
    if part.verdict == "not assessed" or basis.height_mm is None or draws.height_mm is None:
        return replace(part, verdict="not assessed", own="not assessed", probability=None)
    own: Verdict = "in doubt" if part.verdict == "kept" and broad_for_height(basis) != "no" else part.verdict
    low, high = _ends(draws.height_mm[basis.read_stations()].min(axis=0))
    lowest = float(basis.height_mm[basis.lowest()])
    band = Band(value=lowest, low=low, high=high, limit=basis.height_limit_mm)
    return replace(part, verdict=own, own=own, band=band)


def broad_for_height(basis: RestorationBasis) -> Literal["yes", "if wide", "no"]:
    """Return whether the preparation is lower than advised for its width; "if wide": only for the widest neck of the handbook.

    Raises ValueError where no edge was read.
    """
    if basis.height_mm is None:
        raise ValueError("no edge was read")
    mean_mm = float(basis.height_mm[basis.read_stations()].mean())
    if not meets_height_to_width(mean_mm, basis.neck.facial_oral_mm):
        return "yes"
    return "no" if meets_height_to_width(mean_mm, basis.neck.widest_mm[0]) else "if wide"


def _ferrule(basis: RestorationBasis, ferrule: Ferrule) -> Part:
    part = _of_plan(basis, "ferrule")
    band = None
    if ferrule.least_draws_mm is not None and ferrule.map.least_loaded_mm is not None:
        low, high = _ends(ferrule.least_draws_mm)
        band = Band(value=ferrule.map.least_loaded_mm, low=low, high=high, limit=ferrule.wanted_mm)
    return replace(part, verdict=ferrule.verdict, own=ferrule.verdict, band=band)


def _of_plan(basis: RestorationBasis, name: str) -> Part:
    """Return a question as the plan answers it, not assessed where it says nothing."""
    graded = basis.route.graded.get(name)
    found = basis.verdict(name)
    return Part(
        id=name,
        verdict="not assessed" if found is None else found[0],
        own=None,
        probability=None if found is None else found[1],
        confidence=_confidence(basis, name),
        band=None if graded is None else _band_of(graded, at_most=name in AT_MOST),
        plan_probability=None,
        least=() if graded is None else (graded.least,),
    )


def _band_of(graded: Graded, *, at_most: bool) -> Band:
    low, high = _ends(graded.least)
    ends: Mapping[bool, tuple[float, float]] = {
        False: (graded.limit + low, graded.limit + high),
        True: (graded.limit - high, graded.limit - low),
    }
    return Band(value=graded.value, low=ends[at_most][0], high=ends[at_most][1], limit=graded.limit)


def _ends(draws: Floats) -> tuple[float, float]:
    """Return between which ends 90 of 100 draws (n,) are."""
    low, high = np.percentile(draws, (_LOW_PERCENT, 100 - _LOW_PERCENT))
    return float(low), float(high)


def _confidence(basis: RestorationBasis, name: str) -> float:
    return basis.wishes.rule(name).confidence

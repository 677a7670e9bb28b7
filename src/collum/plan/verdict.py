"""The one place where a verdict is made: from the reserve of a requirement in every draw to kept, in doubt or short.

Reserves are (36, n): how much more than the limit there is at a station in a draw; negative means the limit is missed. [mm]
"""

from dataclasses import dataclass, replace

import numpy as np

from collum.core.ring import Floats, running_mean
from collum.evidence import value
from collum.plan.document import Verdict
from collum.plan.wishes import Rule


@dataclass(frozen=True, slots=True, kw_only=True)
class Graded:
    """The verdict of one requirement with what it rests on; `least` (n,) is its reserve in every draw.

    `value` and `short_by` have the unit of the rule. A requirement of the whole tooth has no worst station.
    """

    verdict: Verdict
    probability: float
    value: float
    worst_station: int | None
    worst_probability: float | None
    short_by: float | None
    least: Floats
    least_step: float


def all_round(reserve_mm: Floats, stations: np.ndarray) -> Floats:
    """Return (n,) the least running mean over 15 degrees among the stations that take part."""
    return np.asarray(running_mean(reserve_mm)[stations].min(axis=0))


def single_station(reserve_mm: Floats, stations: np.ndarray) -> Floats:
    """Return (n,) the least reserve of any single station: for the distance to bone."""
    return np.asarray(reserve_mm[stations].min(axis=0))


def grade(
    least: Floats,
    reserve_mm: Floats,
    stations: np.ndarray,
    rule: Rule,
    least_step_mm: float,
    *,
    limits_mm: Floats | None = None,
) -> Graded:
    """Return the grade of a requirement whose reserve in every draw is `least`; `limits_mm` (36,) where they differ.

    By the draws alone: short where their median is. The best estimate has the last word.
    """
    share = (reserve_mm >= 0).mean(axis=1)
    share[~stations] = np.inf
    worst = int(np.argmin(np.where(np.isfinite(share), share + _tie_break(reserve_mm), np.inf)))
    limit = rule.limit if limits_mm is None else float(limits_mm[worst])
    graded = _graded(least, limit + float(np.median(reserve_mm[worst])), rule, least_step_mm)
    return replace(graded, worst_station=worst, worst_probability=float(share[worst]))


def grade_whole(reserve: Floats, value: float, rule: Rule) -> Graded:
    """Return the grade of a requirement of the whole tooth with reserve (n,), in the unit of the rule."""
    return _graded(reserve, value, rule, 0)


def with_best_estimate(graded: Graded, at_best: Graded | None, rule: Rule) -> Graded:
    """Return the grade with the verdict that the best estimate decides where it is not kept.

    A lack in millimetres smaller than a reading can show is doubt. A short rule lacks at least one reading step.
    """
    assert at_best is not None
    best = float(at_best.least[0])
    allowance = value("plan.short_by_least_mm") if rule.unit == "mm" else 0
    verdict = decide(graded.probability, best + allowance, rule.confidence)
    return replace(graded, verdict=verdict, short_by=_lacking(graded.least, verdict, rule, graded.least_step))


def decide(probability: float, best_reserve: float, confidence: float) -> Verdict:
    """Return kept where the share of draws with a reserve reaches the confidence, short where the best estimate has none."""
    if probability >= confidence:
        return "kept"
    return "short" if best_reserve < 0 else "in doubt"


def _graded(least: Floats, at_worst: float, rule: Rule, least_step: float) -> Graded:
    probability = float(np.mean(least >= 0))
    verdict = decide(probability, float(np.median(least)), rule.confidence)
    return Graded(
        verdict=verdict,
        probability=probability,
        value=at_worst,
        worst_station=None,
        worst_probability=None,
        short_by=_lacking(least, verdict, rule, least_step),
        least=least,
        least_step=least_step,
    )


def _lacking(least: Floats, verdict: Verdict, rule: Rule, least_step: float) -> float | None:
    """Return what is lacking to the confidence asked; a short rule lacks at least one reading step, a kept one nothing."""
    if verdict == "kept":
        return None
    lacking = max(0, -float(np.quantile(least, 1 - rule.confidence)))
    return max(lacking, least_step) if verdict == "short" else lacking


def worst_verdict(verdicts: list[Verdict]) -> Verdict:
    """Return the worst of the verdicts; requirements that do not apply say nothing."""
    order: tuple[Verdict, ...] = ("closed", "short", "in doubt", "not assessed", "kept")
    return next((v for v in order if v in verdicts), "kept")


def _tie_break(reserve_mm: Floats) -> Floats:
    """Return (36,) amounts too small to matter that put the least mean reserve first among stations that always hold."""
    mean = reserve_mm.mean(axis=1)
    spread = np.ptp(mean) or 1
    return np.asarray((mean - mean.min()) / spread / reserve_mm.shape[1] / 2)

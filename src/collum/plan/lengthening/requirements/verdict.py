"""The one place where a verdict is made: from the reserve of a requirement in every draw to kept, in doubt or short, and where
a word is found for the chance of what is in doubt.

A reserve is how much more than the limit there is, in the unit of the rule; negative means the limit is missed.
"""

from dataclasses import dataclass

import numpy as np

from collum.core.ring import STATIONS, Floats, running_mean
from collum.evidence.handed import PlanLimits
from collum.plan.lengthening.wishes import Rule
from collum.vocabulary import Likelihood, Verdict


@dataclass(frozen=True, slots=True, kw_only=True)
class Reserve:
    """The reserve (36, n) of one requirement at the stations (36,) that take part, or (1, n) of the whole tooth.

    `smooth`: a running mean over 15 degrees counts, else every single station. `limits` (36,) where they differ. `at_most`:
    the limit is one from above. `handbook`: it rests on figures that were not read, and is at best in doubt. `step_mm`: the
    coarsest reading step.
    """

    rule: Rule
    amount: Floats
    stations: np.ndarray
    smooth: bool = True
    limits: Floats | None = None
    at_most: bool = False
    handbook: bool = False
    step_mm: float = 0

    def least(self, limits: PlanLimits) -> Floats:
        """Return (n,) the least reserve of the stations that take part, in every draw."""
        counted = self.amount
        if self.smooth and counted.shape[0] == STATIONS:
            counted = running_mean(counted, limits.smoothing_side_weight)
        return np.asarray((counted if self.stations.all() else counted[self.stations]).min(axis=0))


@dataclass(frozen=True, slots=True, kw_only=True)
class Graded:
    """The verdict of one requirement with what it rests on; `least` (n,) is its reserve in every draw.

    `value`, `limit` and `short_by` have the unit of the rule; `limit` is that of the worst station. A requirement of the whole
    tooth has none. `likelihood`: the word beside a verdict in doubt, None beside any other.
    """

    verdict: Verdict
    probability: float
    value: float
    limit: float
    worst_station: int | None
    worst_probability: float | None
    short_by: float | None
    least: Floats
    likelihood: Likelihood | None = None


def grade(reserve: Reserve, least: Floats, limits: PlanLimits) -> Graded:
    """Return the verdict of a requirement with its `least` reserve in every draw.

    A rule that is short lacks at least one reading step.
    """
    rule = reserve.rule
    probability = float(np.mean(least >= 0))
    verdict = decide(probability, rule.confidence)
    if verdict == "kept" and reserve.handbook:
        verdict = "in doubt"
    worst, worst_probability = _worst(reserve)
    limit = rule.limit if reserve.limits is None or worst is None else float(reserve.limits[worst])
    median = float(np.median(reserve.amount[worst or 0]))
    return Graded(
        verdict=verdict,
        probability=probability,
        value=limit - median if reserve.at_most else limit + median,
        limit=limit,
        worst_station=worst,
        worst_probability=worst_probability,
        short_by=_lacking(least, verdict, rule, reserve.step_mm),
        least=least,
        likelihood=likelihood_of(probability, limits) if verdict == "in doubt" else None,
    )


def decide(probability: float, confidence: float) -> Verdict:
    """Return kept where the share of draws that hold reaches the confidence, short where the share that miss reaches it."""
    if probability >= confidence:
        return "kept"
    return "short" if 1 - probability >= confidence else "in doubt"


def likelihood_of(chance: float, limits: PlanLimits) -> Likelihood:
    """Return the word for the chance of what is in doubt."""
    if chance >= limits.probably_from:
        return "probably"
    return "unlikely" if chance < limits.unlikely_below else "open"


def worst_verdict(verdicts: list[Verdict]) -> Verdict:
    """Return the worst of the verdicts: what was not read weighs more than doubt, what does not apply nothing."""
    order: tuple[Verdict, ...] = ("closed", "short", "not assessed", "in doubt", "kept")
    return next((v for v in order if v in verdicts), "kept")


def _lacking(least: Floats, verdict: Verdict, rule: Rule, step: float) -> float | None:
    """Return what is lacking to the confidence asked; nothing where kept."""
    if verdict == "kept":
        return None
    lacking = max(0, -float(np.quantile(least, 1 - rule.confidence)))
    return max(lacking, step) if verdict == "short" else lacking


def _worst(reserve: Reserve) -> tuple[int | None, float | None]:
    """Return the station that fails most often, of equals the one with the least mean reserve, and how often it holds."""
    if reserve.amount.shape[0] != STATIONS:
        return None, None
    share = (reserve.amount >= 0).mean(axis=1)
    mean = reserve.amount.mean(axis=1)
    spread = np.ptp(mean) or 1
    tie_break = (mean - mean.min()) / spread / reserve.amount.shape[1] / 2  # too small to matter otherwise
    worst = int(np.argmin(np.where(reserve.stations, share + tie_break, np.inf)))
    return worst, float(share[worst])

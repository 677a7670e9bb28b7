"""The one place where a verdict is made: from the reserve of a requirement in every draw to kept, in doubt or short.

Reserves are (36, n): how much more than the limit there is at a station in a draw; negative means the limit is missed. [mm]
"""

from dataclasses import dataclass

import numpy as np

from collum.core.ring import STATIONS, Floats, running_mean
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


def all_round(reserve_mm: Floats, stations: np.ndarray) -> Floats:
    """Return (n,) the least running mean over 15 degrees among the stations that take part."""
    return np.asarray(running_mean(reserve_mm)[stations].min(axis=0))


def single_station(reserve_mm: Floats, stations: np.ndarray) -> Floats:
    """Return (n,) the least reserve of any single station: for the distance to bone."""
    return np.asarray(reserve_mm[stations].min(axis=0))


def over_arc(reserve_mm: Floats, loaded: np.ndarray) -> Floats:
    """Return (n,) for the ferrule: the smaller of what is exceeded over the asked arc and the least in the loaded sectors."""
    smooth = running_mean(reserve_mm)
    may_lack = STATIONS - int(np.ceil(STATIONS * value("plan.ferrule_arc_deg") / 360))
    arc = np.sort(smooth, axis=0)[may_lack]
    return np.asarray(np.minimum(arc, smooth[loaded].min(axis=0)))


def spared_by_arc(room_mm: Floats, loaded: np.ndarray) -> np.ndarray:
    """Return (36,) bool: the unloaded stations with least room that the arc asked of a ferrule may leave out."""
    may_lack = STATIONS - int(np.ceil(STATIONS * value("plan.ferrule_arc_deg") / 360))
    unloaded = np.flatnonzero(~loaded)
    worst = unloaded[np.argsort(room_mm[unloaded], kind="stable")][:may_lack]
    spared = np.zeros(STATIONS, dtype=bool)
    spared[worst] = True
    return spared


def grade(least: Floats, reserve_mm: Floats, stations: np.ndarray, rule: Rule, least_step_mm: float) -> Graded:
    """Return the verdict of a requirement whose reserve in every draw is `least`.

    Kept: the share of draws with a reserve >= 0 reaches the confidence. Short: the median reserve is below 0. Else in doubt.
    """
    probability, verdict, lacking = _decided(least, rule, least_step_mm)
    share = (reserve_mm >= 0).mean(axis=1)
    share[~stations] = np.inf
    worst = int(np.argmin(np.where(np.isfinite(share), share + _tie_break(reserve_mm), np.inf)))
    return Graded(
        verdict=verdict,
        probability=probability,
        value=rule.limit + float(np.median(reserve_mm[worst])),
        worst_station=worst,
        worst_probability=float(share[worst]),
        short_by=lacking,
        least=least,
    )


def grade_whole(reserve: Floats, value: float, rule: Rule) -> Graded:
    """Return the verdict of a requirement of the whole tooth with reserve (n,), in the unit of the rule."""
    probability, verdict, lacking = _decided(reserve, rule, 0)
    return Graded(
        verdict=verdict,
        probability=probability,
        value=value,
        worst_station=None,
        worst_probability=None,
        short_by=lacking,
        least=reserve,
    )


def _decided(least: Floats, rule: Rule, least_step: float) -> tuple[float, Verdict, float | None]:
    """Return probability, verdict and what is lacking; a short rule lacks at least one reading step."""
    probability = float(np.mean(least >= 0))
    verdict = decide(probability, float(np.median(least)), rule.confidence)
    if verdict == "kept":
        return probability, verdict, None
    lacking = max(0, -float(np.quantile(least, 1 - rule.confidence)))
    return probability, verdict, max(lacking, least_step) if verdict == "short" else lacking


def decide(probability: float, median_reserve_mm: float, confidence: float) -> Verdict:
    """Return kept, short or in doubt."""
    if probability >= confidence:
        return "kept"
    return "short" if median_reserve_mm < 0 else "in doubt"


def worst_verdict(verdicts: list[Verdict]) -> Verdict:
    """Return the worst of the verdicts; requirements that do not apply say nothing."""
    order: tuple[Verdict, ...] = ("closed", "short", "in doubt", "not assessed", "kept")
    return next((v for v in order if v in verdicts), "kept")


def _tie_break(reserve_mm: Floats) -> Floats:
    """Return (36,) amounts too small to matter that put the least mean reserve first among stations that always hold."""
    mean = reserve_mm.mean(axis=1)
    spread = np.ptp(mean) or 1
    return np.asarray((mean - mean.min()) / spread / reserve_mm.shape[1] / 2)

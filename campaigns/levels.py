"""Calibration of the levels round the neck: how often a band holds the truth of a simulated mouth.

Each mouth is counted once a level: one angle, picked at random among the six sites and the six places between them. Bands
and the rank of the truth come from the same draws the verdicts use. A binomial interval (Clopper and Pearson 1934) stands
beside every share.
"""

from collections.abc import Callable, Iterable, Iterator, Sequence
from dataclasses import dataclass, replace
from typing import TypeVar

import numpy as np
from numpy.random import Generator
from numpy.typing import NDArray
from scipy.stats import beta

from collum.case import Case, from_document
from collum.case.model import Reading, Tooth
from collum.core.neck import draw_neck, neck_posterior, neck_prior
from collum.plan.lengthening.levels.inputs import inputs_of
from tests.making.mouths import POPULATIONS, SITES, Mouth, Population, Truth, make_mouths
from tests.measuring.necks import EVIDENCE, PRIORS

T = TypeVar("T")
LEVELS = ("sulcus_base", "crest", "probe_tip", "attachment")
BANDS = (0.50, 0.80, 0.90, 0.95)
ANGLES_DEG = np.arange(0.0, 360.0, 30.0)
PLACES = ("mid-side site", "site between the teeth", "no site")
PIT_BINS = 10
DRAWS = 2_000


@dataclass(frozen=True, slots=True, kw_only=True)
class Rank:
    """Where the truth of one level of one mouth lies among its draws, 0 to 1, and what it was counted under."""

    level: str
    place: str
    plausible: bool
    overgrown: bool
    far_off: bool
    rank: float
    held: tuple[bool, ...]  # by the bands, in the order of BANDS


def ranks_of(population: Population, count: int, seed: int, *, only_far_off: bool = False) -> list[Rank]:
    """Return the ranks of `count` mouths of a population, half of them healthy and half overgrown.

    `only_far_off`: leave out those without a sounding far off, to look at what the mixture is for.
    """
    rng = np.random.default_rng(np.random.SeedSequence(seed, spawn_key=(POPULATIONS.index(population),)))
    ranks = []
    for overgrown in (False, True):
        for mouth in make_mouths(population, count // 2, rng, overgrown=overgrown):
            if mouth.far_off.any() or not only_far_off:
                ranks += _ranks_of_mouth(mouth, overgrown, rng)
    return ranks


def summary(ranks: list[Rank]) -> dict[str, object]:
    """Return coverage by level, place, state and plausibility of the readings, and the histogram of ranks."""
    plausible = [r for r in ranks if r.plausible]
    return {
        "plausible_readings": {level: coverage(r for r in plausible if r.level == level) for level in LEVELS},
        "implausible_readings": {level: coverage(r for r in ranks if not r.plausible and r.level == level) for level in LEVELS},
        "by_place": {
            place: {level: coverage(r for r in plausible if (r.level, r.place) == (level, place)) for level in LEVELS}
            for place in PLACES
        },
        "by_state": {
            name: {level: coverage(r for r in plausible if (r.level, r.overgrown) == (level, overgrown)) for level in LEVELS}
            for name, overgrown in (("healthy", False), ("overgrown", True))
        },
        "with_a_far_off_sounding": {level: coverage(r for r in ranks if r.far_off and r.level == level) for level in LEVELS},
        "rank_histogram": {level: _histogram(r.rank for r in ranks if r.level == level) for level in LEVELS},
    }


def coverage(ranks: Iterable[Rank]) -> dict[str, object]:
    """Return for each band how often it held the truth, with its 95 % binomial interval."""
    held = np.array([r.held for r in ranks], dtype=bool)
    if not held.size:
        return {"mouths": 0}
    mouths = held.shape[0]
    shares = {}
    for column, band in enumerate(BANDS):
        hits = int(held[:, column].sum())
        shares[f"{band:.2f}"] = share_of(hits, mouths, 4)
    return {"mouths": mouths, "bands": shares}


def binomial_interval(hits: int, of: int) -> tuple[float, float]:
    """Return the exact 95 % interval of a share (Clopper and Pearson 1934)."""
    low = float(beta.ppf(0.025, hits, of - hits + 1)) if hits else 0.0
    high = float(beta.ppf(0.975, hits + 1, of - hits)) if hits < of else 1.0
    return low, high


def share_of(hits: int, of: int, places: int) -> dict[str, object]:
    """Return a share with its 95 % interval, rounded to so many places."""
    low, high = binomial_interval(hits, of)
    return {"share": round(hits / of, places), "low": round(low, places), "high": round(high, places)}


def in_bins(
    found: Iterable[T], chance_of: Callable[[T], float | None], edges: Sequence[float]
) -> Iterator[tuple[float, list[T]]]:
    """Give the lower edge of each bin with what falls into it, the last one closed; empty bins are left out."""
    told = [(chance, one) for one in found if (chance := chance_of(one)) is not None]
    for low, high in zip(edges, edges[1:], strict=False):
        inside = [one for chance, one in told if low <= chance < high or chance == high == edges[-1]]
        if inside:
            yield low, inside


def case_with_readings(mouth: Mouth) -> Case:
    """Return the case of a mouth; implausible soundings, which a file with them would be refused for, are put in afterwards."""
    if mouth.plausible:
        return from_document(mouth.document)
    tooth_document = dict(mouth.document["teeth"][0])  # type: ignore[index]  # a list of one tooth
    sites = tooth_document["sites"]
    tooth_document["sites"] = {key: entry for key, entry in sites.items() if key != "bone_sounding"}
    case = from_document({**mouth.document, "teeth": [tooth_document]})
    return replace(case, teeth=(_with_soundings(case.teeth[0], mouth),))


def _with_soundings(tooth: Tooth, mouth: Mouth) -> Tooth:
    soundings = {
        site: (Reading(value_mm=float(mm), step_mm=mouth.step_mm),) for site, mm in zip(SITES, mouth.sounding_mm, strict=True)
    }
    return replace(tooth, readings={**tooth.readings, "bone_sounding": soundings})


def _ranks_of_mouth(mouth: Mouth, overgrown: bool, rng: Generator) -> list[Rank]:
    inputs = inputs_of(case_with_readings(mouth), 0, EVIDENCE).levels
    prior = neck_prior(ANGLES_DEG, inputs.state, PRIORS)
    neck = draw_neck(neck_posterior(inputs.probing, inputs.soundings, inputs.state, PRIORS), prior, PRIORS, DRAWS, rng)
    draws = {
        "sulcus_base": neck.sulcus_mm,
        "crest": neck.crest_depth_mm,
        "probe_tip": neck.sulcus_mm + neck.tip_beyond_mm,
        "attachment": neck.attachment_mm,
    }
    ranks = []
    for level in LEVELS:
        at = int(rng.integers(ANGLES_DEG.size))
        rank, held = _rank(draws[level][at], _true_mm(mouth.truth, level)[at], rng)
        ranks.append(
            Rank(
                level=level,
                place=_place(at),
                plausible=mouth.plausible,
                overgrown=overgrown,
                far_off=bool(mouth.far_off.any()),
                rank=rank,
                held=held,
            )
        )
    return ranks


def _rank(draws: NDArray[np.float64], true_mm: float, rng: Generator) -> tuple[float, tuple[bool, ...]]:
    """Return the rank of the truth (ties, at a floor, broken at random) and whether each band holds it."""
    rank = float(np.mean(draws < true_mm) + rng.random() * np.mean(draws == true_mm))
    edges = np.quantile(draws, [share for band in BANDS for share in ((1 - band) / 2, (1 + band) / 2)]).reshape(-1, 2)
    return rank, tuple(bool(low <= true_mm <= high) for low, high in edges)


def _true_mm(truth: Truth, level: str) -> NDArray[np.float64]:
    curve = {
        "sulcus_base": truth.sulcus_mm,
        "crest": truth.crest_depth_mm,
        "probe_tip": truth.sulcus_mm + truth.tip_beyond_mm,
        "attachment": truth.attachment_mm,
    }[level]
    return curve[(ANGLES_DEG / 10).astype(int)]


def _place(at: int) -> str:
    angle = int(ANGLES_DEG[at])
    if angle % 60:
        return "no site"
    return "mid-side site" if angle % 180 == 0 else "site between the teeth"


def _histogram(ranks: Iterable[float]) -> list[int]:
    counts, _ = np.histogram(list(ranks), bins=PIT_BINS, range=(0, 1))
    return [int(n) for n in counts]

"""Levels of one tooth: every explanation of the soundings, each a dense Gaussian over sulcus, attachment and probe tip."""

import itertools
from collections.abc import Mapping
from dataclasses import dataclass
from typing import Any

import numpy as np
from numpy.random import Generator
from numpy.typing import NDArray

Floats = NDArray[np.float64]

SITES_DEG = {"F": 0, "MF": 60, "M": 90, "ML": 120, "L": 180, "DL": 240, "D": 270, "DF": 300}
THETA = np.arange(0.0, 360.0, 10.0)
M = THETA.size
OVERGROWN_LENGTH = 1.0  # tissue grown over bulges along a whole side
LOCAL_SD = 0.5  # and in part changes from site to site
KINDS_FRONT = ((0.88, -0.05, None), (0.10, -3.2, 2.2), (0.02, 2.5, 1.5))
KINDS = ((0.96, -0.05, None), (0.03, -3.2, 2.2), (0.01, 2.5, 1.5))


@dataclass(frozen=True, slots=True, kw_only=True)
class Tooth:
    """What the peer takes from a case document: single readings by station index, and the wishes."""

    number: int
    healthy: bool
    step_mm: float
    probing: dict[int, float]
    sounding: dict[int, float]
    crown_height: dict[int, float]
    sound_height: dict[int, float]
    keratinised_width: dict[int, float]
    reduction_mm: float
    low_mm: float
    high_mm: float | None
    wall_only: bool
    in_the_sulcus: bool
    convergence_deg: float = 20.0
    grooves: bool = False

    @property
    def settled(self) -> bool:
        """Known to be healthy and probing 3 mm or less."""
        return self.healthy and max(self.probing.values(), default=0) <= 3

    @property
    def upper_front(self) -> bool:
        return self.number // 10 in (1, 2) and self.number % 10 <= 3


@dataclass(frozen=True, slots=True, kw_only=True)
class Gaussian:
    """Mean (k,) and covariance (k, k)."""

    mean: Floats
    covariance: Floats

    def given(self, rows: Floats, value: Floats, variance: Floats) -> "Gaussian":
        """Condition on `rows` x + error = value."""
        gain = np.linalg.solve(rows @ self.covariance @ rows.T + np.diag(variance), rows @ self.covariance).T
        return Gaussian(
            mean=self.mean + gain @ (value - rows @ self.mean), covariance=self.covariance - gain @ rows @ self.covariance
        )

    def draws(self, count: int, rng: Generator) -> Floats:
        """Return (k, count) draws."""
        values, vectors = np.linalg.eigh(self.covariance)
        root = vectors * np.sqrt(np.maximum(values, 0))
        return self.mean[:, None] + root @ rng.standard_normal((self.mean.size, count))


def read(document: Mapping[str, Any]) -> Tooth:
    """Return the first tooth of a case document with one number a site."""
    tooth = document["teeth"][0]
    sites = tooth["sites"]
    step = sites.get("step", 1.0)
    restoration = tooth.get("restoration", {})
    finish = restoration.get("finish", {"position": "supragingival", "mm": 0.0})
    far = float(finish.get("mm", 0))
    low, high = {"in the sulcus": (-far, 0.0), "at the margin": (0.0, 0.5), "supragingival": (far, None)}[finish["position"]]

    def by_station(kind: str) -> dict[int, float]:
        return {SITES_DEG[site] // 10: float(mm) for site, mm in sites.get(kind, {}).items()}

    return Tooth(
        number=tooth["number"],
        healthy=tooth.get("state") == "healthy",
        step_mm=float(step["probing_depth"] if isinstance(step, Mapping) else step),
        probing=by_station("probing_depth"),
        sounding=by_station("bone_sounding"),
        crown_height=by_station("crown_height"),
        sound_height=by_station("sound_height"),
        keratinised_width=by_station("keratinised_width"),
        reduction_mm=restoration.get("occlusal_reduction_mm", 1.5),
        low_mm=low,
        high_mm=high,
        wall_only=tooth.get("vital") is True and not any(tooth.get("core", {}).get(key) for key in ("present", "planned")),
        in_the_sulcus=finish["position"] == "in the sulcus",
    )


def kernel(length: float = 0.5) -> Floats:
    """Return (36, 36) exp(-2 sin2(D/2) / length^2)."""
    half = np.deg2rad(THETA[:, None] - THETA) / 2
    return np.asarray(np.exp(-2 * np.sin(half) ** 2 / length**2))


def prior(tooth: Tooth) -> Gaussian:
    """Return sulcus, attachment and tip beyond the floor, stacked (108,)."""
    between = np.sin(np.deg2rad(THETA)) ** 2

    def near(angle: float) -> Floats:
        return np.asarray(np.exp(4 * (np.cos(np.deg2rad(THETA - angle)) - 1)))

    one = np.ones(M)
    parts = [
        (0.20, one),
        (0.08, one),
        (0.03, near(60) + near(300)),
        (0.07, near(120) + near(240)),
        (0.12, near(0)),
        (0.12, near(180)),
        (0.01, (1 - np.cos(np.deg2rad(THETA))) / 2),
        (0.14, near(60)),
        (0.14, near(300)),
        (0.15, near(120)),
        (0.15, near(240)),
    ]
    sulcus = sum((v * np.outer(shape, shape) for v, shape in parts), np.zeros((M, M)))
    if not tooth.settled:
        sulcus = sulcus + 1.5**2 + (1.0 - LOCAL_SD**2) * kernel(OVERGROWN_LENGTH) + LOCAL_SD**2 * kernel()
    zero = np.zeros((M, M))
    covariance = np.block([[sulcus, zero, zero], [zero, 0.10 + 0.08 * kernel(), zero], [zero, zero, 0.30**2 * kernel()]])
    return Gaussian(mean=np.concatenate([1.25 + 0.42 * between, 2.20 * one, 0.65 * one]), covariance=covariance)


def after_probing(tooth: Tooth) -> Gaussian:
    """Return the prior after the probing depths: error 0.4 mm (0.5 between back teeth) and the rounding."""
    at = list(tooth.probing)
    rows = np.zeros((len(at), 3 * M))
    variance = np.zeros(len(at))
    for row, station in enumerate(at):
        rows[row, station] = rows[row, 2 * M + station] = 1
        error = 0.5 if tooth.number % 10 >= 4 and station not in (0, 18) else 0.4
        variance[row] = error**2 + tooth.step_mm**2 / 12
    return prior(tooth).given(rows, np.array(list(tooth.probing.values())), variance)


def explanations(tooth: Tooth) -> list[tuple[float, Gaussian]]:
    """Return every explanation of the soundings with its weight: 3 to the power of their number."""
    start = after_probing(tooth)
    at = list(tooth.sounding)
    rows = np.zeros((len(at), 3 * M))
    for row, station in enumerate(at):
        rows[row, station] = rows[row, M + station] = 1
    value = np.array(list(tooth.sounding.values()))
    expected, spread = rows @ start.mean, rows @ start.covariance @ rows.T
    choices = [KINDS_FRONT if tooth.upper_front and station in (0, 3, 6, 30, 33) else KINDS for station in at]
    found, weights = [], []
    for kinds in itertools.product(*choices):
        variance = np.array([0.4**2 + tooth.step_mm**2 / 12 if sd is None else sd**2 for _, _, sd in kinds])
        bias = np.array([b for _, b, _ in kinds])
        total = spread + np.diag(variance)
        away = value - bias - expected
        log = -(away @ np.linalg.solve(total, away) + np.linalg.slogdet(total)[1]) / 2
        weights.append(np.prod([share for share, _, _ in kinds]) * np.exp(log))
        found.append((bias, variance))
    share = np.array(weights) / np.sum(weights)
    keep = np.flatnonzero(share > 1e-6)  # the rest together weigh less than 1e-3
    return [(float(share[i]), start.given(rows, value - found[i][0], found[i][1])) for i in keep]


def crest_moments(tooth: Tooth) -> tuple[Floats, Floats]:
    """Return mean and SD (36,) of margin to crest by enumeration. [mm]"""
    rows = np.hstack([np.eye(M), np.eye(M), np.zeros((M, M))])
    return _moments(tooth, rows)


def sulcus_moments(tooth: Tooth) -> tuple[Floats, Floats]:
    """Return mean and SD (36,) of the sulcus by enumeration. [mm]"""
    return _moments(tooth, np.hstack([np.eye(M), np.zeros((M, 2 * M))]))


def _moments(tooth: Tooth, rows: Floats) -> tuple[Floats, Floats]:
    kept = explanations(tooth)
    weight = np.array([w for w, _ in kept])
    weight /= weight.sum()
    means = np.array([rows @ g.mean for _, g in kept])
    variances = np.array([np.diag(rows @ g.covariance @ rows.T) for _, g in kept])
    mean = weight @ means
    return mean, np.sqrt(weight @ (variances + (means - mean) ** 2))


def draw(tooth: Tooth, count: int, rng: Generator) -> tuple[Floats, Floats]:
    """Return draws (36, count) of sulcus and attachment, floors 0.2 and 0.8 mm."""
    kept = explanations(tooth)
    weight = np.array([w for w, _ in kept])
    counts = rng.multinomial(count, weight / weight.sum())
    x = np.concatenate([g.draws(n, rng) for (_, g), n in zip(kept, counts, strict=True) if n], axis=1)
    return np.maximum(x[:M], 0.2), np.maximum(x[M : 2 * M], 0.8)

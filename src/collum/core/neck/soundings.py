"""Explanations of a set of bone soundings: which of them met the crest, which stopped short, which slid past.

A sounding that is far off is not a wide error but another event (Kan 2017: 12 % off by more than 1 mm), so the soundings of
a tooth have 3^n explanations, each with a Gaussian answer. They are built one sounding at a time and the ones too light to
matter are dropped; the dropped share is reported.
"""

from dataclasses import dataclass

import numpy as np
from numpy.typing import NDArray

from collum.core.neck.readings import SoundingReading, sounding_kinds
from collum.core.ring import Floats
from collum.evidence.handed import NeckPriors


@dataclass(frozen=True, slots=True, kw_only=True)
class Explanations:
    """B kept explanations of n soundings.

    weight (B,) sums to 1; kind (B, n) index of the kind (0 right, 1 short, 2 long); gain (B, n, n) inverse of the
    covariance of the readings; residual (B, n) readings less their mean; noise_sd (B, n); dropped: share of weight left
    out.
    """

    weight: Floats
    kind: NDArray[np.int64]
    gain: Floats
    residual: Floats
    noise_sd: Floats
    dropped: float

    def far_off_probability(self) -> Floats:
        """Return (n,) probability that each sounding did not meet the crest."""
        return np.asarray(self.weight @ (self.kind > 0))


def explain_soundings(
    readings: tuple[SoundingReading, ...], mean_mm: Floats, covariance_mm2: Floats, priors: NeckPriors
) -> Explanations:
    """Return the explanations of a set of bone soundings.

    Parameters
    ----------
    readings : tuple of SoundingReading
        The n soundings [mm].
    mean_mm : ndarray (n,)
        Mean of the true depths before the soundings [mm].
    covariance_mm2 : ndarray (n, n)
        Covariance of the true depths before the soundings [mm2].
    priors : NeckPriors
        The kinds of a sounding, and the least weight of an explanation beside the heaviest.

    Returns
    -------
    Explanations
        B kept explanations with their weights (B,), kinds (B, n), gains (B, n, n) [1/mm2], residuals and noise (B, n) [mm].

    Source
    ------
    Derived: Bayes' rule over 3^n Gaussian explanations; that far-off soundings are events of their own [kan2017].

    Examples
    --------
    A sounding 2.5 mm deeper than expected is more probably one that slid past the crest.

    >>> from collum.evidence import all_constants
    >>> from collum.evidence.handed import evidence_of
    >>> priors = evidence_of(all_constants()).neck
    >>> sounding = SoundingReading(theta_deg=0, value_mm=5.5, step_mm=0.5, error_mm=0.3)
    >>> found = explain_soundings((sounding,), np.array([3.0]), np.array([[0.25]]), priors)
    >>> found.far_off_probability().round(2).tolist()
    [0.97]
    """
    table = _KindTable.of(readings, priors)
    value_mm = np.array([reading.value_mm for reading in readings])
    least = np.log(priors.least_branch_weight)
    kind = np.zeros((1, 0), dtype=np.int64)
    weight = np.ones(1)
    dropped = 0
    for done in range(1, len(readings) + 1):
        branches = kind.shape[0]
        kind = np.concatenate([np.repeat(kind, 3, axis=0), np.tile(np.arange(3), branches)[:, None]], axis=1)
        log_weight = table.log_weight(kind, value_mm[:done], mean_mm[:done], covariance_mm2[:done, :done])
        weight = np.exp(log_weight - log_weight.max())
        keep = log_weight - log_weight.max() > least
        dropped += weight[~keep].sum() / weight.sum()
        kind, weight = kind[keep], weight[keep]
    residual, noise_variance = table.errors(kind, value_mm, mean_mm)
    return Explanations(
        weight=weight / weight.sum(),
        kind=kind,
        gain=np.asarray(np.linalg.inv(covariance_mm2 + _diagonal(noise_variance)), dtype=np.float64),
        residual=residual,
        noise_sd=np.sqrt(noise_variance),
        dropped=float(dropped),
    )


@dataclass(frozen=True, slots=True)
class _KindTable:
    """Share, bias and variance of each kind of each sounding, (n, 3)."""

    log_share: Floats
    bias_mm: Floats
    variance_mm2: Floats

    @staticmethod
    def of(readings: tuple[SoundingReading, ...], priors: NeckPriors) -> "_KindTable":
        kinds = [sounding_kinds(reading, priors) for reading in readings]
        shape = (len(kinds), 3)
        return _KindTable(
            np.log(np.array([[k.share for k in row] for row in kinds]).reshape(shape)),
            np.array([[k.bias_mm for k in row] for row in kinds]).reshape(shape),
            np.array([[k.variance_mm2 for k in row] for row in kinds]).reshape(shape),
        )

    def errors(self, kind: NDArray[np.int64], value_mm: Floats, mean_mm: Floats) -> tuple[Floats, Floats]:
        """Return residual (B, n) and noise variance (B, n) of each explanation."""
        position = np.arange(kind.shape[1])
        return value_mm - mean_mm - self.bias_mm[position, kind], self.variance_mm2[position, kind]

    def log_weight(self, kind: NDArray[np.int64], value_mm: Floats, mean_mm: Floats, covariance_mm2: Floats) -> Floats:
        """Return (B,) log of share times Gaussian density of the readings, up to a common constant."""
        residual, noise_variance = self.errors(kind, value_mm, mean_mm)
        lower = np.linalg.cholesky(covariance_mm2 + _diagonal(noise_variance))
        white = np.linalg.solve(lower, residual[:, :, None])[:, :, 0]
        log_det = np.log(np.diagonal(lower, axis1=1, axis2=2)).sum(axis=1)
        share = self.log_share[np.arange(kind.shape[1]), kind].sum(axis=1)
        return np.asarray(share - (white**2).sum(axis=1) / 2 - log_det)


def _diagonal(rows: Floats) -> Floats:
    return np.asarray(rows[:, :, None] * np.eye(rows.shape[1]))

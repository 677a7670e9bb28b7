"""A linear-Gaussian model in its normals: fields are mean + features z, z standard normal before any reading.

Exact readings are joined by the usual formulae (Rasmussen and Williams 2006, eq. 2.11 in weight space). A one-sided reading
("beyond the probe") is replaced by the Gaussian reading with the same first two moments of the truncated posterior
(assumed-density filtering; moments of a cut normal from Johnson, Kotz and Balakrishnan 1994, 13.10).
"""

from dataclasses import dataclass

import numpy as np
from scipy.linalg import cho_factor, cho_solve, cholesky
from scipy.special import log_ndtr

from collum.core.ring import Floats


@dataclass(frozen=True, slots=True, kw_only=True)
class Normals:
    """Mean (k,) and covariance (k, k) of the normals z."""

    mean: Floats
    covariance: Floats

    @staticmethod
    def standard(count: int) -> "Normals":
        return Normals(mean=np.zeros(count), covariance=np.eye(count))

    def given(self, features: Floats, residual: Floats, variance: Floats) -> "Normals":
        """Return the normals after readings `residual` (n,) of `features` z (n, k) with error `variance` (n,)."""
        if residual.size == 0:
            return self
        cross = self.covariance @ features.T
        gram = cho_factor(features @ cross + np.diag(variance))
        gain = cho_solve(gram, cross.T).T
        return Normals(
            mean=self.mean + gain @ (residual - features @ self.mean),
            covariance=self.covariance - gain @ cross.T,
        )

    def given_beyond(self, feature: Floats, residual: float, variance: float) -> "Normals":
        """Return the normals after a reading that says: feature z plus error is greater than `residual`."""
        mean = float(feature @ self.mean)
        spread = float(feature @ self.covariance @ feature)
        total = np.sqrt(spread + variance)
        lift = (mean - residual) / total
        ratio = np.exp(-(lift**2) / 2 - np.log(2 * np.pi) / 2 - log_ndtr(lift))
        new_mean = mean + spread / total * ratio
        new_spread = spread - spread**2 / total**2 * ratio * (lift + ratio)
        along = self.covariance @ feature / spread
        return Normals(
            mean=self.mean + along * (new_mean - mean),
            covariance=self.covariance - np.outer(along, along) * (spread - new_spread),
        )

    def factor(self) -> Floats:
        """Return a lower triangular L with L L' equal to the covariance (a trace of jitter keeps it positive)."""
        size = self.mean.size
        jitter = np.finfo(float).eps * size * np.trace(self.covariance)
        return np.asarray(cholesky(self.covariance + jitter * np.eye(size), lower=True))

    def draws(self, standard: Floats) -> Floats:
        """Return (k, n) draws of z from (k, n) standard normals."""
        return np.asarray(self.mean[:, None] + self.factor() @ standard)

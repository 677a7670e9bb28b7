"""From readings to levels with doubt: sulcus, attachment and probe tip round the neck, as draws.

All depths are below the gingival margin of the same station, positive apically, in mm. A draw is one complete neck that could
have given the readings; statistics and verdicts come from the same draws. Draws are kept inside the order margin, sulcus base,
crest by floors on sulcus and attachment, and the share that met a floor is reported.
"""

from dataclasses import dataclass

import numpy as np
from numpy.random import Generator

from collum.core.neck.gaussian import Normals
from collum.core.neck.prior import NeckPrior, NeckState, neck_prior
from collum.core.neck.readings import DepthReading, SoundingReading, depth_values
from collum.core.neck.soundings import Explanations, explain_soundings
from collum.core.ring import Floats
from collum.evidence.handed import NeckPriors


@dataclass(frozen=True, slots=True, kw_only=True)
class NeckDraws:
    """Draws of the neck at m stations, each (m, n). [mm]

    `far_off` (soundings,): probability that each sounding did not meet the crest. `clamped_share`: share of draws that met
    a floor at any station. `dropped_mass`: weight of explanations left out.
    """

    sulcus_mm: Floats
    attachment_mm: Floats
    tip_beyond_mm: Floats
    far_off: Floats
    clamped_share: float
    dropped_mass: float

    @property
    def crest_depth_mm(self) -> Floats:
        """Margin to crest. [mm]"""
        return np.asarray(self.sulcus_mm + self.attachment_mm)


@dataclass(frozen=True, slots=True, kw_only=True)
class NeckPosterior:
    """The neck after its readings: normals after probing, and the explanations of the soundings."""

    normals: Normals
    explanations: Explanations
    sounding_features: Floats

    def crest_depth_moments(self, prior: NeckPrior) -> tuple[Floats, Floats]:
        """Return mean and variance (m,) of margin to crest at the angles of `prior`, by the exact mixture, without floors."""
        features = prior.sulcus + prior.attachment
        base_mean = prior.sulcus_mean_mm + prior.attachment_mean_mm + features @ self.normals.mean
        cross = features @ self.normals.covariance @ self.sounding_features.T
        base_variance = np.einsum("mk,kl,ml->m", features, self.normals.covariance, features)
        e = self.explanations
        mean = base_mean + np.einsum("mi,bij,bj->bm", cross, e.gain, e.residual)
        variance = base_variance - np.einsum("mi,bij,mj->bm", cross, e.gain, cross)
        overall = e.weight @ mean
        return overall, e.weight @ (variance + (mean - overall) ** 2)


def neck_posterior(
    probing: tuple[DepthReading, ...], soundings: tuple[SoundingReading, ...], state: NeckState, priors: NeckPriors
) -> NeckPosterior:
    """Return the neck after the readings of one tooth; exact but for dropped explanations and one-sided readings.

    Parameters
    ----------
    probing : tuple of DepthReading
        Probing depths below the gingival margin [mm].
    soundings : tuple of SoundingReading
        Bone soundings below the gingival margin [mm].
    state : NeckState
        Whether the tooth is known to be healthy, and which sites bleed.
    priors : NeckPriors
        What is believed before any reading, and how readings err.

    Returns
    -------
    NeckPosterior
        Normals (k,) after probing, the explanations of the soundings and their features (soundings, k).

    Source
    ------
    Normals: Rasmussen and Williams 2006, eq. 2.11, in weight space. Soundings as a mixture [kan2017]. The joining is derived.

    Examples
    --------
    A probing depth of 3 mm and a sounding of 4 mm at the facial side: mean depth of the crest, and its standard deviation.

    >>> from collum.evidence import all_constants
    >>> from collum.evidence.handed import evidence_of
    >>> priors = evidence_of(all_constants()).neck
    >>> probing = DepthReading(theta_deg=0, value_mm=3, step_mm=0.5, error_mm=0.4)
    >>> sounding = SoundingReading(theta_deg=0, value_mm=4, step_mm=0.5, error_mm=0.3)
    >>> state = NeckState(settled=True)
    >>> posterior = neck_posterior((probing,), (sounding,), state, priors)
    >>> mean, variance = posterior.crest_depth_moments(neck_prior(np.array([0.0]), state, priors))
    >>> round(float(mean[0]), 1), round(float(variance[0]) ** 0.5, 1)
    (4.1, 0.3)
    """
    probing_prior = neck_prior(_angles(probing), state, priors)
    normals = _after_probing(probing, probing_prior)
    met = tuple(r for r in soundings if not r.beyond)
    past = tuple(r for r in soundings if r.beyond)
    past_prior = neck_prior(_angles(past), state, priors)
    for i, reading in enumerate(past):
        known = past_prior.sulcus_mean_mm[i] + past_prior.attachment_mean_mm[i]
        feature = past_prior.sulcus[i] + past_prior.attachment[i]
        normals = normals.given_beyond(feature, reading.value_mm - known, reading.variance_mm2)
    met_prior = neck_prior(_angles(met), state, priors)
    features = met_prior.sulcus + met_prior.attachment
    mean = met_prior.sulcus_mean_mm + met_prior.attachment_mean_mm + features @ normals.mean
    explanations = explain_soundings(met, mean, features @ normals.covariance @ features.T, priors)
    return NeckPosterior(normals=normals, explanations=explanations, sounding_features=features)


def draw_neck(posterior: NeckPosterior, prior: NeckPrior, priors: NeckPriors, count: int, rng: Generator) -> NeckDraws:
    """Return draws of the neck at the stations of a prior.

    Each draw takes an explanation of the soundings by its weight (evenly spread), a neck from before the soundings, and
    corrects it by the readings under that explanation (Matheron's rule), so that no covariance has to be factored per
    explanation.

    Parameters
    ----------
    posterior : NeckPosterior
        The neck after its readings.
    prior : NeckPrior
        Means (m,) and features (m, k) at the stations [mm].
    priors : NeckPriors
        Floors of sulcus and attachment [mm].
    count : int
        Number n of draws.
    rng : Generator
        Where chance comes from.

    Returns
    -------
    NeckDraws
        Sulcus, attachment and tip (m, n) [mm], with the shares that were clamped and dropped.

    Source
    ------
    Derived; Matheron's rule for a linear-Gaussian model.

    Examples
    --------
    Without any reading the draws follow the prior: mean depth of the crest at the facial side and between the teeth.

    >>> from collum.evidence import all_constants
    >>> from collum.evidence.handed import evidence_of
    >>> priors = evidence_of(all_constants()).neck
    >>> state = NeckState(settled=True)
    >>> prior = neck_prior(np.array([0.0, 90]), state, priors)
    >>> draws = draw_neck(neck_posterior((), (), state, priors), prior, priors, 4000, np.random.default_rng(1))
    >>> draws.crest_depth_mm.mean(axis=1).round(1).tolist()
    [3.4, 3.9]
    """
    e = posterior.explanations
    branch = _spread_evenly(e.weight, count, rng)
    z = posterior.normals.draws(rng.standard_normal((posterior.normals.mean.size, count)))
    noise = rng.standard_normal((count, e.kind.shape[1])) * e.noise_sd[branch]
    away = posterior.sounding_features @ (z - posterior.normals.mean[:, None])
    innovation = e.residual[branch] - away.T - noise
    weighted = np.einsum("nij,nj->in", e.gain[branch], innovation)
    z += posterior.normals.covariance @ (posterior.sounding_features.T @ weighted)
    sulcus = prior.sulcus_mean_mm[:, None] + prior.sulcus @ z
    attachment = prior.attachment_mean_mm[:, None] + prior.attachment @ z
    tip = prior.tip_mean_mm[:, None] + prior.tip @ z
    low = (sulcus < priors.sulcus_floor_mm) | (attachment < priors.attachment_floor_mm)
    np.maximum(sulcus, priors.sulcus_floor_mm, out=sulcus)
    np.maximum(attachment, priors.attachment_floor_mm, out=attachment)
    return NeckDraws(
        sulcus_mm=sulcus,
        attachment_mm=attachment,
        tip_beyond_mm=np.clip(tip, 0, attachment),
        far_off=e.far_off_probability(),
        clamped_share=float(low.any(axis=0).mean()),
        dropped_mass=e.dropped,
    )


def _after_probing(probing: tuple[DepthReading, ...], prior: NeckPrior) -> Normals:
    features = prior.sulcus + prior.tip
    _, depth_mm, variance = depth_values(probing)
    residual = depth_mm - prior.sulcus_mean_mm - prior.tip_mean_mm
    exact = np.array([not r.beyond for r in probing], dtype=bool)
    normals = Normals.standard(features.shape[1]).given(features[exact], residual[exact], variance[exact])
    for i in np.flatnonzero(~exact):
        normals = normals.given_beyond(features[i], float(residual[i]), float(variance[i]))
    return normals


def _angles(readings: tuple[DepthReading, ...]) -> Floats:
    return np.array([r.theta_deg for r in readings], dtype=float)


def _spread_evenly(weight: Floats, count: int, rng: Generator) -> np.ndarray:
    """Return `count` indices, index i about weight[i] * count times (systematic sampling), in random order."""
    edges = np.cumsum(weight)
    ticks = (np.arange(count) + rng.random()) / count
    index = np.minimum(np.searchsorted(edges, ticks), weight.size - 1)
    return rng.permutation(index)

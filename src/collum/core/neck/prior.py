"""What is believed of sulcus, attachment and probe tip before any reading of this tooth.

Three fields round the neck, each a mean plus fixed features times standard normals `z`: sulcus depth s (margin to true
floor), attachment A (floor to crest) and how far the probe tip passes the floor. s is a sum of independent parts (person,
tooth, kinds of site, embrasures), the only form found that gives the published correlations of charts, which no stationary
process does.

Not covered: several teeth at once (the embrasure parts are shared by two teeth; here each tooth is on its own).
"""

from dataclasses import dataclass

import numpy as np

from collum.core.ring import Floats, bump, interpolate_ring, proximal_weight, ring_features
from collum.evidence.handed import NeckPriors


@dataclass(frozen=True, slots=True, kw_only=True)
class NeckState:
    """What the prior depends on.

    `settled`: the tooth is known to be healthy, so that its sulcus follows the population; else the sulcus gets an extra doubt.
    `bleeding_deg`, `quiet_deg`: angles of sites that do and do not bleed. `proximal_probing_error`: back tooth.
    """

    settled: bool
    bleeding_deg: tuple[float, ...] = ()
    quiet_deg: tuple[float, ...] = ()


@dataclass(frozen=True, slots=True, kw_only=True)
class NeckPrior:
    """Means (n,) and features (n, k) of the three fields at n angles, over the same k standard normals. [mm]"""

    theta_deg: Floats
    sulcus_mean_mm: Floats
    attachment_mean_mm: Floats
    tip_mean_mm: Floats
    sulcus: Floats
    attachment: Floats
    tip: Floats


def neck_prior(theta_deg: Floats, state: NeckState, priors: NeckPriors) -> NeckPrior:
    """Return the prior of sulcus, attachment and probe tip at angles round the neck.

    Parameters
    ----------
    theta_deg : ndarray (n,)
        Angles round the neck [deg], 0 facial, 90 mesial.
    state : NeckState
        Whether the tooth is known to be healthy, and which sites bleed.
    priors : NeckPriors
        Means [mm], variances [mm2] and lengths of the fields.

    Returns
    -------
    NeckPrior
        Means (n,) and features (n, k) of the three fields [mm], over the same k standard normals.

    Source
    ------
    Sulcus [arora2013_height, jpid22], attachment [schmidt2013], variances [open_chart_figures]; the fields are derived.

    Examples
    --------
    >>> from collum.evidence import all_constants
    >>> from collum.evidence.handed import evidence_of
    >>> priors = evidence_of(all_constants()).neck
    >>> prior = neck_prior(np.array([0.0, 90]), NeckState(settled=True), priors)
    >>> prior.sulcus_mean_mm.round(2).tolist(), prior.attachment_mean_mm.round(2).tolist()
    ([1.25, 1.67], [2.2, 2.2])
    """
    theta = np.asarray(theta_deg, dtype=float)
    sulcus = _sulcus_features(theta, priors, settled=state.settled)
    attachment = _attachment_features(theta, priors)
    bleeding = _bleeding_weight(theta, state)
    tip_sd = _between(bleeding, priors.tip_beyond_healthy_sd_mm, priors.tip_beyond_bleeding_sd_mm)
    tip = tip_sd[:, None] * ring_features(theta, priors.ring_length)
    blocks = (sulcus, attachment, tip)
    widths = [block.shape[1] for block in blocks]
    starts = np.cumsum([0, *widths])
    wide = [np.zeros((theta.size, int(starts[-1]))) for _ in blocks]
    for block, out, start in zip(blocks, wide, starts[:-1], strict=True):
        out[:, start : start + block.shape[1]] = block
    return NeckPrior(
        theta_deg=theta,
        sulcus_mean_mm=priors.sulcus_mid_mm + priors.sulcus_proximal_extra_mm * proximal_weight(theta),
        attachment_mean_mm=np.full(theta.size, priors.attachment_mm),
        tip_mean_mm=_between(bleeding, priors.tip_beyond_healthy_mm, priors.tip_beyond_bleeding_mm),
        sulcus=wide[0],
        attachment=wide[1],
        tip=wide[2],
    )


def _sulcus_features(theta: Floats, priors: NeckPriors, *, settled: bool) -> Floats:
    one = np.ones_like(theta)

    def at(site_deg: float) -> Floats:
        return bump(theta, site_deg, priors.bump_sharpness)

    parts = [
        (priors.person_mm2, one),
        (priors.tooth_mm2, one),
        (priors.facial_embrasure_sites_mm2, at(60) + at(300)),
        (priors.oral_embrasure_sites_mm2, at(120) + at(240)),
        (priors.mid_site_mm2, at(0)),
        (priors.mid_site_mm2, at(180)),
        (priors.facial_against_oral_mm2, (1 - np.cos(np.deg2rad(theta))) / 2),
        (priors.facial_embrasure_mm2, at(60)),
        (priors.facial_embrasure_mm2, at(300)),
        (priors.oral_embrasure_mm2, at(120)),
        (priors.oral_embrasure_mm2, at(240)),
    ]
    columns = np.stack([np.sqrt(variance_mm2) * shape for variance_mm2, shape in parts], axis=1)
    if settled:
        return columns
    extra_tooth = priors.overgrown_tooth_sd_mm * one[:, None]
    local_sd = priors.overgrown_local_sd_mm
    along_sd = np.sqrt(priors.overgrown_site_sd_mm**2 - local_sd**2)
    along_sides = along_sd * ring_features(theta, priors.overgrown_ring_length)
    return np.concatenate([columns, extra_tooth, along_sides, local_sd * ring_features(theta, priors.ring_length)], axis=1)


def _attachment_features(theta: Floats, priors: NeckPriors) -> Floats:
    person = np.full((theta.size, 1), np.sqrt(priors.attachment_person_mm2))
    sites = np.sqrt(priors.attachment_site_mm2) * ring_features(theta, priors.ring_length)
    return np.concatenate([person, sites], axis=1)


def _bleeding_weight(theta: Floats, state: NeckState) -> Floats:
    at = [*state.bleeding_deg, *state.quiet_deg]
    if not state.bleeding_deg:
        return np.zeros_like(theta)
    marks = [1] * len(state.bleeding_deg) + [0] * len(state.quiet_deg)
    return interpolate_ring(theta, np.array(at), np.array(marks, dtype=float))


def _between(weight: Floats, quiet: float, bleeding: float) -> Floats:
    return np.asarray(quiet + (bleeding - quiet) * weight)

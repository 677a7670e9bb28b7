"""Own height: the margin-to-crest height this patient's tissue tends back to, round the neck.

A field: population mean (more between the teeth, held up by the neighbour) plus one deviate a tooth plus a smooth one round
the neck. It is tied to heights known at healthy sites: a healthy site of this tooth has its own height today; a mirror
tooth or neighbour shows it up to a reading error. Linear-Gaussian, so that each draw of the neck gets the own height that
belongs to it.
"""

from dataclasses import dataclass

import numpy as np
from numpy.random import Generator
from scipy.linalg import cho_factor, cho_solve

from collum.core.ring import QUARTER_DEG, Floats, angular_distance_deg, proximal_weight, ring_features
from collum.evidence.handed import HealingLaw


@dataclass(frozen=True, slots=True, kw_only=True)
class HeightKnown:
    """Heights that show the own height: at `theta_deg` (q,), draws (q, n) of the height, error (q,). [mm]"""

    theta_deg: Floats
    height_mm: Floats
    error_mm: Floats


@dataclass(frozen=True, slots=True, kw_only=True)
class Neighbours:
    """Whether a neighbour holds up the tissue on the mesial and on the distal side (no gap, pontic or missing contact)."""

    mesial: bool = True
    distal: bool = True


def population_own_height_mm(theta_deg: Floats, neighbours: Neighbours, law: HealingLaw) -> Floats:
    """Return the population mean of the own height; the mid-side value on a side where no neighbour holds the tissue up.

    Parameters
    ----------
    theta_deg : ndarray (m,)
        Angles round the neck [deg], 0 facial, 90 mesial.
    neighbours : Neighbours
        Whether the tissue is held up on the mesial and on the distal side.
    law : HealingLaw
        Mean in the middle of a side and between the teeth [mm].

    Returns
    -------
    ndarray (m,)
        Own height above the crest [mm].

    Source
    ------
    Means [arora2013_height, jpid22]; the weight sin2 between them and the missing neighbour are derived.

    Examples
    --------
    >>> from collum.evidence import all_constants
    >>> from collum.evidence.handed import evidence_of
    >>> law = evidence_of(all_constants()).healing
    >>> population_own_height_mm(np.array([0.0, 90, 270]), Neighbours(distal=False), law).round(2).tolist()
    [3.45, 3.87, 3.45]
    """
    weight = proximal_weight(theta_deg)
    for held, side_deg in ((neighbours.mesial, 90), (neighbours.distal, 270)):
        if not held:
            weight = np.where(angular_distance_deg(theta_deg, side_deg) < QUARTER_DEG, 0, weight)
    mid = law.own_height_mid_mm
    return np.asarray(mid + (law.own_height_proximal_mm - mid) * weight)


def draw_own_height_mm(
    theta_deg: Floats, known: HeightKnown, neighbours: Neighbours, law: HealingLaw, count: int, rng: Generator
) -> Floats:
    """Return draws of the own height, each given the known heights of the same draw.

    A draw from before the known heights is corrected by what they show. With no known height it is the population.

    Parameters
    ----------
    theta_deg : ndarray (m,)
        Angles round the neck [deg].
    known : HeightKnown
        Known heights (q, n) with their angles and errors; q may be 0.
    neighbours : Neighbours
        Whether the tissue is held up on the mesial and on the distal side.
    law : HealingLaw
        Means and spreads of the own height [mm].
    count : int
        Number n of draws.
    rng : Generator
        Where chance comes from.

    Returns
    -------
    ndarray (m, n)
        Own height above the crest [mm].

    Source
    ------
    Matheron's rule for a linear-Gaussian model; spread between patients [gingiva_cbct_2021].

    Examples
    --------
    One healthy site of 4 mm at the facial side draws the facial own height there, from a population mean of 3.45 mm.

    >>> from collum.evidence import all_constants
    >>> from collum.evidence.handed import evidence_of
    >>> law = evidence_of(all_constants()).healing
    >>> facial = np.array([0.0])
    >>> known = HeightKnown(theta_deg=facial, height_mm=np.full((1, 2000), 4.0), error_mm=np.array([0.25]))
    >>> height = draw_own_height_mm(facial, known, Neighbours(), law, 2000, np.random.default_rng(1))
    >>> round(float(height.mean()), 1)
    3.9
    """
    features = _features(theta_deg, law)
    z = rng.standard_normal((features.shape[1], count))
    height = population_own_height_mm(theta_deg, neighbours, law)[:, None] + features @ z
    if known.theta_deg.size == 0:
        return height
    at_known = _features(known.theta_deg, law)
    noise = known.error_mm[:, None] * rng.standard_normal((known.theta_deg.size, count))
    before = population_own_height_mm(known.theta_deg, neighbours, law)[:, None] + at_known @ z
    gram = cho_factor(at_known @ at_known.T + np.diag(known.error_mm**2))
    height += features @ (at_known.T @ cho_solve(gram, known.height_mm - before - noise))
    return height


def _features(theta_deg: Floats, law: HealingLaw) -> Floats:
    site = law.own_height_site_sd_mm
    tooth = np.sqrt(law.own_height_sd_mm**2 - site**2)
    whole = np.full((np.size(theta_deg), 1), tooth)
    return np.concatenate([whole, site * ring_features(theta_deg, law.ring_length)], axis=1)

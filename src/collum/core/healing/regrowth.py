"""How far the gingival margin comes back after a cut: the law, its spread and its course in time.

Tissue tends back to its own height H above the crest. A margin left at `distance` d above the crest moves coronally, at
last and on average, by R = k (H - d) + p, kept within [-0.30, k H] (line through three bins of Dominguez 2020; p from Arora
2013). The law comes from flap-and-bone surgery; for soft tissue alone k = 1 (full return) is the forecast that decides.
Positive is coronal. [mm]
"""

from math import sqrt

import numpy as np
from numpy.typing import ArrayLike
from scipy.special import ndtr

from collum.core.ring import Floats, proximal_weight
from collum.evidence.handed import HealingLaw


def mean_regrowth_mm(
    distance_mm: ArrayLike,
    law: HealingLaw,
    *,
    return_share: ArrayLike,
    own_height_mm: ArrayLike,
    phenotype_shift_mm: ArrayLike = 0,
) -> Floats:
    """Return the final mean movement of a margin left at a distance above the crest, R = k (H - d) + p, clipped.

    Parameters
    ----------
    distance_mm : array_like
        Distance d from the crest up to the cut margin [mm].
    law : HealingLaw
        Largest recession [mm].
    return_share : array_like
        Share k of the way back to the own height [1].
    own_height_mm : array_like
        Own height H above the crest [mm].
    phenotype_shift_mm : array_like
        Shift p of the phenotype [mm].

    Returns
    -------
    ndarray, broadcast shape
        Movement [mm], coronal positive, from the largest recession (negative) to k H.

    Source
    ------
    Line through three bins [dominguez2020]; shift of the phenotype [arora2013].

    Examples
    --------
    >>> from collum.evidence import all_constants
    >>> from collum.evidence.handed import evidence_of
    >>> law = evidence_of(all_constants()).healing
    >>> round(float(mean_regrowth_mm(1.5, law, return_share=0.6, own_height_mm=3.45)), 2)
    1.17
    """
    share, height = np.asarray(return_share, dtype=float), np.asarray(own_height_mm, dtype=float)
    raw = share * (height - np.asarray(distance_mm, dtype=float)) + np.asarray(phenotype_shift_mm, dtype=float)
    return np.asarray(np.clip(raw, -law.largest_recession_mm, share * height))


def return_share_bone(theta_deg: Floats, law: HealingLaw) -> Floats:
    """Return the share of the way back after bone surgery: facial and oral value, rising between the teeth.

    Parameters
    ----------
    theta_deg : ndarray (m,)
        Angles round the neck [deg].
    law : HealingLaw
        Facial and proximal share [1].

    Returns
    -------
    ndarray (m,)
        Share k [1].

    Source
    ------
    Facial [dominguez2020], proximal [jpid22]; the weight sin2 between them is derived.

    Examples
    --------
    >>> from collum.evidence import all_constants
    >>> from collum.evidence.handed import evidence_of
    >>> law = evidence_of(all_constants()).healing
    >>> return_share_bone(np.array([0.0, 45, 90]), law).round(3).tolist()
    [0.6, 0.685, 0.77]
    """
    facial = law.return_share_facial
    return np.asarray(facial + (law.return_share_proximal - facial) * proximal_weight(theta_deg))


def phenotype_shift_mm(phenotype: str, law: HealingLaw) -> float:
    """Return the shift p of the regrowth: positive for thick, negative for thin, 0 for unknown.

    Parameters
    ----------
    phenotype : str
        "thin", "unknown" or "thick".
    law : HealingLaw
        Size of the shift [mm].

    Returns
    -------
    float
        Shift [mm], coronal positive.

    Raises
    ------
    KeyError
        For another word.

    Source
    ------
    [arora2013].

    Examples
    --------
    >>> from collum.evidence import all_constants
    >>> from collum.evidence.handed import evidence_of
    >>> law = evidence_of(all_constants()).healing
    >>> phenotype_shift_mm("thin", law)
    -0.165
    """
    return {"thin": -1, "unknown": 0, "thick": 1}[phenotype] * law.phenotype_shift_mm


def spread_mm(distance_mm: ArrayLike, law: HealingLaw) -> Floats:
    """Return the spread between patients of the movement of a margin, doubt of own height and cut included.

    Parameters
    ----------
    distance_mm : array_like
        Distance from the crest up to the cut margin [mm].
    law : HealingLaw
        Spread [mm], its growth [1] and the distance below which it grows [mm].

    Returns
    -------
    ndarray, same shape
        Standard deviation [mm].

    Source
    ------
    Spread [dominguez2020], growth close to the crest [deas2004].

    Examples
    --------
    >>> from collum.evidence import all_constants
    >>> from collum.evidence.handed import evidence_of
    >>> law = evidence_of(all_constants()).healing
    >>> spread_mm([1.0, 4.0], law).round(2).tolist()
    [0.75, 0.45]
    """
    below = np.maximum(law.spread_growth_below_mm - np.asarray(distance_mm, dtype=float), 0)
    return np.asarray(law.spread_mm + law.spread_growth * below)


def residual_spread_mm(distance_mm: ArrayLike, law: HealingLaw) -> Floats:
    """Return the spread that is left once the doubt of own height, share and cut is counted by itself.

    Parameters
    ----------
    distance_mm : array_like
        Distance from the crest up to the cut margin [mm].
    law : HealingLaw
        Residual spread [mm] and the growth of the whole spread close to the crest.

    Returns
    -------
    ndarray, same shape
        Standard deviation [mm].

    Source
    ------
    Residual: decision [collum_decision]; growth close to the crest [deas2004].

    Examples
    --------
    >>> from collum.evidence import all_constants
    >>> from collum.evidence.handed import evidence_of
    >>> law = evidence_of(all_constants()).healing
    >>> residual_spread_mm([1.0, 4.0], law).round(2).tolist()
    [0.5, 0.2]
    """
    grown = spread_mm(distance_mm, law) - law.spread_mm
    return np.asarray(law.residual_mm + grown)


def total_spread_mm(*, spread: float, return_share: float, cut_sd_mm: float, own_height_sd_mm: float = 0) -> float:
    """Return sqrt(s^2 + (k s_d)^2 + (k s_H)^2), the spread with the doubt of cut and own height.

    Parameters
    ----------
    spread : float
        Spread s of the movement without those doubts [mm].
    return_share : float
        Share k of the way back [1].
    cut_sd_mm : float
        Standard deviation s_d of the cut [mm].
    own_height_sd_mm : float
        Standard deviation s_H of the own height [mm].

    Returns
    -------
    float
        Standard deviation [mm].

    Source
    ------
    Derived: variances of independent doubts add.

    Examples
    --------
    >>> round(total_spread_mm(spread=0.4, return_share=0.6, cut_sd_mm=0.5), 2)
    0.5
    """
    return sqrt(spread**2 + (return_share * cut_sd_mm) ** 2 + (return_share * own_height_sd_mm) ** 2)


def probability_above(limit_mm: float, *, mean_mm: float, spread: float) -> float:
    """Return the probability that a normal movement exceeds a limit.

    Parameters
    ----------
    limit_mm : float
        Limit of the movement [mm].
    mean_mm : float
        Mean movement [mm].
    spread : float
        Standard deviation of the movement [mm].

    Returns
    -------
    float
        Probability, 0 to 1.

    Source
    ------
    Derived: the normal distribution.

    Examples
    --------
    >>> round(probability_above(1.0, mean_mm=0.6, spread=0.4), 3)
    0.159
    """
    return float(ndtr(-(limit_mm - mean_mm) / spread))


def fraction_reached(weeks: ArrayLike, *, time_constant_weeks: float) -> Floats:
    """Return 1 - exp(-t / tau), the share of the final movement reached.

    Parameters
    ----------
    weeks : array_like
        Time t since the cut [weeks].
    time_constant_weeks : float
        Time constant tau [weeks].

    Returns
    -------
    ndarray, same shape
        Share, 0 to 1.

    Source
    ------
    Exponential course, derived; time constants in the registry [deas2004, klug_dogs].

    Examples
    --------
    >>> fraction_reached([6, 12], time_constant_weeks=6).round(2).tolist()
    [0.63, 0.86]
    """
    return np.asarray(-np.expm1(-np.asarray(weeks, dtype=float) / time_constant_weeks))


def shrunk_own_height_mm(measured_mm: float, *, error_mm: float, prior_mean_mm: float, prior_sd_mm: float) -> float:
    """Return the own height from one healthy height, drawn towards the population by precision.

    Parameters
    ----------
    measured_mm : float
        Height measured at a healthy site [mm].
    error_mm : float
        Standard deviation of that measurement [mm].
    prior_mean_mm : float
        Population mean [mm].
    prior_sd_mm : float
        Standard deviation of the population [mm].

    Returns
    -------
    float
        Posterior mean [mm].

    Source
    ------
    Derived: conjugate normal.

    Examples
    --------
    >>> round(shrunk_own_height_mm(4.2, error_mm=0.5, prior_mean_mm=3.4, prior_sd_mm=0.5), 2)
    3.8
    """
    prior, reading = 1 / prior_sd_mm**2, 1 / error_mm**2
    return (prior_mean_mm * prior + measured_mm * reading) / (prior + reading)

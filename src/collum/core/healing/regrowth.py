"""How far the gingival margin comes back after a cut: the law, its spread and its course in time.

Tissue tends back to its own height H above the crest. A margin left at `distance` d above the crest moves coronally, at
last and on average, by R = k (H - d) + p, kept within [-0.30, k H] (line through three bins of Dominguez 2020; p from Arora
2013). The law stands on flap-and-bone surgery; for soft tissue alone k = 1 (full return) is the forecast that decides.
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
    """Return the final mean movement of a margin left `distance_mm` above the crest, any broadcast shape."""
    share, height = np.asarray(return_share, dtype=float), np.asarray(own_height_mm, dtype=float)
    raw = share * (height - np.asarray(distance_mm, dtype=float)) + np.asarray(phenotype_shift_mm, dtype=float)
    return np.asarray(np.clip(raw, -law.largest_recession_mm, share * height))


def return_share_bone(theta_deg: Floats, law: HealingLaw) -> Floats:
    """Return (m,) the share of the way back after bone surgery: facial and oral value, rising between the teeth."""
    facial = law.return_share_facial
    return np.asarray(facial + (law.return_share_proximal - facial) * proximal_weight(theta_deg))


def phenotype_shift_mm(phenotype: str, law: HealingLaw) -> float:
    """Return p: positive for thick, negative for thin, 0 for unknown. Raises KeyError for another word. [mm]"""
    return {"thin": -1, "unknown": 0, "thick": 1}[phenotype] * law.phenotype_shift_mm


def spread_mm(distance_mm: ArrayLike, law: HealingLaw) -> Floats:
    """Return the spread between patients of the movement at `distance_mm` above the crest, doubt of H and d included."""
    below = np.maximum(law.spread_growth_below_mm - np.asarray(distance_mm, dtype=float), 0)
    return np.asarray(law.spread_mm + law.spread_growth * below)


def residual_spread_mm(distance_mm: ArrayLike, law: HealingLaw) -> Floats:
    """Return the spread left once the doubt of own height, share and cut is counted by itself."""
    grown = spread_mm(distance_mm, law) - law.spread_mm
    return np.asarray(law.residual_mm + grown)


def total_spread_mm(*, spread: float, return_share: float, cut_sd_mm: float, own_height_sd_mm: float = 0) -> float:
    """Return sqrt(spread^2 + (k s_d)^2 + (k s_H)^2): independent doubts add in squares. [mm]"""
    return sqrt(spread**2 + (return_share * cut_sd_mm) ** 2 + (return_share * own_height_sd_mm) ** 2)


def probability_above(limit_mm: float, *, mean_mm: float, spread: float) -> float:
    """Return the probability that a normal movement exceeds `limit_mm`."""
    return float(ndtr(-(limit_mm - mean_mm) / spread))


def fraction_reached(weeks: ArrayLike, *, time_constant_weeks: float) -> Floats:
    """Return 1 - exp(-t / tau), the share of the final movement reached after `weeks`."""
    return np.asarray(-np.expm1(-np.asarray(weeks, dtype=float) / time_constant_weeks))


def shrunk_own_height_mm(measured_mm: float, *, error_mm: float, prior_mean_mm: float, prior_sd_mm: float) -> float:
    """Return the own height from one healthy height, drawn towards the population by precision (conjugate normal). [mm]"""
    prior, reading = 1 / prior_sd_mm**2, 1 / error_mm**2
    return (prior_mean_mm * prior + measured_mm * reading) / (prior + reading)

"""The settled margin after soft tissue alone and after a flap, draw by draw.

Heights relative to the gingival margin before the cut, coronal positive: that margin is 0, a cut is negative. No cut, no
movement; and the settled margin never lies coronal of the margin before the cut.
"""

from dataclasses import dataclass, field

import numpy as np
from numpy.random import Generator

from collum.core.draws import DEVIATE
from collum.core.healing.regrowth import mean_regrowth_mm, residual_spread_mm
from collum.core.ring import Floats, ring_features
from collum.evidence.handed import HealingLaw


@dataclass(frozen=True, slots=True, kw_only=True)
class RegrowthDraws:
    """What chance adds to the regrowth, independent of the cut: share of the way back (n,), standardised noise (m, n), and
    the deviate (n,) of the share after bone surgery.
    """

    return_share: Floats
    noise: Floats = field(metadata=DEVIATE)
    share_deviate: Floats = field(metadata=DEVIATE)


def draw_regrowth(theta_deg: Floats, law: HealingLaw, count: int, rng: Generator) -> RegrowthDraws:
    """Return deviates for soft tissue alone: share 1 - spread * Beta(1, b), noise with t tails of unit variance."""
    freedom = law.tail_freedom
    share = 1 - law.soft_tissue_return_spread * rng.beta(1, law.soft_tissue_return_beta, count)
    tail = np.sqrt((freedom - 2) / rng.chisquare(freedom, count))
    features = ring_features(theta_deg, law.ring_length)
    noise = (features @ rng.standard_normal((features.shape[1], count))) * tail
    return RegrowthDraws(return_share=share, noise=noise, share_deviate=rng.standard_normal(count))


def settled_margin_mm(
    cut_mm: Floats,
    law: HealingLaw,
    *,
    crest_depth_mm: Floats,
    own_height_mm: Floats,
    return_share: Floats | float,
    phenotype_shift_mm: float,
    noise: Floats | None,
    recedes: bool = True,
) -> Floats:
    """Return (m, n) the settled margin for a cut (m, 1) or (m, n) <= 0, given draws (m, n) of crest depth and own height.

    With `recedes` a margin cut above the own height draws back a little, as the law has it; without, full return is taken
    at its word: the settled margin lies at the own height or at the cut, whichever is higher.

    Recession and noise fade in over the first half millimetre of cut; the return is capped at the old margin, noise
    included.
    """
    cut = np.asarray(cut_mm, dtype=float)
    distance = cut + crest_depth_mm
    fade = np.minimum(-cut / law.fade_in_mm, 1)
    movement = mean_regrowth_mm(
        distance, law, return_share=return_share, own_height_mm=own_height_mm, phenotype_shift_mm=phenotype_shift_mm
    )
    movement = np.where(movement < 0, movement * fade if recedes else 0, movement)
    if noise is not None:
        movement += fade * noise * residual_spread_mm(distance, law)
    return np.asarray(np.minimum(cut + movement, 0))


def settled_after_flap_mm(
    sutured_mm: Floats,
    law: HealingLaw,
    *,
    crest_depth_mm: Floats,
    own_height_mm: Floats,
    return_share: Floats | float,
    phenotype_shift_mm: float,
    noise: Floats | None,
) -> Floats:
    """Return (m, n) the settled margin for a flap sutured at `sutured_mm` (m, n), given draws (m, n) of the lowered crest.

    The law holds for the whole flap, recession included; the margin never comes to lie coronal of where it was before.
    """
    sutured = np.asarray(sutured_mm, dtype=float)
    distance = sutured + crest_depth_mm
    movement = mean_regrowth_mm(
        distance, law, return_share=return_share, own_height_mm=own_height_mm, phenotype_shift_mm=phenotype_shift_mm
    )
    if noise is not None:
        movement = movement + noise * residual_spread_mm(distance, law)
    return np.asarray(np.minimum(sutured + movement, 0))

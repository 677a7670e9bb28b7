"""The settled margin after soft tissue alone and after a flap, draw by draw.

Heights relative to the gingival margin before the cut, coronal positive: that margin is 0, a cut is negative. No cut, no
movement; and the settled margin is never coronal of the margin before the cut.
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
    """Return deviates for soft tissue alone: share 1 - spread * Beta(1, b), noise with t tails of unit variance.

    Parameters
    ----------
    theta_deg : ndarray (m,)
        Angles round the neck [deg].
    law : HealingLaw
        Spread and shape of the share, degrees of freedom and length of the noise.
    count : int
        Number n of draws.
    rng : Generator
        Where chance comes from.

    Returns
    -------
    RegrowthDraws
        Shares (n,), noise (m, n) and deviates (n,), all without unit.

    Source
    ------
    Derived; the parameters are decisions [collum_decision].

    Examples
    --------
    >>> from collum.evidence import all_constants
    >>> from collum.evidence.handed import evidence_of
    >>> law = evidence_of(all_constants()).healing
    >>> draws = draw_regrowth(np.array([0.0, 90]), law, 4000, np.random.default_rng(1))
    >>> round(float(draws.return_share.mean()), 2)
    0.9
    """
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
    """Return the settled margin after a cut of soft tissue alone.

    With `recedes` a margin cut above the own height recedes a little, as the law says. Without, full return is assumed: the
    settled margin is at the own height or at the cut, whichever is higher. Recession and noise fade in over the first half
    millimetre of cut; the return is capped at the old margin, noise included.

    Parameters
    ----------
    cut_mm : ndarray (m, 1) or (m, n)
        Cut relative to the margin before it [mm], 0 or negative.
    law : HealingLaw
        The regrowth law and the length over which recession and noise fade in [mm].
    crest_depth_mm : ndarray (m, n)
        Draws of the depth of the crest below the margin [mm].
    own_height_mm : ndarray (m, n)
        Draws of the own height above the crest [mm].
    return_share : ndarray (n,) or float
        Share of the way back [1].
    phenotype_shift_mm : float
        Shift of the phenotype [mm].
    noise : ndarray (m, n) or None
        Standardised noise [1]; None for the mean.
    recedes : bool
        Whether a margin above the own height recedes.

    Returns
    -------
    ndarray (m, n)
        Settled margin relative to the margin before the cut [mm], never above 0.

    Source
    ------
    Derived from `mean_regrowth_mm` and `residual_spread_mm`.

    Examples
    --------
    A cut of 2 mm above a crest at 4 mm leaves 2 mm; with full return the margin grows back to its own height of 3 mm.

    >>> from collum.evidence import all_constants
    >>> from collum.evidence.handed import evidence_of
    >>> law = evidence_of(all_constants()).healing
    >>> one = np.ones((1, 1))
    >>> settled_margin_mm(
    ...     -2 * one, law, crest_depth_mm=4 * one, own_height_mm=3 * one, return_share=1, phenotype_shift_mm=0, noise=None
    ... ).tolist()
    [[-1.0]]
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
    """Return the settled margin after a flap.

    The law holds for the whole flap, recession included; the margin never settles coronal of where it was before.

    Parameters
    ----------
    sutured_mm : ndarray (m, n)
        Margin of the sutured flap relative to the margin before it [mm].
    law : HealingLaw
        The regrowth law.
    crest_depth_mm : ndarray (m, n)
        Draws of the depth of the lowered crest below the margin before [mm].
    own_height_mm : ndarray (m, n)
        Draws of the own height above the crest [mm].
    return_share : ndarray (m, n), (m, 1) or float
        Share of the way back [1].
    phenotype_shift_mm : float
        Shift of the phenotype [mm].
    noise : ndarray (m, n) or None
        Standardised noise [1]; None for the mean.

    Returns
    -------
    ndarray (m, n)
        Settled margin relative to the margin before the flap [mm], never above 0.

    Source
    ------
    Derived from `mean_regrowth_mm` and `residual_spread_mm`.

    Examples
    --------
    >>> from collum.evidence import all_constants
    >>> from collum.evidence.handed import evidence_of
    >>> law = evidence_of(all_constants()).healing
    >>> one = np.ones((1, 1))
    >>> settled_after_flap_mm(
    ...     -2 * one, law, crest_depth_mm=4 * one, own_height_mm=3 * one, return_share=0.6, phenotype_shift_mm=0, noise=None
    ... ).round(2).tolist()
    [[-1.4]]
    """
    sutured = np.asarray(sutured_mm, dtype=float)
    distance = sutured + crest_depth_mm
    movement = mean_regrowth_mm(
        distance, law, return_share=return_share, own_height_mm=own_height_mm, phenotype_shift_mm=phenotype_shift_mm
    )
    if noise is not None:
        movement = movement + noise * residual_spread_mm(distance, law)
    return np.asarray(np.minimum(sutured + movement, 0))

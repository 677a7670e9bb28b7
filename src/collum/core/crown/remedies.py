"""What would make a short preparation resist, each way with its price: height, less convergence, a groove.

The mark is that half of the wall resists, height = base x sin(convergence). Height costs millimetres from lengthening or a
thinner crown. Less convergence costs tooth at the neck: the top of the preparation is cut already, so walls become steeper
only by moving the finish line inward, H (tan T - tan T') a side; the base shrinks by it, which helps too. A groove moves the
pivot nearer to the wall that must hold and costs its own depth.

Source: derived from the closed forms. Not covered: boxes with walls of their own taper, the pulp.
"""

from dataclasses import dataclass

import numpy as np
from scipy.optimize import brentq

from collum.core.crown.form import (
    HALF,
    apex_height_mm,
    blind_height_mm,
    height_for_half_wall_mm,
    resistive_share,
)


@dataclass(frozen=True, slots=True, kw_only=True)
class Remedies:
    """The ways to the mark for one preparation; all zero or as it is where it is met already.

    `height_mm`: more height; None where the walls would meet first. `convergence_deg`: the convergence at which it is met on
    the shrunken base, `recut_mm` the tooth that costs at the neck of each side; None where there is no wall, or parallel ones
    would take the whole width. `groove_base_mm`: distance from the pivot at which the wall of a groove meets the mark.
    `groove_share`: what grooves half-way across give.
    """

    share: float
    met: bool
    height_mm: float | None
    convergence_deg: float | None
    recut_mm: float | None
    groove_base_mm: float
    groove_share: float


def remedies(height_mm: float, base_mm: float, convergence_deg: float) -> Remedies | None:
    """Return the ways to make half of the wall resist.

    Parameters
    ----------
    height_mm : float
        Height of the wall [mm].
    base_mm : float
        Distance from the pivot to the opposite wall [mm].
    convergence_deg : float
        Total convergence [deg].

    Returns
    -------
    Remedies or None
        None where anything is unknown.

    Raises
    ------
    ValueError
        As the closed forms, and where opposite walls meet below the top.

    Source
    ------
    Derived from `collum.core.crown.form`.

    Examples
    --------
    >>> short = remedies(3.0, 10.0, 30.0)
    >>> short is not None and not short.met
    True
    """
    share = float(resistive_share(height_mm, base_mm, convergence_deg))
    if np.isnan(share):
        return None
    apex = float(apex_height_mm(base_mm, convergence_deg))
    if height_mm >= apex:
        raise ValueError(f"height {height_mm} mm: the walls meet at {apex:.2f} mm; height, base or convergence was misread")
    met = share >= HALF
    needed = float(height_for_half_wall_mm(base_mm, convergence_deg))
    recut = convergence_deg if met else _met_by_recutting(height_mm, base_mm, convergence_deg)
    return Remedies(
        share=share,
        met=met,
        height_mm=None if needed >= apex else max(0, needed - height_mm),
        convergence_deg=recut,
        recut_mm=None if recut is None else recut_depth_mm(height_mm, convergence_deg, recut),
        groove_base_mm=base_mm if met else base_mm * max(0, height_mm) / needed,
        groove_share=float(resistive_share(height_mm, base_mm / 2, convergence_deg)),
    )


def recut_depth_mm(height_mm: float, convergence_deg: float, to_deg: float) -> float:
    """Return the tooth that goes at the neck of one side where walls are cut steeper with the same top.

    Parameters
    ----------
    height_mm : float
        Height of the wall [mm].
    convergence_deg, to_deg : float
        Total convergence before and after [deg].

    Returns
    -------
    float
        Depth [mm].

    Source
    ------
    Derived: H (tan T1 - tan T2).

    Examples
    --------
    >>> round(recut_depth_mm(4.0, 20.0, 10.0), 2)
    0.36
    """
    return float(height_mm * (np.tan(np.deg2rad(convergence_deg / 2)) - np.tan(np.deg2rad(to_deg / 2))))


def _met_by_recutting(height_mm: float, base_mm: float, convergence_deg: float) -> float | None:
    """Return the convergence at which half of the wall resists once the finish line has moved inward for it."""

    def lacking_mm(to_deg: float) -> float:
        base = base_mm - 2 * recut_depth_mm(height_mm, convergence_deg, to_deg)
        return float(2 * blind_height_mm(base, to_deg)) - height_mm

    parallel = base_mm - 2 * recut_depth_mm(height_mm, convergence_deg, 0)
    if height_mm <= 0 or parallel <= 0:
        return None
    return float(brentq(lacking_mm, 0, convergence_deg))

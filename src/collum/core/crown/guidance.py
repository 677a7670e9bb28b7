"""The published advice on the shape of a preparation: height by class of tooth, height to width, convergence.

Source: [goodacre2001]. An unknown meets nothing: every function answers None for it.
"""

from typing import Literal, TypeGuard

import numpy as np

from collum.evidence import value

Band = Literal["under", "in", "over"]


def least_height_mm(molar: bool) -> float:
    """Return the least advised height of a preparation.

    Parameters
    ----------
    molar : bool
        Whether the tooth is a molar.

    Returns
    -------
    float
        Height [mm].

    Source
    ------
    The limits of the registry [goodacre2001].

    Examples
    --------
    >>> least_height_mm(molar=True) >= least_height_mm(molar=False)
    True
    """
    return value("plan.limit.preparation_height_molar_mm") if molar else value("plan.limit.preparation_height_mm")


def meets_height(height_mm: float | None, molar: bool) -> bool | None:
    """Return whether a preparation is as high as advised.

    Parameters
    ----------
    height_mm : float or None
        Height of the preparation [mm].
    molar : bool
        Whether the tooth is a molar.

    Returns
    -------
    bool or None
        None where the height is unknown.

    Source
    ------
    The limits of the registry [goodacre2001].

    Examples
    --------
    >>> meets_height(2.0, molar=True), meets_height(None, molar=True)
    (False, None)
    """
    return bool(height_mm >= least_height_mm(molar)) if _known(height_mm) else None


def meets_height_to_width(height_mm: float | None, facial_oral_width_mm: float | None) -> bool | None:
    """Return whether height over facial-oral width is as great as advised.

    Parameters
    ----------
    height_mm : float or None
        Height of the preparation [mm].
    facial_oral_width_mm : float or None
        Width of the preparation [mm].

    Returns
    -------
    bool or None
        None where one of the two is unknown.

    Source
    ------
    `restoration.height_to_width_least` of the registry [goodacre2001].

    Examples
    --------
    >>> meets_height_to_width(5.0, 10.0), meets_height_to_width(5.0, None)
    (True, None)
    """
    if _known(height_mm) and _known(facial_oral_width_mm):
        return bool(height_mm >= value("restoration.height_to_width_least") * facial_oral_width_mm)
    return None


def convergence_band(convergence_deg: float | None) -> Band | None:
    """Return whether the convergence of two walls is under, in or over the advised range.

    Parameters
    ----------
    convergence_deg : float or None
        Total convergence [deg].

    Returns
    -------
    {'under', 'in', 'over'} or None
        None where the convergence is unknown.

    Source
    ------
    `restoration.convergence_*_deg` of the registry [goodacre2001].

    Examples
    --------
    >>> convergence_band(0.0), convergence_band(16.0), convergence_band(45.0)
    ('under', 'in', 'over')
    """
    if not _known(convergence_deg):
        return None
    if convergence_deg < value("restoration.convergence_least_deg"):
        return "under"
    return "over" if convergence_deg > value("restoration.convergence_most_deg") else "in"


def _known(number: float | None) -> TypeGuard[float]:
    return number is not None and not np.isnan(number)

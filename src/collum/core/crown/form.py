"""Resistance and retention form of a preparation, in closed form, in a section through the path of placement.

The crown rolls about the finish line on one side, the pivot, and its far side lifts. The opposite wall starts at the base B
away from the pivot and leans inward by the taper T of one wall, half of the total convergence of two opposing walls. A point
of that wall at height y moves square to its line from the pivot, and meets the tooth where that motion has a part into the
wall: y > B sin T cos T. Wall above this height resists, wall below it does not. The circle over the base as diameter meets
the wall at that same height, so the test by circle and the test by perpendicular are this one.

Source: derived; agrees with the published cases [goodacre2001, woolsey_matich1978, weed_baez1984].

Every function takes numbers or arrays and broadcasts; an unknown (nan) gives an unknown. Not covered: uneven and oval finish
lines, grooves of their own taper, adhesive cement. There the test runs on the facets of the surface.
"""

import numpy as np
from numpy.typing import ArrayLike, NDArray

Floats = NDArray[np.float64]

HALF = 0.5  # share of a wall that must resist: the published cases fall on either side of it
_WIDEST_DEG = 90


def blind_height_mm(base_mm: ArrayLike, convergence_deg: ArrayLike) -> Floats:
    """Return the height above the finish line below which a wall does not resist, B sin T cos T.

    Parameters
    ----------
    base_mm : array_like
        Distance from the pivot to the foot of the opposite wall [mm]: the width of the preparation, or to the wall of a groove.
    convergence_deg : array_like
        Total convergence of two opposing walls [deg], 0 to 90.

    Returns
    -------
    ndarray, broadcast shape
        Height [mm].

    Raises
    ------
    ValueError
        For a base of 0 or less and for a convergence below 0 (undercut) or above 90 degrees.

    Source
    ------
    Derived; agrees with the published cases [goodacre2001, woolsey_matich1978, weed_baez1984].

    Examples
    --------
    >>> round(float(blind_height_mm(10, 20)), 3)
    1.71
    """
    base, taper = _base(base_mm), _taper_rad(convergence_deg)
    return np.asarray(base * np.sin(taper) * np.cos(taper))


def resistive_share(height_mm: ArrayLike, base_mm: ArrayLike, convergence_deg: ArrayLike) -> Floats:
    """Return the share of the height of a wall that resists; 0 where there is no wall.

    A height above the point where opposite walls meet counts only up to that point.

    Parameters
    ----------
    height_mm : array_like
        Height of the wall above the finish line [mm].
    base_mm : array_like
        Distance from the pivot to the foot of the opposite wall [mm]: the width of the preparation, or to the wall of a groove.
    convergence_deg : array_like
        Total convergence of two opposing walls [deg], 0 to 90.

    Returns
    -------
    ndarray, broadcast shape
        Share of the height, 0 to 1.

    Raises
    ------
    ValueError
        For a base of 0 or less and for a convergence below 0 (undercut) or above 90 degrees.

    Source
    ------
    Derived; agrees with the published cases [goodacre2001, woolsey_matich1978, weed_baez1984].

    Examples
    --------
    >>> round(float(resistive_share(3, 10, 17.4)), 2)
    0.5
    """
    height = np.minimum(np.asarray(height_mm, dtype=float), apex_height_mm(base_mm, convergence_deg))
    wall = np.where(height > 0, height, 1.0)
    share = np.maximum(0, (wall - blind_height_mm(base_mm, convergence_deg)) / wall)
    known = np.where(height > 0, share, 0)
    return np.asarray(np.where(np.isnan(height + share), np.nan, known))


def height_for_half_wall_mm(base_mm: ArrayLike, convergence_deg: ArrayLike) -> Floats:
    """Return the height at which the upper half of the wall resists, B sin(convergence).

    Above 60 degrees the walls meet before that height: see `apex_height_mm`.

    Parameters
    ----------
    base_mm : array_like
        Distance from the pivot to the foot of the opposite wall [mm]: the width of the preparation, or to the wall of a groove.
    convergence_deg : array_like
        Total convergence of two opposing walls [deg], 0 to 90.

    Returns
    -------
    ndarray, broadcast shape
        Height [mm].

    Raises
    ------
    ValueError
        For a base of 0 or less and for a convergence below 0 (undercut) or above 90 degrees.

    Source
    ------
    Derived; agrees with the published cases [goodacre2001, woolsey_matich1978, weed_baez1984].

    Examples
    --------
    >>> round(float(height_for_half_wall_mm(10, 20)), 2)
    3.42
    """
    return np.asarray(2 * blind_height_mm(base_mm, convergence_deg))


def apex_height_mm(base_mm: ArrayLike, convergence_deg: ArrayLike) -> Floats:
    """Return the height at which opposite walls meet, B / (2 tan T); very great for parallel walls.

    Parameters
    ----------
    base_mm : array_like
        Distance from the pivot to the foot of the opposite wall [mm]: the width of the preparation, or to the wall of a groove.
    convergence_deg : array_like
        Total convergence of two opposing walls [deg], 0 to 90.

    Returns
    -------
    ndarray, broadcast shape
        Height [mm].

    Raises
    ------
    ValueError
        For a base of 0 or less and for a convergence below 0 (undercut) or above 90 degrees.

    Source
    ------
    Derived.

    Examples
    --------
    >>> round(float(apex_height_mm(10, 90)), 2)
    5.0
    """
    base, lean = _base(base_mm), np.tan(_taper_rad(convergence_deg))
    return np.asarray(base / np.maximum(2 * lean, np.finfo(float).eps))


def limiting_taper_deg(height_to_base: ArrayLike) -> Floats:
    """Return the taper of one wall from which not even its top resists, asin(2 H/B) / 2.

    Parameters
    ----------
    height_to_base : array_like
        Height over base [1].

    Returns
    -------
    ndarray, same shape
        Taper of one wall [deg]; inf where H/B is above 0.5: the top resists at every taper.

    Raises
    ------
    ValueError
        For a negative ratio.

    Source
    ------
    Derived; agrees with the published cases [goodacre2001, woolsey_matich1978, weed_baez1984].

    Examples
    --------
    >>> round(float(limiting_taper_deg(0.25)), 1)
    15.0
    """
    return _limit_deg(2 * _ratio(height_to_base)) / 2


def limiting_convergence_deg(height_to_base: ArrayLike) -> Floats:
    """Return the convergence of two walls from which less than half of the wall resists, asin(H/B).

    This is the figure published as critical convergence.

    Parameters
    ----------
    height_to_base : array_like
        Height over base [1].

    Returns
    -------
    ndarray, same shape
        Convergence [deg]; inf where H is above B.

    Raises
    ------
    ValueError
        For a negative ratio.

    Source
    ------
    Derived; agrees with the published cases [goodacre2001, woolsey_matich1978, weed_baez1984].

    Examples
    --------
    >>> round(float(limiting_convergence_deg(3 / 10)), 1)  # published: 17.4 degrees for 3 mm on 10 mm
    17.5
    """
    return _limit_deg(_ratio(height_to_base))


def frustum_wall_mm2(base_mm: ArrayLike, height_mm: ArrayLike, convergence_deg: ArrayLike) -> Floats:
    """Return the area of the wall of a truncated cone.

    Parameters
    ----------
    base_mm : array_like
        Distance from the pivot to the foot of the opposite wall [mm]: the width of the preparation, or to the wall of a groove.
    height_mm : array_like
        Height of the cone [mm].
    convergence_deg : array_like
        Total convergence of two opposing walls [deg], 0 to 90.

    Returns
    -------
    ndarray, broadcast shape
        Area [mm2].

    Raises
    ------
    ValueError
        As `blind_height_mm`, for a negative height and where the walls meet below the top.

    Source
    ------
    Handbook geometry: pi (r1 + r2) times the slant height.

    Examples
    --------
    >>> round(float(frustum_wall_mm2(10, 4, 0)), 1)  # a cylinder
    125.7
    """
    bottom, top, height, taper = _frustum(base_mm, height_mm, convergence_deg)
    return np.asarray(np.pi * (bottom + top) * height / np.cos(taper))


def frustum_top_mm2(base_mm: ArrayLike, height_mm: ArrayLike, convergence_deg: ArrayLike) -> Floats:
    """Return the area of the top of a truncated cone.

    Parameters
    ----------
    base_mm : array_like
        Distance from the pivot to the foot of the opposite wall [mm]: the width of the preparation, or to the wall of a groove.
    height_mm : array_like
        Height of the cone [mm].
    convergence_deg : array_like
        Total convergence of two opposing walls [deg], 0 to 90.

    Returns
    -------
    ndarray, broadcast shape
        Area [mm2].

    Raises
    ------
    ValueError
        As `frustum_wall_mm2`.

    Source
    ------
    Handbook geometry: pi r2 squared.

    Examples
    --------
    >>> round(float(frustum_top_mm2(10, 4, 0)), 1)
    78.5
    """
    _, top, _, _ = _frustum(base_mm, height_mm, convergence_deg)
    return np.asarray(np.pi * top**2)


def _frustum(base_mm: ArrayLike, height_mm: ArrayLike, convergence_deg: ArrayLike) -> tuple[Floats, Floats, Floats, Floats]:
    """Return radius at the finish line, radius at the top, height and taper (rad)."""
    bottom, taper = _base(base_mm) / 2, _taper_rad(convergence_deg)
    height = np.asarray(height_mm, dtype=float)
    if np.any(height < 0):
        raise ValueError(f"height {height.min()} mm: a wall cannot be lower than its finish line")
    top = np.asarray(bottom - height * np.tan(taper))
    if np.any(top <= 0):
        raise ValueError("the walls meet below the top: less height or less convergence, or a wider base")
    return bottom, top, height, taper


def _base(base_mm: ArrayLike) -> Floats:
    base = np.asarray(base_mm, dtype=float)
    if np.any(base <= 0):
        raise ValueError(f"base {np.nanmin(base)} mm: the pivot and the opposite wall need a distance")
    return base


def _taper_rad(convergence_deg: ArrayLike) -> Floats:
    convergence = np.asarray(convergence_deg, dtype=float)
    if np.any(convergence < 0):
        raise ValueError(f"convergence {np.nanmin(convergence)} degrees: an undercut, with no path of placement")
    if np.any(convergence > _WIDEST_DEG):
        raise ValueError(f"convergence {np.nanmax(convergence)} degrees: above {_WIDEST_DEG} no cone has a resisting wall")
    return np.asarray(np.deg2rad(convergence) / 2)


def _ratio(height_to_base: ArrayLike) -> Floats:
    ratio = np.asarray(height_to_base, dtype=float)
    if np.any(ratio < 0):
        raise ValueError(f"height to base {np.nanmin(ratio)}: neither is negative")
    return ratio


def _limit_deg(sine: Floats) -> Floats:
    return np.asarray(np.where(sine > 1, np.inf, np.rad2deg(np.arcsin(np.minimum(sine, 1)))))

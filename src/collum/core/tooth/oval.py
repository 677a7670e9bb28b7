"""The cross-section of the neck as an ellipse, from the two cervical diameters of the tooth.

`theta` is the polar angle about the root axis, 0 facial, 90 mesial, 180 oral, 270 distal: a site named by its angle lies where
the hand puts the probe. With half axes a (facial) and b (mesial) the radius is a b / hypot(b cos theta, a sin theta). Length
along the neck is exact, by the incomplete elliptic integral of the second kind E(t | m) of the parametric angle t, with
tan t = (a / b) tan theta and m = 1 - (a / b)^2 (DLMF 19.2.5 and 19.30.2).

Not covered: concavities of roots, and the kidney or hourglass section of premolars and molars; there the true girth is a little
longer.
"""

import numpy as np
from numpy.typing import ArrayLike
from scipy.special import ellipe, ellipeinc

from collum.core.ring import Floats
from collum.core.tooth.dimensions import dimensions


def half_axes_mm(number: int) -> tuple[float, float]:
    """Return the half axes towards facial (theta = 0) and towards mesial (theta = 90). Raises ToothNumberError. [mm]"""
    size = dimensions(number)
    return size.bl_cervix_mm / 2, size.md_cervix_mm / 2


def cervical_radius_mm(number: int, theta_deg: ArrayLike) -> Floats:
    """Return the distance from the axis to the neck at polar angles `theta_deg`, same shape. Raises ToothNumberError. [mm]"""
    facial, mesial = half_axes_mm(number)
    theta = np.deg2rad(np.asarray(theta_deg, dtype=float))
    return np.asarray(facial * mesial / np.hypot(mesial * np.cos(theta), facial * np.sin(theta)))


def arc_mm(number: int, theta_deg: ArrayLike) -> Floats:
    """Return the length along the neck from facial through mesial to `theta_deg`, same shape. Raises ToothNumberError. [mm]

    Grows without a jump over any number of turns: 360 degrees give the perimeter, negative angles negative lengths.
    """
    facial, mesial = half_axes_mm(number)
    theta = np.deg2rad(np.asarray(theta_deg, dtype=float))
    within_a_turn = np.arctan2(facial * np.sin(theta), mesial * np.cos(theta))
    turns = np.round((theta - within_a_turn) / (2 * np.pi))
    # The point facial cos t, mesial sin t moves with speed mesial sqrt(1 - m sin2 t).
    return np.asarray(mesial * ellipeinc(within_a_turn, _parameter(facial, mesial)) + turns * perimeter_mm(number))


def perimeter_mm(number: int) -> float:
    """Return the length round the neck. Raises ToothNumberError. [mm]"""
    facial, mesial = half_axes_mm(number)
    return float(4 * mesial * ellipe(_parameter(facial, mesial)))


def point_mm(number: int, theta_deg: ArrayLike) -> Floats:
    """Return (..., 2) positions on the neck, towards facial and towards mesial of the axis. Raises ToothNumberError. [mm]"""
    theta = np.deg2rad(np.asarray(theta_deg, dtype=float))
    direction = np.stack([np.cos(theta), np.sin(theta)], axis=-1)
    return np.asarray(cervical_radius_mm(number, theta_deg)[..., None] * direction)


def _parameter(facial: float, mesial: float) -> float:
    return 1 - (facial / mesial) ** 2

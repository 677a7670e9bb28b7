"""The cross-section of the neck as an ellipse: facial-oral and mesiodistal half axes from the cervical diameters.

`theta` is the polar angle, 0 facial, 90 mesial, so that a site named by its angle lies where the hand puts it. Arc length is by the
incomplete elliptic integral of the second kind (DLMF 19.2.5), exact to rounding.
"""

import numpy as np
from scipy.special import ellipe, ellipeinc

from collum.core.ring import Floats
from collum.core.tooth.dimensions import dimensions


def half_axes_mm(number: int) -> tuple[float, float]:
    """Return half axes towards facial (theta = 0) and towards mesial (theta = 90). [mm]"""
    size = dimensions(number)
    return size.bl_cervix_mm / 2, size.md_cervix_mm / 2


def cervical_radius_mm(number: int, theta_deg: Floats) -> Floats:
    """Return (n,) the distance from the axis to the neck at polar angles theta (n,)."""
    facial, mesial = half_axes_mm(number)
    theta = np.deg2rad(theta_deg)
    return np.asarray(facial * mesial / np.hypot(mesial * np.cos(theta), facial * np.sin(theta)))


def arc_mm(number: int, theta_deg: Floats) -> Floats:
    """Return (n,) the length along the neck from facial through mesial to theta (0 <= theta <= 360)."""
    facial, mesial = half_axes_mm(number)
    theta = np.deg2rad(np.asarray(theta_deg, dtype=float))
    parametric = np.arctan2(facial * np.sin(theta), mesial * np.cos(theta))
    turns = np.round((theta - parametric) / (2 * np.pi))
    # x = facial cos t, y = mesial sin t has speed mesial sqrt(1 - m sin2 t) with m = 1 - (facial / mesial)^2.
    parameter = 1 - (facial / mesial) ** 2
    return np.asarray(mesial * (ellipeinc(parametric, parameter) + 4 * turns * ellipe(parameter)))


def perimeter_mm(number: int) -> float:
    """Return the length round the neck. [mm]"""
    facial, mesial = half_axes_mm(number)
    return float(4 * mesial * ellipe(1 - (facial / mesial) ** 2))

"""Curves round the neck: stations, weights and a smooth periodic process.

Angles are degrees round the neck, 0 facial, 90 mesial, 180 oral, 270 distal. A process with the kernel
exp(-2 sin2(D/2) / length2) is written as features times independent standard normals: exp(-2 sin2(D/2)/l2) =
exp(-a) exp(a cos D) with a = 1/l2, whose Fourier series has modified Bessel functions as coefficients
(Abramowitz and Stegun, 9.6.34). Positive semidefinite by construction.
"""

from functools import lru_cache

import numpy as np
from numpy.typing import NDArray
from scipy.special import ive

Floats = NDArray[np.float64]

STATIONS = 36
STATIONS_DEG: Floats = np.arange(0, 360, 360 / STATIONS, dtype=np.float64)
STATIONS_DEG.setflags(write=False)
QUARTER_DEG = 90
ORAL_DEG = 180
_HARMONICS = 6


def ring_features(theta_deg: Floats, length: float) -> Floats:
    """Return (n, 13) features F with F F' equal to the periodic kernel of `length`, unit variance at every station."""
    theta = np.deg2rad(np.asarray(theta_deg, dtype=float))
    scale = _harmonic_sd(length)
    columns = [np.full_like(theta, scale[0])]
    for order in range(1, _HARMONICS + 1):
        columns += [scale[order] * np.cos(order * theta), scale[order] * np.sin(order * theta)]
    return np.stack(columns, axis=1)


@lru_cache(maxsize=4)
def _harmonic_sd(length: float) -> tuple[float, ...]:
    concentration = 1 / length**2
    orders = np.arange(_HARMONICS + 1)
    variance = ive(orders, concentration) * np.where(orders == 0, 1, 2)
    return tuple(float(sd) for sd in np.sqrt(variance / variance.sum()))


def bump(theta_deg: Floats, at_deg: float, sharpness: float) -> Floats:
    """Return (n,) weights exp(sharpness (cos D - 1)) at the distance D from `at_deg`: 1 there, 0.135 at 60 degrees for 4."""
    distance = np.deg2rad(np.asarray(theta_deg, dtype=float) - at_deg)
    return np.asarray(np.exp(sharpness * (np.cos(distance) - 1)))


def proximal_weight(theta_deg: Floats) -> Floats:
    """Return (n,) weights sin2(theta): 0 in the middle of a side, 1 between the teeth."""
    return np.asarray(np.sin(np.deg2rad(np.asarray(theta_deg, dtype=float))) ** 2)


def running_mean(stations_first: Floats, side_weight: float) -> Floats:
    """Return (36, ...) running means along the first axis; `side_weight`: what each of the two neighbours weighs."""
    beside = stations_first * side_weight
    smooth = stations_first * (1 - 2 * side_weight)
    smooth[1:] += beside[:-1]
    smooth[:-1] += beside[1:]
    smooth[0] += beside[-1]
    smooth[-1] += beside[0]
    return smooth


def interpolate_ring(theta_deg: Floats, at_deg: Floats, values: Floats) -> Floats:
    """Return (n,) straight-line interpolation round the ring through (m,) values at (m,) angles, m >= 1."""
    return np.interp(np.asarray(theta_deg) % 360, np.asarray(at_deg) % 360, values, period=360)


def angular_distance_deg(theta_deg: Floats, at_deg: float) -> Floats:
    """Return (n,) distances round the ring, 0 to 180. [deg]"""
    return np.abs((np.asarray(theta_deg, dtype=float) - at_deg + 180) % 360 - 180)

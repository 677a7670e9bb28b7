"""The block of the heat entries, as plain arrays: gum over bone with a column of dentine, a wire drawn through it every nine
seconds for three minutes. Invented; the strength of the source only scales the answer.

Millimetre, second, kelvin, millijoule. Program and peers build their own from this.
"""

import numpy as np
from scipy.special import erf

Array = np.ndarray

SIZE_MM = (12.0, 12.0, 10.0)
GUM = (0.5, 3.78, 0.039)
BONE = (0.4, 2.47, 0.0)
DENTINE = (0.6, 2.52, 0.0)
FILM = 0.02
FROM_MM, TO_MM, SIDE_MM, DEPTH_MM = 2.5, 9.5, 6.1, 1.0
HEAT_MJ_S, STROKE_S, CYCLE_S, STROKES = 1000.0, 1.0, 9.0, 20
FAR_MM = 0.5


def tissue_number(x: Array, y: Array, z: Array) -> Array:
    """Return 0 gum, 1 bone, 2 dentine at places that spread over each other."""
    column = (x - 6) ** 2 + (y - 8.5) ** 2 < 2.2**2
    return np.where(column, 2, np.where(z > 3, 1, 0)) + np.zeros(np.broadcast_shapes(x.shape, y.shape, z.shape), dtype=int)


def distance_to_path_mm(x: Array, y: Array, z: Array) -> Array:
    """Return how far places lie from the swept face."""
    along = np.maximum(np.maximum(FROM_MM - x, x - TO_MM), 0)
    return np.sqrt(along**2 + (y - SIDE_MM) ** 2 + np.maximum(z - DEPTH_MM, 0) ** 2)


def in_gum_alone(x: Array, y: Array, z: Array, t: float) -> Array:
    """Return the rise a time after the start of one stroke in endless perfused gum under an insulated surface.

    Valid until the heat meets the walls: for some five seconds.
    """
    conductivity, capacity, perfusion = GUM
    nodes, weights = np.polynomial.legendre.leggauss(400)
    lasting = min(STROKE_S, t)
    rise = np.zeros(np.broadcast_shapes(x.shape, y.shape, z.shape))
    for when, weight in zip((nodes + 1) / 2 * lasting, weights / 2 * lasting, strict=True):
        since = t - when
        width = 4 * conductivity / capacity * since
        at = FROM_MM + (TO_MM - FROM_MM) * when / STROKE_S
        flat = np.exp(-((x - at) ** 2 + (y - SIDE_MM) ** 2) / width - perfusion / capacity * since) / (np.pi * width)
        down = (erf((DEPTH_MM - z) / np.sqrt(width)) + erf((DEPTH_MM + z) / np.sqrt(width))) / 2
        rise = rise + weight * HEAT_MJ_S / DEPTH_MM / capacity * flat * down
    return rise


def miss(found: Array, expected: Array, far: Array) -> float:
    """Return the greatest difference beside the greatest rise, both half a millimetre and more from the path. [%]"""
    return float(np.abs(found - expected)[far].max() / expected[far].max() * 100)


def uniform_axes(step_mm: float) -> tuple[Array, Array, Array]:
    """Return the centres of equal cells along each axis, shaped so that they spread."""
    x, y, z = ((np.arange(round(size / step_mm)) + 0.5) * step_mm for size in SIZE_MM)
    return x[:, None, None], y[None, :, None], z[None, None, :]

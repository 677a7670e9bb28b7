"""The sound edge where it steps down: a box or a fracture ends sharply, and the smooth line through the readings fills it in.

At a site that was read the edge lies no higher than its reading; between two sites each reading reaches half-way, the lower one
as far as that place too.
"""

from collections import defaultdict

import numpy as np

from collum.core.ring import STATIONS, STATIONS_DEG, Floats
from collum.plan.lengthening.levels.prepared import Prepared, whole_means


def stepped_edge_mm(prepared: Prepared) -> Floats | None:
    """Return (36, n) the sound edge with every step as deep as it was read; None where it was not read."""
    means = whole_means(prepared)
    if prepared.sound_edge_mm is None or means is None:
        return None
    return np.asarray(prepared.sound_edge_mm - filled_in_mm(prepared, means.sound_edge_mm[:, 0])[:, None])


def filled_in_mm(prepared: Prepared, edge_mm: Floats) -> Floats:
    """Return (36,) by how much an edge (36,) is above what was read of it."""
    return np.asarray(np.maximum(edge_mm - _read_at_most_mm(prepared), 0))


def _read_at_most_mm(prepared: Prepared) -> Floats:
    """Return (36,) the reading that reaches to each station, infinite without readings."""
    heights: dict[float, list[float]] = defaultdict(list)
    for reading in prepared.inputs.levels.sound_edge:
        heights[reading.theta_deg].append(reading.height_mm)
    angles = sorted(heights)
    read = [float(np.mean(heights[angle])) for angle in angles]
    highest = np.full(STATIONS, np.inf)
    for before, after in zip(range(-1, len(angles) - 1), range(len(angles)), strict=True):
        gap = (angles[after] - angles[before]) % 360 or 360
        away = (STATIONS_DEG - angles[before]) % 360  # from the one before
        first = away <= gap / 2 if read[before] <= read[after] else away < gap / 2
        between = away <= gap
        limit = np.where(first, read[before], read[after])
        highest[between] = np.minimum(highest[between], limit[between])
    return highest

"""How a ring round a tooth lies on paper: seen from the biting end, as on a chart of the teeth.

Facial above in the upper jaw and below in the lower, mesial left or right as seen from outside the mouth.
"""

from typing import NamedTuple

_MESIAL_ON_THE_RIGHT = (1, 4)  # quadrants of ISO 3950
_UPPER = (1, 2)


class Facing(NamedTuple):
    """Where two sides lie: mesial to the right (1) or left (-1), facial below (1) or above (-1)."""

    mesial: int
    facial: int


def facing_of(number: int) -> Facing:
    """Return how a tooth lies by its ISO number."""
    quadrant = number // 10
    return Facing(mesial=1 if quadrant in _MESIAL_ON_THE_RIGHT else -1, facial=-1 if quadrant in _UPPER else 1)

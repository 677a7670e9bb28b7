"""Numbers as they leave the program, rounded once."""

import numpy as np

from collum.core.ring import Floats

PRINTED_DECIMALS = 6  # heights and chances are rounded here, once


def as_line(values: Floats) -> list[float]:
    """Return a line as it is printed."""
    return [rounded(v) for v in values]


def rounded(number: float | np.floating) -> float:
    """Return a number as it is printed, without a minus at zero."""
    return round(float(number), PRINTED_DECIMALS) + 0.0

"""The published advice on the shape of a preparation: height by class of tooth, height to width, convergence.

Source: [goodacre2001]. An unknown meets nothing: every function answers None for it.
"""

from typing import Literal, TypeGuard

import numpy as np

from collum.evidence import value

Band = Literal["under", "in", "over"]


def least_height_mm(molar: bool) -> float:
    """Return the least advised height of a preparation. [mm]"""
    return value("plan.limit.preparation_height_molar_mm") if molar else value("plan.limit.preparation_height_mm")


def meets_height(height_mm: float | None, molar: bool) -> bool | None:
    """Return whether a preparation is as high as advised; None where its height is unknown."""
    return bool(height_mm >= least_height_mm(molar)) if _known(height_mm) else None


def meets_height_to_width(height_mm: float | None, facial_oral_width_mm: float | None) -> bool | None:
    """Return whether height over facial-oral width is as great as advised; None where one of them is unknown."""
    if _known(height_mm) and _known(facial_oral_width_mm):
        return bool(height_mm >= value("restoration.height_to_width_least") * facial_oral_width_mm)
    return None


def convergence_band(convergence_deg: float | None) -> Band | None:
    """Return whether the convergence of two walls lies under, in or over the advised range; None where it is unknown."""
    if not _known(convergence_deg):
        return None
    if convergence_deg < value("restoration.convergence_least_deg"):
        return "under"
    return "over" if convergence_deg > value("restoration.convergence_most_deg") else "in"


def _known(number: float | None) -> TypeGuard[float]:
    return number is not None and not np.isnan(number)

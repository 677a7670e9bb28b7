"""Outlines of the tissues of a neck on a half plane through its axis, as the body of heat has them."""

from typing import Literal

import numpy as np
from numpy.typing import NDArray

from collum.core.heat.neck_body import NeckShape
from collum.core.ring import Floats

SectionTissue = Literal["tooth", "pulp", "bone", "gum", "removed"]
SECTION_TISSUES: tuple[SectionTissue, ...] = ("tooth", "pulp", "bone", "gum", "removed")
_PIECES = 160


def outline_mm(shape: NeckShape, tissue: SectionTissue, angle_deg: float, top_mm: float, bottom_mm: float) -> Floats:
    """Return the closed outline of a tissue at an angle.

    "gum" is what stays after the cut, "removed" what it takes away; both run from the top or bottom of the section at most.

    Parameters
    ----------
    shape : NeckShape
        Curves round the neck [mm, deg].
    tissue : SectionTissue
        "tooth", "pulp", "bone", "gum" or "removed".
    angle_deg : float
        Angle of the half plane [deg].
    top_mm, bottom_mm : float
        Ends of the section along the axis [mm], apical positive.

    Returns
    -------
    ndarray (M, 2)
        Distance from the axis and place along it [mm]; M is 0 where there is no such tissue.

    Source
    ------
    Derived.

    Examples
    --------
    >>> even = np.ones(2)
    >>> shape = NeckShape(
    ...     angle_deg=np.array([0.0, 180]), root_radius_mm=3 * even, margin_mm=-2 * even, crest_mm=3 * even, cut_mm=0 * even,
    ...     junction_mm=-even, gum_mm=even, plate_mm=even, bevel_deg=45 * even, pulp_radius_mm=1, enamel_mm=0,
    ... )
    >>> outline_mm(shape, "bone", 0, -3, 6).tolist()
    [[3.0, 3.0], [4.0, 3.0], [4.0, 6.0], [3.0, 6.0]]
    """
    at = np.array([angle_deg], dtype=np.float64)
    radius, margin, cut, crest, gum, plate, bevel = (
        float(shape.at(curve, at)[0])
        for curve in (
            shape.root_radius_mm,
            shape.margin_mm,
            shape.cut_mm,
            shape.crest_mm,
            shape.gum_mm,
            shape.plate_mm,
            shape.bevel_deg,
        )
    )
    if tissue == "tooth":
        return _box(0, radius, top_mm, bottom_mm)
    if tissue == "pulp":
        return _box(0, shape.pulp_radius_mm, top_mm, bottom_mm)
    if tissue == "bone":
        return _box(radius, radius + plate, crest, bottom_mm)
    z = np.linspace(margin, bottom_mm, _PIECES)
    outside = gum + np.clip(z - crest + plate, 0, plate)
    face = np.clip((z - cut) * np.tan(np.deg2rad(bevel)), 0, outside)
    if tissue == "removed":
        return _between(radius + face, radius + outside, z, face < outside)
    return _between(radius + np.where(z > crest, plate, 0), radius + face, z, face > 0)


def _box(inner_mm: float, outer_mm: float, top_mm: float, bottom_mm: float) -> Floats:
    return np.array([[inner_mm, top_mm], [outer_mm, top_mm], [outer_mm, bottom_mm], [inner_mm, bottom_mm]], dtype=np.float64)


def _between(inner_mm: Floats, outer_mm: Floats, z_mm: Floats, there: NDArray[np.bool_]) -> Floats:
    """Return the outline of the area between two curves, where the second is outside of the first."""
    inner, outer, z = inner_mm[there], np.maximum(inner_mm, outer_mm)[there], z_mm[there]
    return np.concatenate([np.stack([outer, z], axis=1), np.stack([inner, z], axis=1)[::-1]])

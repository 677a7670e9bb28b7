"""Plane sections of a surface, facet by facet: where a plane meets it, and the profile of one wall in it."""

from dataclasses import dataclass

import numpy as np
from numpy.typing import NDArray

from collum.core.ring import Floats
from collum.core.surface.preparation_surface import Integers, PreparationSurface


@dataclass(frozen=True, slots=True, kw_only=True)
class WallProfile:
    """The wall on one side of the axis, in the plane through axis and direction.

    `low` and `high` (m, 2): distance from the axis and height along the path of the ends of each piece, lower end first;
    `foot_mm` the height of the finish line there. [mm]
    """

    low: Floats
    high: Floats
    foot_mm: float


def crossings(corners: Floats, side: Floats) -> Floats:
    """Return (m, 2, 3) where a plane meets triangles (m, 3, 3) whose corners lie at signed distances `side` (m, 3)."""
    above = side > 0
    lone = np.where(above.sum(axis=1) == 1, np.argmax(above, axis=1), np.argmin(above, axis=1))
    rows = np.arange(len(lone))
    start, at = corners[rows, lone], side[rows, lone]
    ends = []
    for step in (1, 2):
        other = (lone + step) % 3
        part = at / (at - side[rows, other])
        ends.append(start + part[:, None] * (corners[rows, other] - start))
    return np.stack(ends, axis=1)


def met_by_plane(faces: Integers, side: Floats) -> NDArray[np.bool_]:
    """Return (m,) whether a plane goes through facets (m, 3) of vertices at signed distances `side` (V,)."""
    above = side > 0
    first, second, third = (above[corner] for corner in faces.T)
    return np.asarray((first | second | third) & ~(first & second & third))


def wall_profiles(surface: PreparationSurface, axis_point_mm: Floats, onward: Floats) -> list[WallProfile | None]:
    """Return the wall that looks towards each of (D, 3) unit vectors across the path; None where the plane meets none there."""
    wall = np.flatnonzero(surface.wall())
    return [_profile(surface, wall, axis_point_mm, u) for u in onward]


def _profile(surface: PreparationSurface, wall: Integers, axis_point_mm: Floats, onward: Floats) -> WallProfile | None:
    side = (surface.vertices_mm - axis_point_mm) @ np.cross(surface.path, onward)
    foot = _foot(surface, axis_point_mm, onward, side)
    met = wall[met_by_plane(surface.faces[wall], side)]
    met = met[surface.normals[met] @ onward > 0]
    if foot is None or not len(met):
        return None
    ends = crossings(surface.vertices_mm[surface.faces[met]], side[surface.faces[met]]) - axis_point_mm
    profile = np.stack([ends @ onward, ends @ surface.path], axis=-1)
    profile = profile[profile[:, :, 0].mean(axis=1) > 0]
    if not len(profile):
        return None
    rising = profile[:, 1, 1] >= profile[:, 0, 1]
    ordered = np.where(rising[:, None, None], profile, profile[:, ::-1])
    return WallProfile(low=ordered[:, 0], high=ordered[:, 1], foot_mm=foot)


def _foot(surface: PreparationSurface, axis_point_mm: Floats, onward: Floats, side: Floats) -> float | None:
    """Return how high above the point on the axis the finish line runs in a direction; of several places the outermost."""
    line = surface.finish_line
    start, end = side[line], side[np.roll(line, -1)]
    at = np.flatnonzero((np.minimum(start, end) <= 0) & (np.maximum(start, end) > 0))
    points = surface.finish_line_mm - axis_point_mm
    part = start[at] / (start[at] - end[at])
    met = points[at] + part[:, None] * (np.roll(points, -1, axis=0)[at] - points[at])
    reach = met @ onward
    if not len(met) or reach.max() <= 0:
        return None
    return float(met[int(np.argmax(reach))] @ surface.path)

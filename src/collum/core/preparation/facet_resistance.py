"""The test of resistance on the facets of a preparation: what stops the crown from rolling off.

The crown rolls about an axis a through a pivot c of the finish line, so a point p of its inside begins to move along
a x (p - c). It meets the tooth where that motion runs into the surface, (a x (p - c)) . n < 0 with n the outward normal:
there the surface resists. Written as f(p) = a . (p x n) - (a x c) . n, f is the reciprocal product of the turn (a, -a x c)
and of the wrench (p x n, n) of a facet, so one product of matrices answers every facet for every pivot. Over a flat facet f
is linear: where it changes sign inside, the share of the facet that resists is cut out exactly, so flat walls need few facets
and do not depend on how they were cut into triangles.

A crown that tips towards u rolls about the foremost point of the finish line in that direction: every other pivot would press
the margin that lies further on into the tooth. a = path x u. On a level round finish line these are the pivots all round, each
tipped outward. In a section this is the test of `form`. Source: derived.
"""

from dataclasses import dataclass

import numpy as np
from numpy.typing import ArrayLike, NDArray

from collum.core.ring import Floats
from collum.core.surface.preparation_surface import Integers, PreparationSurface
from collum.core.surface.section import crossings, met_by_plane

Singles = NDArray[np.float32]

_BLOCK = 1024  # facets at a time: what is compared stays in the cache
_ROUNDING = 8  # steps of single precision: motion slower than this along the surface does not count as against it


@dataclass(frozen=True, slots=True, kw_only=True)
class Resistance:
    """What resists as the crown tips in each of (D,) directions.

    towards_deg: 0 facial, 90 mesial, 180 oral, 270 distal; pivots_mm (D, 3); area_mm2: surface that resists; share_in_section:
    share of the height of the opposite wall that resists in the plane through the pivot, as in the closed form (nan where that
    plane meets no opposite wall).
    """

    towards_deg: Floats
    pivots_mm: Floats
    area_mm2: Floats
    share_in_section: Floats

    @property
    def weakest(self) -> int:
        """Index of the direction with the least surface that resists; the first of equals."""
        return int(np.argmin(self.area_mm2))


def resistance(
    surface: PreparationSurface, towards_facial: ArrayLike, towards_mesial: ArrayLike, towards_deg: ArrayLike
) -> Resistance:
    """Return what resists tipping towards (D,) directions. The two (3,) vectors need only point roughly facial and mesial.

    Raises ValueError where they give no plane across the path.
    """
    angles = np.atleast_1d(np.asarray(towards_deg, dtype=float))
    onward = tipping_directions(surface.path, towards_facial, towards_mesial, angles)
    pivots = foremost_points(surface.finish_line_mm, onward, surface.path)
    axes = np.cross(surface.path, onward)
    wall = np.flatnonzero(surface.wall())
    sections = [_share_in_section(surface, wall, p, a, u) for p, a, u in zip(pivots, axes, onward, strict=True)]
    return Resistance(
        towards_deg=angles,
        pivots_mm=pivots,
        area_mm2=resistive_area_mm2(surface, pivots, axes),
        share_in_section=np.array(sections),
    )


def least_all_round(
    surface: PreparationSurface, towards_facial: ArrayLike, towards_mesial: ArrayLike, towards_deg: ArrayLike, pivots: int = 72
) -> tuple[Floats, Floats]:
    """Return (D,) the least surface that resists tipping towards each direction over pivots all round, and (D, 3) those pivots.

    For a finish line without a ledge, where the margin beyond a pivot may slip past the tooth: any of about `pivots` points of
    the line may be the pivot, not the foremost alone. Never more than `resistance`. [mm2] Raises ValueError as it.
    """
    onward = tipping_directions(
        surface.path, towards_facial, towards_mesial, np.atleast_1d(np.asarray(towards_deg, dtype=float))
    )
    line = surface.finish_line_mm
    tried = line[np.unique(np.linspace(0, len(line), pivots, endpoint=False, dtype=np.int64))]
    foremost = foremost_points(line, onward, surface.path)
    every = np.concatenate([np.broadcast_to(tried, (len(onward), *tried.shape)), foremost[:, None]], axis=1)
    axes = np.broadcast_to(np.cross(surface.path, onward)[:, None], every.shape)
    areas = resistive_area_mm2(surface, every.reshape(-1, 3), axes.reshape(-1, 3)).reshape(len(onward), -1)
    least = np.argmin(areas, axis=1)
    rows = np.arange(len(onward))
    return areas[rows, least], every[rows, least]


def tipping_directions(path: Floats, towards_facial: ArrayLike, towards_mesial: ArrayLike, towards_deg: Floats) -> Floats:
    """Return (D, 3) unit vectors across the path at angles counted from facial through mesial. Raises ValueError."""
    facial = _across(np.asarray(towards_facial, dtype=float), path)
    mesial = np.asarray(towards_mesial, dtype=float)
    mesial = _across(mesial - (mesial @ facial) * facial, path)
    angle = np.deg2rad(towards_deg)[:, None]
    return np.asarray(np.cos(angle) * facial + np.sin(angle) * mesial)


def foremost_points(finish_line_mm: Floats, onward: Floats, path: Floats) -> Floats:
    """Return (D, 3) the finish line's foremost point in each of (D, 3) directions; of equals the most coronal, the weaker."""
    reach = finish_line_mm @ onward.T
    size = np.ptp(finish_line_mm, axis=0).max()
    equal = reach >= reach.max(axis=0) - size * np.sqrt(np.finfo(float).eps)
    height = np.where(equal, (finish_line_mm @ path)[:, None], -np.inf)
    return np.asarray(finish_line_mm[np.argmax(height, axis=0)])


def resistive_area_mm2(surface: PreparationSurface, pivots_mm: ArrayLike, axes: ArrayLike) -> Floats:
    """Return (P,) the surface that resists a turn about each axis (P, 3) through each pivot (P, 3). [mm2]

    The sense of an axis is that of the crown coming off (right-hand rule). Axes need not be unit vectors.
    """
    turns = np.asarray(axes, dtype=float).reshape(-1, 3)
    turns = turns / np.linalg.norm(turns, axis=1, keepdims=True)
    middle = surface.finish_line_mm.mean(axis=0)
    about = np.asarray(pivots_mm, dtype=float).reshape(-1, 3) - middle
    turn = np.column_stack([turns, -np.cross(turns, about), np.ones(len(turns))])
    wrench, bend = _wrenches(surface, middle)
    return _negative_area(wrench, np.asarray(turn, dtype=np.float32), bend, np.asarray(surface.areas_mm2, dtype=np.float32))


def _wrenches(surface: PreparationSurface, middle: Floats) -> tuple[Singles, Singles]:
    """Return (F, 7) and (F, 6): f at the centre of a facet as its product with a turn, and how f changes towards two corners.

    Both are scaled by the facet's reach, the greatest distance of a corner from the centre: f changes by a . (d x n) over a
    way d in the facet, so by no more than d. The last column lifts f by the rounding of single precision.
    """
    corners = np.ascontiguousarray((surface.vertices_mm - middle)[surface.faces].transpose(1, 2, 0))
    normal = np.ascontiguousarray(surface.normals.T)
    centre = corners.sum(axis=0) / 3
    ways = corners - centre
    inverse = 1 / np.sqrt(np.max(np.sum(ways**2, axis=1), axis=0))
    rounding = np.abs(surface.vertices_mm - middle).max() * np.finfo(np.float32).eps * _ROUNDING
    wrench, bend = (np.empty((len(inverse), width), dtype=np.float32) for width in (7, 6))
    for column, values in enumerate((*_cross(centre, normal), *normal, rounding)):
        wrench[:, column] = values * inverse
    for column, values in enumerate((*_cross(ways[0], normal), *_cross(ways[1], normal))):
        bend[:, column] = values * inverse
    return wrench, bend


def _cross(a: Floats, b: Floats) -> tuple[Floats, Floats, Floats]:
    """Return the cross product of (3, F) and (3, F), by components: a row at a time is several times faster than numpy's."""
    return a[1] * b[2] - a[2] * b[1], a[2] * b[0] - a[0] * b[2], a[0] * b[1] - a[1] * b[0]


def _negative_area(wrench: Singles, turn: Singles, bend: Singles, area: Singles) -> Floats:
    """Return (P,) area on which f < 0, facet by facet scaled so that |f| >= 1 at a centre means one sign on the whole facet."""
    count = len(turn)
    columns = np.ascontiguousarray(turn.T)
    axes = np.ascontiguousarray(turn[:, :3])
    f, share = (np.empty((_BLOCK, count), dtype=np.float32) for _ in range(2))
    flag = np.empty((_BLOCK, count), dtype=bool)
    total = np.zeros(count)
    for begin in range(0, len(wrench), _BLOCK):
        block = slice(begin, begin + _BLOCK)
        rows = len(wrench[block])
        at_centre, part, marked = f[:rows], share[:rows], flag[:rows]
        np.matmul(wrench[block], columns, out=at_centre)
        np.abs(at_centre, out=part)
        np.less(part, 1, out=marked)
        mixed = np.flatnonzero(marked)
        np.less(at_centre, 0, out=marked)
        part[...] = marked
        facet = np.asarray((mixed + 0.5) / count, dtype=np.intp)  # floating, as whole numbers are slow to divide
        part.reshape(-1)[mixed] = _cut_share(at_centre.reshape(-1)[mixed], bend[block][facet], axes[mixed - facet * count])
        total += area[block] @ part
    return total


def _cut_share(at_centre: Singles, bend: Singles, axis: Singles) -> Singles:
    """Return (m,) the share of a triangle on which a linear f is negative, from f at its centre and its two first corners."""
    first = np.einsum("ij,ij->i", bend[:, :3], axis)
    second = np.einsum("ij,ij->i", bend[:, 3:], axis)
    return negative_share(at_centre + first, at_centre + second, at_centre - first - second)


def negative_share(first: Singles, second: Singles, third: Singles) -> Singles:
    """Return (m,) the share of a triangle on which a linear function with these values at its corners is negative. Exact."""
    low = np.minimum(np.minimum(first, second), third)
    high = np.maximum(np.maximum(first, second), third)
    middle = first + second + third - low - high
    two_negative = middle < 0
    lone = np.where(two_negative, high, low)
    spread = (high - low) * np.where(two_negative, high - middle, middle - low)
    corner = lone * lone / np.where(spread > 0, spread, 1)
    share = np.where(two_negative, 1 - corner, corner)
    return np.asarray(np.where(high <= 0, 1, np.where(low >= 0, 0, share)), dtype=first.dtype)


def _share_in_section(surface: PreparationSurface, wall: Integers, pivot: Floats, axis: Floats, onward: Floats) -> float:
    """Return the share of the height of the opposite wall that resists in the plane of path and direction; nan without one."""
    offset = (surface.vertices_mm - pivot) @ axis
    met = wall[met_by_plane(surface.faces[wall], offset)]
    met = met[surface.normals[met] @ onward < 0]
    if not len(met):
        return float("nan")
    ends = crossings(surface.vertices_mm[surface.faces[met]], offset[surface.faces[met]])
    motion = np.cross(axis, ends - pivot)
    f = np.einsum("msk,mk->ms", motion, surface.normals[met])
    low, high = f.min(axis=1), f.max(axis=1)
    share = np.where(high <= 0, 1, np.where(low >= 0, 0, low / np.where(high > low, low - high, 1)))
    height = np.abs((ends[:, 1] - ends[:, 0]) @ surface.path)
    return float(share @ height / height.sum()) if height.sum() > 0 else float("nan")


def _across(vector: Floats, path: Floats) -> Floats:
    flat = vector - (vector @ path) * path
    length = float(np.linalg.norm(flat))
    if not length > 0:
        raise ValueError("facial and mesial have to point across the path, and not the same way")
    return np.asarray(flat / length)

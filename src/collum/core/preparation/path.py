"""A common path of placement for several preparations: all that are possible, and the least undercut where none is.

A path k is possible where no wall looks away from it: n . k >= 0 for every facet. Written k = (x, y, 1) over a frame whose
third axis is a first guess of the path, each facet allows a half-plane of (x, y); together they leave a convex polygon, every
point of it a path. The best path stands farthest from the walls that limit it, as the least n . k is the sine of the angle by
which it may err. Where nothing is left, the same programme gives the path whose worst wall is undercut least.

Not covered: neighbours that are in the way of the path, and what a rotated path would allow.
"""

from collections.abc import Sequence
from dataclasses import dataclass

import numpy as np
from numpy.typing import ArrayLike
from scipy.optimize import linprog
from scipy.spatial import HalfspaceIntersection

from collum.core.ring import Floats
from collum.core.surface.preparation_surface import PreparationSurface

_WIDEST_DEG = 45  # paths tilted farther against the first guess are not looked for
_ROUNDS = 200
_LIMITING = 64  # walls taken up at a time
_WITHIN = 2.0**-20  # a best path on the edge of the square would not lie within its corners
_TOUCHING = float(np.sqrt(np.finfo(float).eps))  # a sine below this is no reserve


@dataclass(frozen=True, slots=True, kw_only=True)
class WallsOfTooth:
    """The walls of one preparation: unit normals (F, 3) in a frame common to all teeth, and their areas (F,). [mm2]"""

    normals: Floats
    areas_mm2: Floats


@dataclass(frozen=True, slots=True, kw_only=True)
class CommonPath:
    """What several preparations allow together.

    `corners` (m, 3) unit vectors at the corners of all possible paths, empty where there is none; `best` (3,) unit vector.
    `reserve_deg` is the angle of the worst wall to `best`: how far the path may err, negative where that wall is undercut.
    For each tooth, along `best`: `undercut_deg` the worst angle (0 without), `undercut_mm2` the area that is undercut.
    """

    corners: Floats
    best: Floats
    reserve_deg: float
    undercut_deg: Floats
    undercut_mm2: Floats

    @property
    def possible(self) -> bool:
        """Whether one path suits all preparations."""
        return len(self.corners) > 0


def walls_of(surface: PreparationSurface) -> WallsOfTooth:
    """Return the walls of a checked surface: all facets that are not top or ledge."""
    wall = surface.wall()
    return WallsOfTooth(normals=surface.normals[wall], areas_mm2=surface.areas_mm2[wall])


def common_path(teeth: Sequence[WallsOfTooth], guess: ArrayLike) -> CommonPath:
    """Return the paths that suit all `teeth`, looked for within 45 degrees of the (3,) `guess`. Raises ValueError."""
    along = np.asarray(guess, dtype=float)
    if along.shape != (3,) or not (np.isfinite(along).all() and along.any()):
        raise ValueError("the first guess of the path is a vector of three numbers")
    if not teeth or not all(len(tooth.normals) for tooth in teeth):
        raise ValueError("every preparation has walls, and there is at least one")
    frame = frame_of(along / np.linalg.norm(along))
    planes = np.unique(np.concatenate([tooth.normals for tooth in teeth]) @ frame.T, axis=0)
    best = _best(planes)
    worst = float((planes @ best).min())
    polygon = _polygon(planes, best[:2] / best[2]) if worst > _TOUCHING else np.zeros((0, 2))
    best = best @ frame
    undercut = [undercut_along(tooth, best) for tooth in teeth]
    paths = np.column_stack([polygon, np.ones(len(polygon))]) @ frame
    return CommonPath(
        corners=paths / np.linalg.norm(paths, axis=1, keepdims=True),
        best=best,
        reserve_deg=float(np.rad2deg(np.arcsin(np.clip(worst, -1, 1)))),
        undercut_deg=np.array([angle for angle, _ in undercut]),
        undercut_mm2=np.array([area for _, area in undercut]),
    )


def frame_of(along: Floats) -> Floats:
    """Return (3, 3) with rows x, y, z = `along`."""
    least = np.eye(3)[int(np.argmin(np.abs(along)))]
    x = np.cross(least, along)
    x = x / np.linalg.norm(x)
    return np.asarray(np.stack([x, np.cross(along, x), along]))


def _polygon(planes: Floats, inside: Floats) -> Floats:
    """Return (m, 2) corners, in order, of all (x, y) with n . (x, y, 1) >= 0 in the widest square; `inside` lies within."""
    far = np.tan(np.deg2rad(_WIDEST_DEG))
    square = np.array([[1.0, 0.0, -far], [-1.0, 0.0, -far], [0.0, 1.0, -far], [0.0, -1.0, -far]])
    steep = planes[np.hypot(planes[:, 0], planes[:, 1]) > np.finfo(float).eps]
    corners = HalfspaceIntersection(np.concatenate([-steep, square]), inside).intersections
    corners = corners[np.isfinite(corners).all(axis=1)]
    turn = np.arctan2(*(corners - inside).T[::-1])
    return np.asarray(corners[np.argsort(turn)])


def _best(planes: Floats) -> Floats:
    """Return the unit path within the widest square that maximises the least n . k over the walls, by linear programmes round
    the last path.

    Against a unit path k0 the walls ask n . k >= s with k . k0 = 1: to first order the sine of the angle. Each round turns
    the frame to its answer, so that at rest, where the least n . k grows no more, the order does not matter.
    """
    path = np.array([0.0, 0.0, 1.0])
    edge = np.tan(np.deg2rad(_WIDEST_DEG)) * (1 - _WITHIN)
    square = np.array([[1.0, 0.0, edge], [-1.0, 0.0, edge], [0.0, 1.0, edge], [0.0, -1.0, edge]])
    least = float(planes[:, 2].min())
    for _ in range(_ROUNDS):
        turned = frame_of(path)
        step = _programme(planes @ turned.T, square @ turned.T) @ turned
        step = step / np.linalg.norm(step)
        now = float((planes @ step).min())
        if now <= least + _TOUCHING:
            return np.asarray(step if now > least else path)
        path, least = step, now
    return np.asarray(path)


def _programme(planes: Floats, square: Floats) -> Floats:
    """Return (x, y, 1) with the greatest s such that n . (x, y, 1) >= s for all planes, and 0 or more for those of the square.

    Walls join as they are needed.
    """
    far = float(np.tan(np.deg2rad(_WIDEST_DEG)))
    chosen = np.argsort(planes[:, 2])[:_LIMITING]
    while True:
        walls = np.column_stack([-planes[chosen, :2], np.ones(len(chosen))])
        within = np.column_stack([-square[:, :2], np.zeros(len(square))])
        limits = np.concatenate([planes[chosen, 2], square[:, 2]])
        found = linprog(
            [0, 0, -1], A_ub=np.concatenate([walls, within]), b_ub=limits, bounds=[(-far, far)] * 2 + [(None, None)]
        ).x
        lacking = planes[:, :2] @ found[:2] + planes[:, 2] - found[2]
        worse = np.setdiff1d(np.flatnonzero(lacking < -_TOUCHING), chosen)  # those taken up lack what the solver allows itself
        if not len(worse):
            return np.array([found[0], found[1], 1.0])
        chosen = np.union1d(chosen, worse[np.argsort(lacking[worse])[:_LIMITING]])


def undercut_along(tooth: WallsOfTooth, path: Floats) -> tuple[float, float]:
    """Return the worst angle and the area of the walls that look away from a path."""
    facing = tooth.normals @ path
    away = facing < -_TOUCHING
    worst = float(np.rad2deg(np.arcsin(min(1.0, max(0.0, -float(facing.min())))))) if away.any() else 0.0
    return worst, float(tooth.areas_mm2[away].sum())

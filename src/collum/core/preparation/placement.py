"""The path of placement of one preparation: given, or found where the sheet leaves least undercut.

A found path begins where the opening of the finish line looks. Where some path leaves no wall undercut, it is the one farthest
from the walls that limit it (`path.common_path`). Where none does, a single rough facet would decide that way; so the path is
the one along which the undercut walls cast the least shadow, the sum of area times (-n . k) over them, which is convex in k.
"""

from dataclasses import dataclass, replace

import numpy as np
from numpy.typing import ArrayLike
from scipy.optimize import minimize

from collum.core.preparation.path import common_path, frame_of, undercut_along, walls_of
from collum.core.ring import Floats
from collum.core.surface.preparation_surface import PreparationSurface, preparation_surface

_ROUNDS = 4  # which facets are wall depends on the path: looked for anew until it rests
_TILT = float(np.deg2rad(1)) / 100  # a hundredth of a degree: finer than any walls are cut
_FIRST_TILT = 100 * _TILT
_RESTS = 1 - float(np.finfo(np.float32).eps)


@dataclass(frozen=True, slots=True, kw_only=True)
class Placement:
    """A checked surface with its path. `reversed`: a given path pointed from the top to the finish line and was turned.

    `reserve_deg`: angle of the wall that limits the path most; negative where it is undercut. `undercut_deg` the steepest
    undercut (0 without), `undercut_mm2` its area.
    """

    surface: PreparationSurface
    found: bool
    reversed: bool
    reserve_deg: float
    undercut_deg: float
    undercut_mm2: float


def placed(
    vertices_mm: ArrayLike,
    faces: ArrayLike,
    path: ArrayLike | None,
    finish_line_mm: ArrayLike | None = None,
    *,
    weld_within_mm: float = 0,
) -> Placement:
    """Return the surface on its path of placement; arguments as of `preparation_surface`. Raises SurfaceError."""
    surface = preparation_surface(vertices_mm, faces, path, finish_line_mm, weld_within_mm=weld_within_mm)
    turned = path is not None and _upside_down(surface)
    if turned:
        surface = preparation_surface(
            vertices_mm, faces, -np.asarray(path, dtype=float), finish_line_mm, weld_within_mm=weld_within_mm
        )
    if path is None:
        surface = _on_best_path(surface)
    walls = walls_of(surface)
    undercut_deg, undercut_mm2 = undercut_along(walls, surface.path)
    least = float((walls.normals @ surface.path).min()) if len(walls.normals) else 0.0
    return Placement(
        surface=surface,
        found=path is None,
        reversed=turned,
        reserve_deg=float(np.rad2deg(np.arcsin(np.clip(least, -1, 1)))),
        undercut_deg=undercut_deg,
        undercut_mm2=undercut_mm2,
    )


def _upside_down(surface: PreparationSurface) -> bool:
    sheet = np.average(surface.vertices_mm[surface.faces].mean(axis=1), axis=0, weights=surface.areas_mm2)
    return bool((sheet - surface.finish_line_mm.mean(axis=0)) @ surface.path < 0)


def _on_best_path(surface: PreparationSurface) -> PreparationSurface:
    opening = surface.path
    for _ in range(_ROUNDS):
        walls = walls_of(surface)
        if not len(walls.normals):
            return surface
        found = common_path([walls], surface.path)
        best = found.best if found.possible else _least_shadow(walls.normals, walls.areas_mm2, found.best)
        if float(best @ opening) ** 2 < 1 / 2:  # farther than 45 degrees from the opening it is no path of this sheet
            return surface
        rests = float(best @ surface.path) > _RESTS
        surface = replace(surface, path=best)
        if rests:
            break
    return surface


def _least_shadow(normals: Floats, areas_mm2: Floats, guess: Floats) -> Floats:
    """Return the unit path with the least sum of area times (-n . k) over the walls that look away from it."""
    frame = frame_of(guess)
    planes = normals @ frame.T

    def shadow(tilt: Floats) -> float:
        path = np.array([tilt[0], tilt[1], 1.0]) / np.sqrt(1 + tilt @ tilt)
        return float(areas_mm2 @ np.maximum(-planes @ path, 0))

    around = np.array([[0.0, 0.0], [_FIRST_TILT, 0.0], [0.0, _FIRST_TILT]])
    options = {"xatol": _TILT, "fatol": np.inf, "initial_simplex": around}  # at rest when the path is, whatever the shadow
    best = minimize(shadow, around[0], method="Nelder-Mead", options=options).x
    path = np.array([best[0], best[1], 1.0]) @ frame
    return np.asarray(path / np.linalg.norm(path))

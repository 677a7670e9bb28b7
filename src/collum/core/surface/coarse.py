"""A coarse copy of a surface for drawing: vertices that share a cell of a grid become one. Nothing is measured on it."""

import numpy as np

from collum.core.ring import Floats
from collum.core.surface.preparation_surface import Integers, PreparationSurface

_WIDER = 2**0.5  # from one try to the next: half as many facets


def coarse(surface: PreparationSurface, most_facets: int) -> tuple[Floats, Integers]:
    """Return vertices (V, 3) and facets (F, 3), at most so many; the surface as it is where it has no more."""
    vertices, faces = surface.vertices_mm, surface.faces
    cell = float(np.sqrt(surface.areas_mm2.sum() / most_facets))
    while len(faces) > most_facets:
        vertices, faces = _clustered(surface.vertices_mm, surface.faces, cell)
        cell *= _WIDER
    return vertices, faces


def resists_at_centres(vertices_mm: Floats, faces: Integers, pivot_mm: Floats, axis: Floats) -> np.ndarray:
    """Return (F,) whether a facet resists, at its centre, a turn about an axis through a pivot. For drawing."""
    corners = vertices_mm[faces]
    normals = np.cross(corners[:, 1] - corners[:, 0], corners[:, 2] - corners[:, 0])
    motion = np.cross(axis, corners.mean(axis=1) - pivot_mm)
    return np.asarray(np.einsum("fk,fk->f", motion, normals) < 0)


def _clustered(vertices: Floats, faces: Integers, cell: float) -> tuple[Floats, Integers]:
    of_cell = np.floor((vertices - vertices.min(axis=0)) / cell).astype(np.int64)
    _, which = np.unique(of_cell, axis=0, return_inverse=True)
    which = which.reshape(-1)
    count = np.bincount(which)
    middle = np.stack([np.bincount(which, weights=axis) / count for axis in vertices.T], axis=1)
    corners = which[faces]
    whole = (corners[:, 0] != corners[:, 1]) & (corners[:, 1] != corners[:, 2]) & (corners[:, 2] != corners[:, 0])
    corners = corners[whole]
    _, first = np.unique(np.sort(corners, axis=1), axis=0, return_index=True)
    return middle, corners[np.sort(first)]

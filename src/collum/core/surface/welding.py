"""Vertices joined: those at the very same place, which files of single facets repeat, and those closer than a tolerance."""

import numpy as np
from numpy.typing import NDArray
from scipy.sparse import coo_array
from scipy.sparse.csgraph import connected_components
from scipy.spatial import KDTree

from collum.core.ring import Floats

Integers = NDArray[np.int64]


def weld(vertices: Floats, triangles: Integers, within_mm: float = 0) -> tuple[Floats, Integers, int]:
    """Return vertices (V, 3), facets (F, 3) and how many vertices were joined to another; those of no facet are left out.

    Of vertices within `within_mm` of each other, also over others between, the first in the order of coordinates stays.
    """
    used, inverse = np.unique(triangles, return_inverse=True)
    places, which = _distinct(vertices[used])
    if within_mm > 0:
        near = KDTree(places).query_pairs(within_mm, output_type="ndarray")
        if len(near):
            places, which = _joined(places, which, near)
    return places, which[inverse].reshape(-1, 3), len(used) - len(places)


def _distinct(corners: Floats) -> tuple[Floats, Integers]:
    """Return the distinct places (m, 3), and for each corner which of them is its own; all as they are where none repeats."""
    order = np.lexsort(corners.T)
    new = np.any(corners[order[1:]] != corners[order[:-1]], axis=1)
    if new.all():
        return corners, np.arange(len(corners))
    which = np.zeros(len(corners), dtype=np.int64)
    which[order] = np.concatenate([[0], np.cumsum(new)])
    return corners[order[np.concatenate([[True], new])]], which


def _joined(places: Floats, which: Integers, near: Integers) -> tuple[Floats, Integers]:
    count = len(places)
    graph = coo_array((np.ones(len(near)), (near[:, 0], near[:, 1])), shape=(count, count))
    cluster = connected_components(graph, directed=False)[1]
    _, first = np.unique(cluster, return_index=True)
    return places[first], np.asarray(cluster, dtype=np.int64)[which]

"""A finish line drawn on a larger surface: the preparation is what lies coronal of it.

The points of the line are moved to the nearest vertices and joined by the shortest ways along edges. The facets are parted
there; of the parts beside the line the one is kept that rises from it or runs inward. Drawn points closer together than the
facets are wide follow the line as well as the facets can.
"""

import numpy as np
from numpy.typing import NDArray
from scipy.sparse import coo_array, csr_array
from scipy.sparse.csgraph import connected_components, dijkstra
from scipy.spatial import KDTree

from collum.core.ring import Floats
from collum.core.surface.surface_error import SurfaceError

Integers = NDArray[np.int64]

_FEWEST = 3
_DETOUR = 4  # a way along the edges may be this many times as long as the straight one


def coronal_part(vertices: Floats, triangles: Integers, along: Floats, line_mm: Floats) -> Integers:
    """Return the facets (m, 3) inside a (P, 3) line that closes on itself. Raises SurfaceError."""
    if line_mm.shape[1:] != (3,) or len(line_mm) < _FEWEST or not np.isfinite(line_mm).all():
        raise SurfaceError("line")
    start, end = triangles.reshape(-1), triangles[:, [1, 2, 0]].reshape(-1)
    edge = np.minimum(start, end) * len(vertices) + np.maximum(start, end)
    cut = _way_round(vertices, start, end, line_mm)
    parted = np.isin(edge, np.minimum(cut, np.roll(cut, -1)) * len(vertices) + np.maximum(cut, np.roll(cut, -1)))
    part = _parts(edge, parted, len(triangles))
    beside = np.flatnonzero(parted)
    score = _inward(vertices, triangles, along, start[beside], end[beside], beside // 3)
    kept = part == int(np.argmax(np.bincount(part[beside // 3], weights=score, minlength=int(part.max()) + 1)))
    if np.all(kept[beside // 3]) and len(np.unique(edge[beside])) < len(beside):
        raise SurfaceError("line_parts_nothing")
    return np.asarray(triangles[kept])


def _way_round(vertices: Floats, start: Integers, end: Integers, line_mm: Floats) -> Integers:
    """Return the vertices of the line along edges, each joined to the next and the last to the first."""
    lengths = np.linalg.norm(vertices[start] - vertices[end], axis=1)
    shape = (len(vertices), len(vertices))
    # an edge of two facets is there twice, once in each sense; taken both ways and the sums halved, every edge counts once
    both = coo_array((np.ones(2 * len(start)), (np.r_[start, end], np.r_[end, start])), shape=shape).tocsr()
    sums = coo_array((np.r_[lengths, lengths], (np.r_[start, end], np.r_[end, start])), shape=shape).tocsr()
    ways = csr_array((sums.data / both.data, sums.indices, sums.indptr), shape=shape)
    near = KDTree(vertices).query(line_mm)[1]
    points = near[np.concatenate([[True], np.diff(near) != 0])]
    points = points[:-1] if len(points) > 1 and points[0] == points[-1] else points
    if len(np.unique(points)) < _FEWEST:
        raise SurfaceError("line")
    round_trip: list[int] = []
    for here, there in zip(points.tolist(), np.roll(points, -1).tolist(), strict=True):
        straight = float(np.linalg.norm(vertices[there] - vertices[here]))
        _, before = dijkstra(ways, indices=there, limit=_DETOUR * straight, return_predecessors=True)
        at = here
        while at != there:
            round_trip.append(at)
            at = int(before[at])
            if at < 0:
                raise SurfaceError("line_broken")
    return np.array(round_trip, dtype=np.int64)


def _parts(edge: Integers, parted: NDArray[np.bool_], facets: int) -> Integers:
    """Return (F,) the part each facet belongs to, where facets hang together over every edge that is not parted."""
    order = np.argsort(edge, kind="stable")
    joined = (np.diff(edge[order]) == 0) & ~parted[order[1:]]
    first, second = order[:-1][joined] // 3, order[1:][joined] // 3
    graph = coo_array((np.ones(len(first)), (first, second)), shape=(facets, facets))
    return np.asarray(connected_components(graph, directed=False)[1], dtype=np.int64)


def _inward(vertices: Floats, triangles: Integers, along: Floats, start: Integers, end: Integers, facet: Integers) -> Floats:
    """Return how much a facet beside the line rises from it or runs towards the middle of the line."""
    middle = (vertices[start] + vertices[end]) / 2
    way = vertices[triangles[facet]].mean(axis=1) - middle
    outward = middle - middle.mean(axis=0)
    outward = outward - (outward @ along)[:, None] * along
    outward = outward / np.linalg.norm(outward, axis=1, keepdims=True)
    return np.asarray(way @ along - np.sum(way * outward, axis=1))

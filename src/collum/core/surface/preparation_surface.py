"""The surface of a preparation as triangles: checked, put in order where that is safe, refused where it is not.

The test of resistance needs one sheet of facets that all face outward and end in one closed edge, the finish line. What can be
put right without inventing surface is put right and said (`repairs`); a hole, a sheet in pieces, an edge of three facets or a
closed body is refused (`SurfaceError`), because what lies there is not known.

Outward is decided by the sum of area times normal: for a sheet it depends on its edge alone (divergence theorem), so it points
along the path of placement wherever the sheet closes over the finish line. Not found: facets that pass through one another.
"""

from dataclasses import dataclass
from typing import Literal

import numpy as np
from numpy.typing import ArrayLike, NDArray
from scipy.sparse import coo_array
from scipy.sparse.csgraph import breadth_first_order, connected_components

from collum.core.ring import Floats
from collum.core.surface.finish_line import coronal_part
from collum.core.surface.surface_error import SurfaceError
from collum.core.surface.welding import weld

Integers = NDArray[np.int64]

RepairKind = Literal["welded", "dropped", "trimmed", "turned"]


@dataclass(frozen=True, slots=True, kw_only=True)
class Repair:
    """What was put right and how often: vertices `welded`, facets `dropped` (no area, or twice there), `trimmed` (not coronal
    of the finish line) or `turned` outward.
    """

    kind: RepairKind
    count: int


@dataclass(frozen=True, slots=True, kw_only=True)
class PreparationSurface:
    """A sheet of facets that face outward.

    vertices_mm (V, 3); faces (F, 3) indices, counter-clockwise seen from outside; finish_line (P,) indices of its vertices in
    order round the path; path (3,) unit vector the restoration leaves along, coronal; normals (F, 3) unit; areas_mm2 (F,).
    """

    vertices_mm: Floats
    faces: Integers
    finish_line: Integers
    path: Floats
    normals: Floats
    areas_mm2: Floats
    repairs: tuple[Repair, ...]

    @property
    def finish_line_mm(self) -> Floats:
        """(P, 3) points of the finish line in order."""
        return self.vertices_mm[self.finish_line]

    def wall(self) -> NDArray[np.bool_]:
        """Return (F,) whether a facet is wall: steeper than 45 degrees to a plane across the path. The rest is top or ledge."""
        return np.asarray((self.normals @ self.path) ** 2 < 1 / 2)

    def wall_area_mm2(self) -> float:
        """Return the area of the wall. [mm2]"""
        return float(self.areas_mm2[self.wall()].sum())

    def top_area_mm2(self) -> float:
        """Return the area of top and ledges. [mm2]"""
        return float(self.areas_mm2[~self.wall()].sum())


def preparation_surface(
    vertices_mm: ArrayLike,
    faces: ArrayLike,
    path: ArrayLike | None,
    finish_line_mm: ArrayLike | None = None,
    *,
    weld_within_mm: float = 0,
) -> PreparationSurface:
    """Return the checked surface of (V, 3) vertices, (F, 3) facets and a (3,) path. Raises SurfaceError.

    `finish_line_mm` (P, 3) is a closed line on a surface that goes on beyond it; without one the sheet ends at the finish line.
    Vertices at the very same place are joined, and those within `weld_within_mm` of each other. Without a path it is where
    the opening of the finish line looks, on the side where the sheet lies: a first guess, which a drawn line cannot do with.
    """
    vertices, triangles = _read(vertices_mm, faces)
    along = None if path is None else _unit(path)
    vertices, triangles, welded = weld(vertices, triangles, weld_within_mm)
    triangles, dropped = _drop(vertices, triangles)
    trimmed = 0
    if finish_line_mm is not None:
        if along is None:
            raise SurfaceError("path")
        whole = len(triangles)
        triangles = coronal_part(vertices, triangles, along, np.asarray(finish_line_mm, dtype=float))
        vertices, triangles, _ = weld(vertices, triangles)
        trimmed = whole - len(triangles)
    triangles, turned = _orient(triangles)
    finish_line = _finish_line(triangles)
    along = _opening(vertices, triangles, finish_line) if along is None else along
    if float(_vector_area(vertices, triangles) @ along) < 0:
        triangles, finish_line, turned = triangles[:, ::-1], finish_line[::-1], len(triangles) - turned
    _check_path(vertices, triangles, along)
    doubled = _doubled_normals(vertices, triangles)
    length = np.linalg.norm(doubled, axis=1)
    counted: dict[RepairKind, int] = {"welded": welded, "dropped": dropped, "trimmed": trimmed, "turned": turned}
    return PreparationSurface(
        vertices_mm=vertices,
        faces=triangles,
        finish_line=finish_line,
        path=along,
        normals=doubled / length[:, None],
        areas_mm2=length / 2,
        repairs=tuple(Repair(kind=kind, count=count) for kind, count in counted.items() if count),
    )


def _read(vertices_mm: ArrayLike, faces: ArrayLike) -> tuple[Floats, Integers]:
    vertices = np.array(vertices_mm, dtype=float).reshape(-1, 3)
    triangles = np.array(faces, dtype=np.int64).reshape(-1, 3)
    if not (len(vertices) and len(triangles)):
        raise SurfaceError("empty")
    if unknown := int(np.count_nonzero(~np.isfinite(vertices).all(axis=1))):
        raise SurfaceError("not_finite", unknown)
    if outside := int(np.count_nonzero((triangles < 0) | (triangles >= len(vertices)))):
        raise SurfaceError("no_such_vertex", outside)
    return vertices, triangles


def _unit(path: ArrayLike) -> Floats:
    along = np.array(path, dtype=float).reshape(-1)
    length = float(np.linalg.norm(along))
    if along.shape != (3,) or not (np.isfinite(length) and length > 0):
        raise SurfaceError("path")
    return np.asarray(along / length)


def _opening(vertices: Floats, triangles: Integers, finish_line: Integers) -> Floats:
    """Return where the opening of the finish line looks, on the side where the middle of the sheet lies."""
    looks = _unit(_vector_area(vertices, triangles))
    sheet = vertices[triangles].mean(axis=(0, 1)) - vertices[finish_line].mean(axis=0)
    return looks if float(sheet @ looks) > 0 else -looks


def _drop(vertices: Floats, triangles: Integers) -> tuple[Integers, int]:
    """Leave out facets without area and the second of two with the same corners."""
    sides = np.sort(triangles, axis=1)
    _, pair = np.unique(sides[:, 0] * len(vertices) + sides[:, 1], return_inverse=True)
    _, first = np.unique(pair * len(vertices) + sides[:, 2], return_index=True)
    kept = triangles[np.sort(first)]
    edge = np.linalg.norm(vertices[kept[:, 1]] - vertices[kept[:, 0]], axis=1)
    far = np.linalg.norm(vertices[kept[:, 2]] - vertices[kept[:, 0]], axis=1)
    doubled = np.linalg.norm(_doubled_normals(vertices, kept), axis=1)
    kept = kept[doubled > np.finfo(float).eps * np.maximum(edge, far) ** 2]
    if not len(kept):
        raise SurfaceError("empty")
    return kept, len(triangles) - len(kept)


def _orient(triangles: Integers) -> tuple[Integers, int]:
    """Turn facets until neighbours run their common edge in opposite senses; say how many were turned."""
    first, second, same_sense = _neighbours(triangles)
    count = len(triangles)
    ones = np.ones(2 * len(first))
    graph = coo_array((ones, (np.r_[first, second], np.r_[second, first])), shape=(count, count)).tocsr()
    pieces, _ = connected_components(graph, directed=False)
    if pieces > 1:
        raise SurfaceError("pieces", int(pieces))
    if not same_sense.any():
        return triangles, 0
    turned = _parity(graph, first, second, same_sense)
    if np.any((turned[first] != turned[second]) != same_sense):
        raise SurfaceError("one_sided")
    fewer = turned if 2 * turned.sum() <= count else ~turned
    return np.where(fewer[:, None], triangles[:, ::-1], triangles), int(fewer.sum())


def _parity(graph: coo_array, first: Integers, second: Integers, same_sense: NDArray[np.bool_]) -> NDArray[np.bool_]:
    """Return (F,) whether each facet has to be turned, going outward from the first one."""
    count = int(graph.shape[0])
    order, parent = breadth_first_order(graph, 0, directed=False)
    clash = coo_array((same_sense + 1.0, (first, second)), shape=(count, count)).tocsr()
    clash = clash + clash.T
    rest = order[1:]
    to_parent = np.asarray(clash[rest, parent[rest]]).reshape(-1) > 1
    differs = dict(zip(rest.tolist(), to_parent.tolist(), strict=True))
    turned = [False] * count
    for facet in rest.tolist():
        turned[facet] = turned[parent[facet]] != differs[facet]
    return np.array(turned)


def _neighbours(triangles: Integers) -> tuple[Integers, Integers, NDArray[np.bool_]]:
    """Return pairs of facets with a common edge, and whether both run it in the same sense. Raises SurfaceError."""
    start, end, facet = _half_edges(triangles)
    low, high = np.minimum(start, end), np.maximum(start, end)
    order = np.lexsort((high, low))
    low, high, facet, forward = low[order], high[order], facet[order], (start < end)[order]
    repeats = (low[1:] == low[:-1]) & (high[1:] == high[:-1])
    if crowded := int(np.count_nonzero(repeats[1:] & repeats[:-1])):
        raise SurfaceError("edge_of_three", crowded)
    at = np.flatnonzero(repeats)
    return facet[at], facet[at + 1], forward[at] == forward[at + 1]


def _half_edges(triangles: Integers) -> tuple[Integers, Integers, Integers]:
    start = triangles.reshape(-1)
    end = triangles[:, [1, 2, 0]].reshape(-1)
    return start, end, np.repeat(np.arange(len(triangles)), 3)


def _finish_line(triangles: Integers) -> Integers:
    """Return the vertices of the one open edge in order. Raises SurfaceError where there is none, or more than one."""
    start, end, _ = _half_edges(triangles)
    size = int(triangles.max()) + 1
    edge = np.minimum(start, end) * size + np.maximum(start, end)
    order = np.argsort(edge)
    changes = np.concatenate([[True], np.diff(edge[order]) > 0, [True]])
    open_edge = np.sort(order[changes[:-1] & changes[1:]])
    start, end = start[open_edge], end[open_edge]
    if not len(start):
        raise SurfaceError("closed")
    if pinched := len(start) - len(np.unique(start)):
        raise SurfaceError("pinched", pinched)
    onward = dict(zip(start.tolist(), end.tolist(), strict=True))
    line = [int(start[0])]
    while (following := onward[line[-1]]) != line[0]:
        line.append(following)
    if len(line) < len(start):
        graph = coo_array((np.ones(len(start)), (start, end)), shape=(size, size))
        loops = connected_components(graph, directed=False)[0] - (size - len(start))
        raise SurfaceError("holes", int(loops) - 1)
    return np.array(line, dtype=np.int64)


def _check_path(vertices: Floats, triangles: Integers, along: Floats) -> None:
    """Refuse a path that runs nearly across the opening: more than 45 degrees from where the finish line looks."""
    looks = _vector_area(vertices, triangles)
    if float(looks @ along) ** 2 * 2 < float(looks @ looks):
        raise SurfaceError("path_across")


def _doubled_normals(vertices: Floats, triangles: Integers) -> Floats:
    corner = vertices[triangles]
    return np.asarray(np.cross(corner[:, 1] - corner[:, 0], corner[:, 2] - corner[:, 0]))


def _vector_area(vertices: Floats, triangles: Integers) -> Floats:
    return np.asarray(_doubled_normals(vertices, triangles).sum(axis=0) / 2)

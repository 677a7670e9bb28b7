"""What the readers of all formats share: triangles, limits, numbers out of text, polygons into triangles."""

from collections.abc import Sequence
from dataclasses import dataclass

import numpy as np
from numpy.typing import NDArray

from collum.readers.mesh_fault import MeshFault

MOST_FACETS = 1_000_000
MOST_VERTICES = 3 * MOST_FACETS
MOST_LINE = 10_000
MOST_CORNERS = 100
_MOST_DIGITS = 64

Integers = NDArray[np.int64]


@dataclass(frozen=True, slots=True)
class Triangles:
    """vertices (V, 3) and faces (F, 3); `cut`: polygons that were cut into triangles."""

    vertices: NDArray[np.float64]
    faces: Integers
    cut: int = 0


def check_count(facets: int) -> None:
    """Refuse more facets than are taken."""
    if facets > MOST_FACETS:
        raise MeshFault("too_many", count=facets, most=MOST_FACETS)


def numbers(words: Sequence[bytes], where: str) -> NDArray[np.float64]:
    """Return the numbers written by words. Raises MeshFault at `where`."""
    try:
        if max(map(len, words), default=0) > _MOST_DIGITS:
            raise ValueError
        return np.array([float(word) for word in words])
    except ValueError:
        raise MeshFault("no_number", where) from None


def fans(polygons: Sequence[Sequence[int]]) -> tuple[Integers, int]:
    """Return (F, 3) triangles about the first corner of each polygon, and how many polygons had more than three corners."""
    triangles: list[tuple[int, int, int]] = []
    cut = 0
    for number, polygon in enumerate(polygons, start=1):
        if not 3 <= len(polygon) <= MOST_CORNERS:
            raise MeshFault("corners", f"facet {number}", count=len(polygon), most=MOST_CORNERS)
        cut += len(polygon) > 3
        triangles += [(polygon[0], polygon[i], polygon[i + 1]) for i in range(1, len(polygon) - 1)]
        check_count(len(triangles))
    return np.array(triangles, dtype=np.int64).reshape(-1, 3), cut

"""The triangles of a made preparation: rows of wall, and a top that is cut by grooves.

The top is a fan from the axis wherever the axis sees the outline. Beside a groove with parallel side walls it does not: the
side wall hides the outline next to the rim. There the triangles run like a zip from the rim between outline and side wall.
"""

from collections.abc import Sequence
from dataclasses import dataclass

import numpy as np

from collum.core.ring import Floats
from collum.core.surface.preparation_surface import Integers


@dataclass(frozen=True, slots=True, kw_only=True)
class GrooveColumns:
    """Columns of the outline at which a groove begins at the rim, reaches and leaves its floor, and ends at the rim."""

    entry: int
    floor: int
    floor_end: int
    exit: int


def facets(levels: int, outline: Floats, grooves: Sequence[GrooveColumns]) -> Integers:
    """Return (F, 3) facets of `levels` rows over the (N, 2) outline of the top, the middle of the top as last vertex.

    Raises ValueError where two grooves stand so close that one hides the other.
    """
    around = len(outline)
    row, column = (index.reshape(-1) for index in np.meshgrid(np.arange(levels), np.arange(around), indexing="ij"))
    low, low_right = row * around + column, row * around + (column + 1) % around
    high, high_right = low + around, low_right + around
    wall = [np.column_stack([low, low_right, high_right]), np.column_stack([low, high_right, high])]
    return np.concatenate([*wall, levels * around + _top(outline, grooves)])


def _top(outline: Floats, grooves: Sequence[GrooveColumns]) -> Integers:
    around = len(outline)
    middle = around
    fanned = np.ones(around, dtype=bool)  # edges from column j to the next that the axis sees
    triangles: list[tuple[int, int, int]] = []
    for groove in grooves:
        before = _visible(outline, groove.entry, groove.floor, -1)
        after = _visible(outline, groove.exit, groove.floor_end, 1)
        hidden = [*_columns(before, groove.floor, around), *_columns(groove.floor_end, after, around)]
        if not fanned[hidden].all():
            raise ValueError("two grooves stand so close that one hides the other from the axis")
        fanned[hidden] = False
        triangles += [(before, groove.floor, middle), (groove.floor_end, after, middle)]
        rim, wall = _columns(before, groove.entry + 1, around)[::-1], _columns(groove.entry, groove.floor + 1, around)
        triangles += [(b, a, c) for a, b, c in _zip(rim, wall)]
        rim, wall = _columns(groove.exit, after + 1, around), _columns(groove.floor_end, groove.exit + 1, around)[::-1]
        triangles += _zip(rim, wall)
    seen = np.flatnonzero(fanned)
    fan = np.column_stack([seen, (seen + 1) % around, np.full(len(seen), middle)])
    return np.concatenate([fan, np.array(triangles, dtype=np.int64).reshape(-1, 3)])


def _visible(outline: Floats, rim: int, floor: int, step: int) -> int:
    """Return the first column from the rim outward, against or along the turn, that the groove's floor corner does not hide."""
    corner = outline[floor]
    column = rim
    for _ in range(len(outline)):
        column = (column + step) % len(outline)
        x, y = outline[column]
        if step * (corner[0] * y - corner[1] * x) > 0:
            return column
    raise ValueError("a groove hides the whole outline from the axis")


def _columns(first: int, stop: int, around: int) -> list[int]:
    """Return columns from `first` up to, not including, `stop`, round the outline."""
    return [(first + i) % around for i in range((stop - first) % around)]


def _zip(rim: list[int], wall: list[int]) -> list[tuple[int, int, int]]:
    """Return triangles between two chains that begin at the same column and run apart, rim first."""
    triangles = []
    a = b = 0
    while a + b < len(rim) + len(wall) - 2:
        along_rim = b == len(wall) - 1 or (a < len(rim) - 1 and (a + 1) * (len(wall) - 1) <= (b + 1) * (len(rim) - 1))
        if a == b == 0:
            triangles.append((rim[0], rim[1], wall[1]))
            a = b = 1
        elif along_rim:
            triangles.append((rim[a], rim[a + 1], wall[b]))
            a += 1
        else:
            triangles.append((rim[a], wall[b + 1], wall[b]))
            b += 1
    return triangles

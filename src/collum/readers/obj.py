"""OBJ: vertices and polygons, line by line. Normals, textures, names and materials are passed over."""

from io import BytesIO

import numpy as np

from collum.readers.mesh_fault import MeshFault
from collum.readers.triangles import MOST_FACETS, MOST_LINE, MOST_VERTICES, Triangles, fans, numbers

_PASSED_OVER = frozenset(
    (b"vn", b"vt", b"vp", b"o", b"g", b"s", b"l", b"p", b"mtllib", b"usemtl", b"bevel", b"c_interp", b"d_interp", b"lod")
)
_MOST_INDEX = 2**31


def read_obj(data: bytes) -> Triangles:
    """Return vertices and facets. Raises MeshFault."""
    vertices: list[bytes] = []
    polygons: list[list[int]] = []
    for number, line in enumerate(BytesIO(data), start=1):
        if len(line) > MOST_LINE:
            raise MeshFault("long_line", f"line {number}", most=MOST_LINE)
        words = line.split(b"#", 1)[0].split()
        if not words or words[0] in _PASSED_OVER:
            continue
        if words[0] == b"v" and len(words) >= 4:
            vertices += words[1:4]
        elif words[0] == b"f":
            polygons.append([_index(word, len(vertices) // 3, number) for word in words[1:]])
        else:
            raise MeshFault("obj_line", f"line {number}")
        if len(polygons) > MOST_FACETS or len(vertices) > 3 * MOST_VERTICES:
            raise MeshFault("too_many", count=max(len(polygons), len(vertices) // 3), most=MOST_FACETS)
    faces, cut = fans(polygons)
    return Triangles(numbers(vertices, "vertices").reshape(-1, 3), np.asarray(faces), cut)


def _index(word: bytes, known: int, line: int) -> int:
    """Return which vertex a corner is, counted from 0; negative ones count back from the last one known."""
    try:
        found = int(word.split(b"/", 1)[0][:12])
    except ValueError:
        raise MeshFault("no_number", f"line {line}") from None
    if found == 0 or abs(found) > _MOST_INDEX:
        raise MeshFault("obj_index", f"line {line}")
    return found - 1 if found > 0 else known + found

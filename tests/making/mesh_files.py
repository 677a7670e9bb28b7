"""Mesh files written from arrays by the descriptions of the formats, apart from the code that reads them."""

import struct
from collections.abc import Callable, Mapping

import numpy as np
from numpy.typing import NDArray

Vertices = NDArray[np.float64]
Faces = NDArray[np.int64]


def binary_stl(vertices: Vertices, faces: Faces, head: bytes = b"made") -> bytes:
    """Return 80 bytes of head, the count, and 50 bytes for each facet. The normals are left at 0."""
    rows = [struct.pack("<12fH", 0, 0, 0, *vertices[facet].reshape(-1), 0) for facet in faces]
    return head.ljust(80, b" ")[:80] + struct.pack("<I", len(faces)) + b"".join(rows)


def text_stl(vertices: Vertices, faces: Faces) -> bytes:
    rows = ["solid made with a name"]
    for facet in faces:
        rows += ["  facet normal 0 0 0", "    outer loop"]
        rows += ["      vertex {!r} {!r} {!r}".format(*map(float, vertices[corner])) for corner in facet]
        rows += ["    endloop", "  endfacet"]
    return ("\n".join([*rows, "endsolid made with a name"]) + "\n").encode()


def text_ply(vertices: Vertices, faces: Faces) -> bytes:
    head = _ply_head("ascii", len(vertices), len(faces), "double")
    rows = [" ".join(repr(float(number)) for number in vertex) for vertex in vertices]
    return head + ("\n".join([*rows, *(f"3 {a} {b} {c}" for a, b, c in faces)]) + "\n").encode()


def binary_ply(vertices: Vertices, faces: Faces, order: str = "<") -> bytes:
    name = "binary_little_endian" if order == "<" else "binary_big_endian"
    rows = [struct.pack(f"{order}3d", *vertex) for vertex in vertices]
    rows += [struct.pack(f"{order}B3i", 3, *map(int, facet)) for facet in faces]
    return _ply_head(name, len(vertices), len(faces), "double") + b"".join(rows)


def obj(vertices: Vertices, faces: Faces) -> bytes:
    rows = ["# made", "o preparation"]
    rows += ["v " + " ".join(repr(float(number)) for number in vertex) for vertex in vertices]
    rows += ["vn 0 0 1", "s off", *(f"f {a + 1}//1 {b + 1}//1 {c + 1}//1" for a, b, c in faces)]
    return ("\n".join(rows) + "\n").encode()


def _ply_head(order: str, vertices: int, faces: int, kind: str) -> bytes:
    rows = ["ply", f"format {order} 1.0", "comment made", f"element vertex {vertices}"]
    rows += [f"property {kind} {axis}" for axis in "xyz"]
    rows += [f"element face {faces}", "property list uchar int vertex_indices", "end_header", ""]
    return "\n".join(rows).encode()


FORMATS: Mapping[str, Callable[..., bytes]] = {
    "STL, binary": binary_stl,
    "STL, text": text_stl,
    "PLY, text": text_ply,
    "PLY, binary": binary_ply,
    "OBJ": obj,
}


def changed(data: bytes, old: bytes, new: bytes) -> bytes:
    """Return the bytes with the first `old` replaced; it has to be there."""
    assert old in data
    return data.replace(old, new, 1)


def tetrahedron() -> tuple[Vertices, Faces]:
    """Return the smallest closed body."""
    corners = np.array([[0, 0, 0], [5, 0, 0], [0, 5, 0], [0, 0, 5]], dtype=float)
    return corners, np.array([[0, 2, 1], [0, 1, 3], [1, 2, 3], [0, 3, 2]])

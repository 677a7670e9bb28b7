"""An open mesh file of any of the formats taken: STL, binary and text, PLY, binary and text, OBJ.

The format is told by content, never by name. Size comes before reading, and counts in a header are held against the bytes that
are there before anything is made from them. What is read is triangles as they stand: no vertex is joined, no facet left out.
"""

from dataclasses import dataclass
from typing import Literal

import numpy as np
from numpy.typing import NDArray

from collum.readers.mesh_fault import MeshFault
from collum.readers.obj import read_obj
from collum.readers.ply import read_ply
from collum.readers.stl import read_binary_stl, read_text_stl
from collum.readers.triangles import MOST_FACETS, Triangles

MeshFormat = Literal["STL, binary", "STL, text", "PLY, binary", "PLY, text", "OBJ"]

MOST_BYTES = 200_000_000
_STL_HEAD, _STL_FACET = 84, 50
_LOOKED_AT = 4_096
_OBJ_STARTS = (b"v", b"vn", b"vt", b"f", b"o", b"g", b"s", b"mtllib", b"usemtl")


@dataclass(frozen=True, slots=True, kw_only=True)
class TriangleMesh:
    """vertices (V, 3) in the unit of the file, all finite; faces (F, 3). `cut`: polygons that were cut into triangles."""

    format: MeshFormat
    vertices: NDArray[np.float64]
    faces: NDArray[np.int64]
    cut: int


def read_mesh(data: bytes) -> TriangleMesh:
    """Return the triangles of a file. Raises MeshFault."""
    if not data:
        raise MeshFault("empty")
    if len(data) > MOST_BYTES:
        raise MeshFault("too_large", bytes=len(data), most=MOST_BYTES)
    kind = _kind(data)
    if kind == "STL, binary":
        found = read_binary_stl(data)
    elif kind == "STL, text":
        found = read_text_stl(data)
    elif kind == "OBJ":
        found = read_obj(data)
    else:
        found = read_ply(data)
    _check(found)
    return TriangleMesh(format=kind, vertices=found.vertices, faces=found.faces, cut=found.cut)


def _kind(data: bytes) -> MeshFormat:
    """Return the format. A binary STL may begin with "solid" like a text one: its length tells."""
    head = data[:_LOOKED_AT]
    if head.startswith((b"ply\n", b"ply\r")):
        return "PLY, text" if b"format ascii" in head else "PLY, binary"
    declared = int.from_bytes(data[_STL_HEAD - 4 : _STL_HEAD], "little")
    if len(data) >= _STL_HEAD and _STL_HEAD + _STL_FACET * declared == len(data):
        return "STL, binary"
    if _is_text(head):
        words = head.split()
        if words and words[0].lower() == b"solid":
            return "STL, text"
        if any(line.split()[:1] and line.split()[0] in _OBJ_STARTS for line in head.splitlines()):
            return "OBJ"
    elif len(data) >= _STL_HEAD:
        return "STL, binary"
    raise MeshFault("no_mesh")


def _is_text(head: bytes) -> bool:
    return not any(byte < 9 or 13 < byte < 32 for byte in head)


def _check(found: Triangles) -> None:
    if not len(found.faces):
        raise MeshFault("no_facets")
    wrong = np.flatnonzero(~np.isfinite(found.vertices).all(axis=1))
    if len(wrong):
        raise MeshFault("not_finite", f"vertex {int(wrong[0]) + 1}", count=len(wrong))
    outside = np.flatnonzero(((found.faces < 0) | (found.faces >= len(found.vertices))).any(axis=1))
    if len(outside):
        raise MeshFault("no_such_vertex", f"facet {int(outside[0]) + 1}", vertices=len(found.vertices))


__all__ = ["MOST_BYTES", "MOST_FACETS", "MeshFormat", "TriangleMesh", "read_mesh"]

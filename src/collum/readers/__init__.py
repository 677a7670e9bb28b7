"""Files of others: bytes in, records out. Strict: a fault is raised once, with its place; nothing is guessed."""

from collum.readers.mesh_fault import MeshFault
from collum.readers.mesh_file import MOST_BYTES, MOST_FACETS, MeshFormat, TriangleMesh, read_mesh
from collum.readers.points import MOST_POINTS_BYTES, Point, read_points

__all__ = [
    "MOST_BYTES",
    "MOST_FACETS",
    "MOST_POINTS_BYTES",
    "MeshFault",
    "MeshFormat",
    "Point",
    "TriangleMesh",
    "read_mesh",
    "read_points",
]

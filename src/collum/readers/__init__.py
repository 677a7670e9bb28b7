"""Files of others: bytes in, records out. Strict: a fault is raised once, with its place; nothing is guessed."""

from collum.readers.media import ENDINGS, MediaLook, MediaType, UnknownMedia
from collum.readers.mesh_fault import MeshFault
from collum.readers.mesh_file import MOST_BYTES, MOST_FACETS, MeshFormat, TriangleMesh, read_mesh
from collum.readers.points import MOST_POINTS_BYTES, Point, read_points

__all__ = [
    "ENDINGS",
    "MOST_BYTES",
    "MOST_FACETS",
    "MOST_POINTS_BYTES",
    "MediaLook",
    "MediaType",
    "MeshFault",
    "MeshFormat",
    "Point",
    "TriangleMesh",
    "UnknownMedia",
    "read_mesh",
    "read_points",
]

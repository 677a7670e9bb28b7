"""Reading and judging the scan of a preparation of 200,000 facets, beside the same answer by plain loops."""

import struct

import numpy as np

from benchmarks.facets import DESIGN
from benchmarks.measuring import milliseconds, spread
from collum.core.preparation.facet_resistance import negative_share
from collum.core.preparation.made import preparation_mesh
from collum.core.ring import STATIONS_DEG
from collum.plan.preparation import Judged, Wanted, judge_preparation
from collum.readers import read_mesh

SAME_SHARE = 5e-4  # as in benchmarks/facets.py
WANTED = Wanted(path=(0.0, 0.0, 1.0), facial=(1.0, 0.0, 0.0), tooth=45)


def scan_of_a_preparation(repeats: int) -> dict[str, object]:
    """A binary STL of 200,000 facets: read, joined, checked and judged in 36 directions, path told and path to be found.

    The peer does the part that can be written down plainly: it unpacks the facets one by one, joins corners by a table, finds
    the open edge by counting edges, and asks every facet for every direction. It finds no path, puts nothing right and judges
    nothing else, so the ratio is on its side.
    """
    surface = preparation_mesh(DESIGN, around=1000, levels=99)
    data = _stl(surface.vertices_mm[surface.faces])
    found: dict[str, Judged | np.ndarray] = {}
    times: dict[str, list[float]] = {"program": [], "program_finds_the_path": [], "plain_loops": [], "reading_alone": []}

    def program() -> None:
        found["program"] = _judged(data, WANTED)

    def finds_the_path() -> None:
        found["path"] = _judged(data, Wanted(facial=WANTED.facial, tooth=45))

    def plain_loops() -> None:
        found["plain"] = _plain(data)

    tasks = {
        "program": program,
        "program_finds_the_path": finds_the_path,
        "plain_loops": plain_loops,
        "reading_alone": lambda: read_mesh(data),
    }
    for _ in range(repeats):
        for name, task in tasks.items():
            times[name].append(milliseconds(task))
    ours = found["program"].resistance.area_mm2  # type: ignore[union-attr]  # set by program()
    apart = float(np.max(np.abs(found["plain"] / ours - 1)))  # type: ignore[operator]  # an array
    spreads = {name: spread(taken) for name, taken in times.items()}
    same = apart <= SAME_SHARE
    ratio = round(spreads["plain_loops"]["median_ms"] / spreads["program"]["median_ms"], 1)
    return {
        **spreads,
        "largest_relative_difference": round(apart, 7),
        "same_answer": same,
        **({"plain_loops_take_times": ratio} if same else {}),
        "facets": len(surface.faces),
        "bytes": len(data),
    }


def _judged(data: bytes, wanted: Wanted) -> Judged:
    mesh = read_mesh(data)
    return judge_preparation(mesh.vertices, mesh.faces, wanted)


def _stl(corners: np.ndarray) -> bytes:
    record = np.zeros(len(corners), dtype=[("normal", "<f4", 3), ("corners", "<f4", (3, 3)), ("rest", "<u2")])
    record["corners"] = corners
    return b"made".ljust(80) + struct.pack("<I", len(corners)) + record.tobytes()


def _plain(data: bytes) -> np.ndarray:
    """Return the resisting area in 36 directions, path and facial known."""
    places: dict[tuple[float, ...], int] = {}
    faces = []
    edges: dict[tuple[int, int], int] = {}
    for begin in range(84, len(data), 50):
        values = struct.unpack_from("<9f", data, begin + 12)
        facet = [places.setdefault(values[i : i + 3], len(places)) for i in (0, 3, 6)]
        faces.append(facet)
        for i in range(3):
            edge = (min(facet[i], facet[i - 1]), max(facet[i], facet[i - 1]))
            edges[edge] = edges.get(edge, 0) + 1
    vertices = np.array(list(places))
    corners = vertices[np.array(faces)]
    line = vertices[sorted({corner for edge, count in edges.items() if count == 1 for corner in edge})]
    doubled = np.cross(corners[:, 1] - corners[:, 0], corners[:, 2] - corners[:, 0])
    length = np.linalg.norm(doubled, axis=1)
    areas = []
    for angle in np.deg2rad(STATIONS_DEG):
        onward = np.array([np.cos(angle), np.sin(angle), 0.0])
        reach = line @ onward
        equal = line[reach >= reach.max() - 1e-6]
        pivot = equal[np.argmax(equal[:, 2])]
        against = np.einsum("fcx,fx->fc", np.cross(np.cross([0, 0, 1], onward), corners - pivot), doubled / length[:, None])
        areas.append((length / 2) @ negative_share(*(against.T + 1e-5)))
    return np.array(areas)

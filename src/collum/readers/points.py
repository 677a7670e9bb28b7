"""A line of points in text: three numbers a row, parted by blanks, commas or semicolons; `#` begins a remark."""

from io import BytesIO

from collum.readers.mesh_fault import MeshFault
from collum.readers.triangles import MOST_LINE, numbers

MOST_POINTS_BYTES = 1_000_000
_MOST_POINTS = 10_000

Point = tuple[float, float, float]


def read_points(data: bytes) -> tuple[Point, ...]:
    """Return the points in order. Raises MeshFault."""
    if len(data) > MOST_POINTS_BYTES:
        raise MeshFault("too_large", bytes=len(data), most=MOST_POINTS_BYTES)
    points: list[Point] = []
    for number, line in enumerate(BytesIO(data), start=1):
        if len(line) > MOST_LINE:
            raise MeshFault("long_line", f"line {number}", most=MOST_LINE)
        words = line.split(b"#", 1)[0].replace(b",", b" ").replace(b";", b" ").split()
        if not words:
            continue
        if len(words) != 3 or len(points) == _MOST_POINTS:
            raise MeshFault("points", f"line {number}", most=_MOST_POINTS)
        x, y, z = numbers(words, f"line {number}").tolist()
        points.append((x, y, z))
    if not points:
        raise MeshFault("points", "file", most=_MOST_POINTS)
    return tuple(points)

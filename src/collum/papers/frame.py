"""Where millimetres of a tooth lie on a drawing, smooth paths through stations, and names kept apart."""

from collections.abc import Sequence
from dataclasses import dataclass

Point = tuple[float, float]

_LEFT, _RIGHT, _TOP, _BOTTOM = 70, 300, 50, 64
_BELOW_MM, _ABOVE_MM = 2, 0.5  # bone shown under the deepest crest, room over the highest line
_ROOMY = 17  # units a millimetre: less, and only every fourth millimetre has its number


@dataclass(frozen=True, slots=True, kw_only=True)
class Frame:
    """The field of a drawing."""

    width: int
    height: int
    arc_mm: float
    low_mm: float
    high_mm: float
    left: int = _LEFT
    right: int = _RIGHT
    top: int = _TOP

    @classmethod
    def around(cls, heights_mm: Sequence[float], *, arc_mm: float, width: int, height: int) -> "Frame":
        """Return the field that holds all heights."""
        low, high = min(heights_mm) - _BELOW_MM, max(heights_mm) + _ABOVE_MM
        return cls(width=width, height=height, arc_mm=arc_mm, low_mm=low, high_mm=high)

    @property
    def floor(self) -> int:
        """Lower edge of the field."""
        return self.height - _BOTTOM

    @property
    def roomy(self) -> bool:
        """Whether every second millimetre has room for its number."""
        return self.floor - self.top > _ROOMY * (self.high_mm - self.low_mm)

    def x(self, arc_mm: float) -> float:
        return self.left + arc_mm / self.arc_mm * (self.width - self.left - self.right)

    def y(self, height_mm: float) -> float:
        return self.top + (self.high_mm - height_mm) / (self.high_mm - self.low_mm) * (self.floor - self.top)


@dataclass(frozen=True, slots=True)
class Path:
    """A line once round the neck: its last point is its first, one turn on."""

    points: Sequence[Point]

    def __str__(self) -> str:
        x, y = self.points[0]
        return f"M{x:.1f} {y:.1f}{_curve(self._turned(), range(len(self.points) - 1))}"

    def joined(self, lower: "Path") -> str:
        """Return the closed area between this line and a lower one."""
        x, y = lower.points[-1]
        back = _curve(lower._turned()[::-1], range(len(lower.points) - 1))
        return f"{self}L{x:.1f} {y:.1f}{back}Z"

    def closed_at(self, floor: float) -> str:
        """Return the closed area between this line and a level."""
        return f"{self}L{self.points[-1][0]:.1f} {floor}L{self.points[0][0]:.1f} {floor}Z"

    def _turned(self) -> list[Point]:
        """Return the points with one more at both ends, taken from the other end."""
        turn = self.points[-1][0] - self.points[0][0]
        before, after = self.points[-2], self.points[1]
        return [(before[0] - turn, before[1]), *self.points, (after[0] + turn, after[1])]


def _curve(points: Sequence[Point], pieces: range) -> str:
    """Return cubic pieces from point to point (Catmull-Rom as Bezier); the first and last point only give the slope."""
    parts = []
    for i in pieces:
        (x0, y0), (x1, y1), (x2, y2), (x3, y3) = points[i : i + 4]
        leaving = f"{x1 + (x2 - x0) / 6:.1f} {y1 + (y2 - y0) / 6:.1f}"
        arriving = f"{x2 - (x3 - x1) / 6:.1f} {y2 - (y3 - y1) / 6:.1f}"
        parts.append(f"C{leaving} {arriving} {x2:.1f} {y2:.1f}")
    return "".join(parts)


def spread(wanted: Sequence[float], gap: float, low: float, high: float) -> list[float]:
    """Return places near `wanted`, in the same order, at least `gap` apart and within [low, high] as far as there is room."""
    ranked = sorted(range(len(wanted)), key=lambda i: wanted[i])
    places = [0.0] * len(wanted)
    last = low - gap
    for i in ranked:
        last = places[i] = max(wanted[i], last + gap)
    ceiling = max(high, low + gap * (len(wanted) - 1)) + gap
    for i in reversed(ranked):
        ceiling = places[i] = min(places[i], ceiling - gap)
    return places

"""The neck unrolled, as a drawing in SVG: facial in the middle as seen from outside, height up, one unit = 0.1 mm on paper.

Black on white only: bone hatched, tissue stippled, lines told apart by pattern and weight, each labelled where it ends.
"""

from collections.abc import Mapping, Sequence
from dataclasses import dataclass
from html import escape
from typing import Any

Plan = Mapping[str, Any]
Point = tuple[float, float]


@dataclass(frozen=True, slots=True, kw_only=True)
class Frame:
    """Where mm of the tooth lie on the drawing."""

    width: int
    height: int
    left: int
    right: int
    top: int
    bottom: int
    arc_mm: float
    low_mm: float
    high_mm: float

    def x(self, arc_mm: float) -> float:
        return self.left + arc_mm / self.arc_mm * (self.width - self.left - self.right)

    def y(self, height_mm: float) -> float:
        return self.top + (self.high_mm - height_mm) / (self.high_mm - self.low_mm) * (self.height - self.top - self.bottom)


_STYLE = {
    "planned_edge": 'stroke-width="2.5" stroke-dasharray="16 5 3 5"',
    "sound_edge": 'stroke-width="2.5" stroke-dasharray="3 4"',
    "gingival_margin": 'stroke-width="5"',
    "sulcus_base": 'stroke-width="2.5" stroke-dasharray="1 5" stroke-linecap="round"',
    "crest": 'stroke-width="4"',
    "cut_line": 'stroke-width="10"',
    "rest_line": 'stroke-width="3" stroke-dasharray="10 5"',
    "finish_line": "",
}


def strip_svg(tooth: Plan, labels: Mapping[str, str], *, width: int = 1380, height: int = 700) -> str:
    """Return the drawing of one tooth's plan. `labels` gives the words for each line and for mesial and distal."""
    lines = _lines(tooth)
    order, arcs = unrolled(tooth)
    frame = _frame(lines, float(tooth["perimeter_mm"]), width, height)
    body = [_ground(lines["crest"], order, arcs, frame), _tissue(lines, order, arcs, frame)]
    body += _grid(tooth, labels, frame)
    body += [_doubt(tooth, name, order, arcs, frame) for name in ("crest", "rest_line")]
    ends: list[tuple[str, float]] = []
    for name, heights in lines.items():
        points = [(frame.x(a), frame.y(heights[i])) for i, a in zip(order, arcs, strict=True)]
        body.append(_line(name, points))
        ends.append((name, points[-1][1]))
    body += _end_labels(ends, labels, frame)
    return (
        f'<svg xmlns="http://www.w3.org/2000/svg" viewBox="0 0 {width} {height}" font-family="Libertinus Serif" font-size="30">'
        f"<defs>{_PATTERNS}</defs>{''.join(b for b in body if b)}</svg>"
    )


def unrolled(tooth: Plan) -> tuple[list[int], list[float]]:
    """Return station order from left to right, oral to oral, and the place of each along the drawing. [mm]

    Seen from outside the mouth, mesial lies to the right on the patient's right side and to the left on the left side.
    """
    count = len(tooth["stations_deg"])
    half = count // 2
    facial_out = [*range(half, count), *range(half + 1)]  # oral, distal, facial, mesial, oral
    arc = tooth["arc_mm"]
    whole = float(tooth["perimeter_mm"])
    places = [arc[i] - whole / 2 if n < half else arc[i] + whole / 2 for n, i in enumerate(facial_out)]
    if tooth["number"] // 10 in (1, 4):
        return facial_out, places
    return facial_out[::-1], [whole - p for p in reversed(places)]


def _lines(tooth: Plan) -> dict[str, Sequence[float]]:
    levels = tooth["levels"]
    found: dict[str, Sequence[float]] = {
        name: levels[name]["mean"]
        for name in ("planned_edge", "sound_edge", "gingival_margin", "sulcus_base", "crest")
        if levels[name] is not None
    }
    route = tooth["routes"][0]
    if route["cut_line"] is not None:
        found["rest_line"] = route["rest_line"]["mean"]
        found["finish_line"] = route["finish_line"]
        found["cut_line"] = route["cut_line"]
    return found


def _frame(lines: Mapping[str, Sequence[float]], perimeter_mm: float, width: int, height: int) -> Frame:
    every = [h for heights in lines.values() for h in heights]
    return Frame(
        width=width,
        height=height,
        left=70,
        right=300,
        top=40,
        bottom=80,
        arc_mm=perimeter_mm,
        low_mm=min(every) - 2,
        high_mm=max(every) + 0.5,
    )


def _smooth(points: Sequence[Point]) -> str:
    """Return a path through the points (Catmull-Rom as Bezier pieces); for the eye only."""
    closed = [points[0], *points, points[-1]]
    parts = [f"M{points[0][0]:.1f} {points[0][1]:.1f}"]
    for i in range(1, len(closed) - 2):
        (x0, y0), (x1, y1), (x2, y2), (x3, y3) = closed[i - 1 : i + 3]
        parts.append(
            f"C{x1 + (x2 - x0) / 6:.1f} {y1 + (y2 - y0) / 6:.1f} {x2 - (x3 - x1) / 6:.1f} {y2 - (y3 - y1) / 6:.1f} {x2:.1f} {y2:.1f}"
        )
    return "".join(parts)


def _line(name: str, points: Sequence[Point]) -> str:
    path = _smooth(points)
    if name == "finish_line":
        double = f'<path d="{path}" fill="none" stroke="black" stroke-width="8"/>'
        return double + f'<path d="{path}" fill="none" stroke="white" stroke-width="4"/>'
    return f'<path d="{path}" fill="none" stroke="black" {_STYLE[name]}/>'


def _between(upper: Sequence[Point], lower: Sequence[Point], fill: str) -> str:
    return f'<path d="{_smooth(upper)}L{_smooth(lower[::-1])[1:]}Z" fill="{fill}" stroke="none"/>'


def _ground(crest: Sequence[float], order: Sequence[int], arcs: Sequence[float], frame: Frame) -> str:
    points = [(frame.x(a), frame.y(crest[i])) for i, a in zip(order, arcs, strict=True)]
    floor = frame.height - frame.bottom
    return f'<path d="{_smooth(points)}L{points[-1][0]:.1f} {floor}L{points[0][0]:.1f} {floor}Z" fill="url(#bone)"/>'


def _tissue(lines: Mapping[str, Sequence[float]], order: Sequence[int], arcs: Sequence[float], frame: Frame) -> str:
    upper = [(frame.x(a), frame.y(lines["gingival_margin"][i])) for i, a in zip(order, arcs, strict=True)]
    lower = [(frame.x(a), frame.y(lines["crest"][i])) for i, a in zip(order, arcs, strict=True)]
    return _between(upper, lower, "url(#tissue)")


def _doubt(tooth: Plan, name: str, order: Sequence[int], arcs: Sequence[float], frame: Frame) -> str:
    """Return the band from the 5th to the 95th percentile."""
    level = tooth["levels"]["crest"] if name == "crest" else tooth["routes"][0]["rest_line"]
    if level is None:
        return ""
    upper = [(frame.x(a), frame.y(level["p95"][i])) for i, a in zip(order, arcs, strict=True)]
    lower = [(frame.x(a), frame.y(level["p05"][i])) for i, a in zip(order, arcs, strict=True)]
    return _between(upper, lower, "url(#doubt)")


def _grid(tooth: Plan, labels: Mapping[str, str], frame: Frame) -> list[str]:
    order, arcs = unrolled(tooth)
    place = dict(zip(order, arcs, strict=True))
    floor = frame.height - frame.bottom
    drawn = []
    step = 360 / len(tooth["stations_deg"])
    for site, angle in zip(tooth["sites"], tooth["sites_deg"], strict=True):
        x = frame.x(place[int(round(angle / step)) % len(place)])
        drawn.append(f'<path d="M{x:.1f} {floor}v14" stroke="black" stroke-width="2"/>')
        drawn.append(f'<text x="{x:.1f}" y="{floor + 46}" text-anchor="middle" font-weight="bold">{escape(site)}</text>')
    for side, angle in (("mesial", 90), ("distal", 270)):
        x = frame.x(place[int(angle / step)])
        drawn.append(
            f'<text x="{x:.1f}" y="30" text-anchor="middle" letter-spacing="3" font-style="italic">{escape(labels[side])}</text>'
        )
    first = int(frame.low_mm) + 1
    for height in range(first, int(frame.high_mm) + 1):
        y = frame.y(height)
        drawn.append(f'<path d="M{frame.left - 12} {y:.1f}h12" stroke="black" stroke-width="1.5"/>')
        if height % 2 == 0:
            drawn.append(f'<text x="{frame.left - 18}" y="{y + 10:.1f}" text-anchor="end">{height}</text>')
    drawn.append(f'<path d="M{frame.left} {frame.top}V{floor}" stroke="black" stroke-width="1.5"/>')
    return drawn


def _end_labels(ends: Sequence[tuple[str, float]], labels: Mapping[str, str], frame: Frame) -> list[str]:
    """Return the names of the lines at their right end, moved apart so that none lies on another."""
    gap = 34
    placed = spread([y for _, y in ends], gap, frame.top + 10, frame.height - frame.bottom)
    x = frame.width - frame.right
    drawn = []
    for (name, y), at in zip(ends, placed, strict=True):
        weight = ' font-weight="bold"' if name in ("cut_line", "finish_line") else ""
        drawn.append(f'<path d="M{x + 4} {y:.1f}L{x + 26} {at:.1f}" stroke="black" stroke-width="1.5" fill="none"/>')
        drawn.append(f'<text x="{x + 32}" y="{at + 9:.1f}"{weight}>{escape(labels[name])}</text>')
    return drawn


def spread(wanted: Sequence[float], gap: float, low: float, high: float) -> list[float]:
    """Return places near `wanted`, in the same order, at least `gap` apart and within [low, high] as far as there is room."""
    ranked = sorted(range(len(wanted)), key=lambda i: wanted[i])
    places = [0.0] * len(wanted)
    last = low - gap
    for i in ranked:
        last = places[i] = max(wanted[i], last + gap)
    over = max(0, last - high)
    ceiling = last - over + gap
    for i in reversed(ranked):
        ceiling = places[i] = min(places[i], ceiling - gap)
    return places


_PATTERNS = (
    '<pattern id="bone" width="14" height="14" patternUnits="userSpaceOnUse" patternTransform="rotate(45)">'
    '<path d="M0 0V14" stroke="black" stroke-width="1.5"/></pattern>'
    '<pattern id="tissue" width="16" height="16" patternUnits="userSpaceOnUse">'
    '<circle cx="4" cy="4" r="1" fill="#666"/><circle cx="12" cy="12" r="1" fill="#666"/></pattern>'
    '<pattern id="doubt" width="6" height="6" patternUnits="userSpaceOnUse">'
    '<path d="M0 3H6" stroke="black" stroke-opacity="0.35" stroke-width="1"/></pattern>'
)

"""The neck unrolled, as a drawing in SVG: facial in the middle as seen from outside, height up, in tenths of a millimetre.

Black on white: bone hatched, tissue dotted, doubt grey, lines told apart by pattern and weight, each named where it ends.
Heights count from the deepest point of the crest. Between stations a periodic cubic is drawn, for the eye only.
"""

from collections.abc import Mapping, Sequence
from html import escape
from typing import Any

from collum.papers.frame import Frame, Path, spread
from collum.papers.head import site_name

Plan = Mapping[str, Any]
Line = Sequence[float]

_LEVELS = ("planned_edge", "sound_edge", "gingival_margin", "sulcus_base", "crest")
_STYLE = {
    "planned_edge": 'stroke-width="2.5" stroke-dasharray="16 5 3 5"',
    "sound_edge": 'stroke-width="2.5"',
    "gingival_margin": 'stroke-width="5"',
    "sulcus_base": 'stroke-width="3" stroke-dasharray="0.1 7" stroke-linecap="round"',
    "crest": 'stroke-width="4"',
    "crest_after": 'stroke-width="6" stroke-dasharray="24 10"',
    "margin_after": 'stroke-width="4" stroke-dasharray="12 8"',
    "cut_line": 'stroke-width="9"',
    "sutured_line": 'stroke-width="9"',
    "rest_line": 'stroke-width="2.5"',
}
_PATTERNS = (
    '<pattern id="bone" width="14" height="14" patternUnits="userSpaceOnUse" patternTransform="rotate(45)">'
    '<path d="M0 0V14" stroke="black" stroke-width="2.5"/></pattern>'
    '<pattern id="tissue" width="16" height="16" patternUnits="userSpaceOnUse">'
    '<circle cx="4" cy="4" r="1" fill="#555"/><circle cx="12" cy="12" r="1" fill="#555"/></pattern>'
    '<pattern id="taken" width="10" height="10" patternUnits="userSpaceOnUse" patternTransform="rotate(45)">'
    '<rect width="10" height="10" fill="white"/><path d="M0 0V10M0 0H10" stroke="black" stroke-width="3"/></pattern>'
)
_DOUBT = "#d4d4d4"
_EDGE_TICK, _SITE_TICK, _AXIS_TICK = 9, 14, 12
_SITE_GAP, _LABEL_GAP = 62, 34  # least distance between two names
_DECIMALS = 1  # what is less on paper is nothing
_BOLD = ("cut_line", "sutured_line", "finish_line", "crest_after")
_TICK_EVERY, _RING_EVERY = 2, 3  # stations


def strip_svg(tooth: Plan, route: Plan | None, labels: Mapping[str, str], *, width: int, height: int) -> str:
    """Return the drawing of one tooth with the lines of `route`, or with its levels alone. `labels` names lines and sides."""
    lines = _levels(tooth) | ({} if route is None else _planned(route))
    order, arcs = unrolled(tooth)
    zero = min(lines["crest"])
    frame = Frame.around(
        [h - zero for heights in lines.values() for h in heights],
        arc_mm=float(tooth["perimeter_mm"]),
        width=width,
        height=height,
    )

    def path(heights: Line) -> Path:
        return Path([(frame.x(arc), frame.y(heights[i] - zero)) for i, arc in zip(order, arcs, strict=True)])

    paths = {name: path(heights) for name, heights in lines.items()}
    body = [
        *(_area(path(band["p95_height_mm"]), path(band["p05_height_mm"]), _DOUBT) for band in _bands(tooth, route)),
        _area(paths["gingival_margin"], paths["crest"], "url(#tissue)"),
        f'<path d="{paths["crest"].closed_at(frame.floor)}" fill="url(#bone)"/>',
        *([_area(paths["crest"], paths["crest_after"], "url(#taken)")] if route and takes_bone(route) else []),
        *_axis(frame),
        *_sites(tooth, order, arcs, frame),
        *_sides(tooth, order, arcs, labels, frame),
        *(_drawn(name, path) for name, path in paths.items()),
        *_names(paths, labels, frame),
    ]
    return (
        f'<svg xmlns="http://www.w3.org/2000/svg" viewBox="0 0 {width} {height}" font-family="Libertinus Serif" font-size="30">'
        f"<defs>{_PATTERNS}</defs>{''.join(body)}</svg>"
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
    return facial_out[::-1], [whole - place for place in reversed(places)]


def takes_bone(route: Plan) -> bool:
    """Return whether the route takes bone: a plan of a version that built no such route knows none."""
    return round(max(route["bone_reduction_mm"] or [0]), _DECIMALS) > 0 and route.get("crest_after_height_mm") is not None


def _levels(tooth: Plan) -> dict[str, Line]:
    """Return the heights of the levels that were read, by name."""
    levels = tooth["levels"]
    return {name: levels[name]["mean_height_mm"] for name in _LEVELS if levels[name] is not None}


def _planned(route: Plan) -> dict[str, Line]:
    """Return the heights of the route's own lines, which lie on top. Where nothing is removed only the finish line is new."""
    found: dict[str, Line] = {}
    if route["extrusion_mm"]:
        moved = {name: route.get(f"{name}_height_mm") for name in ("crest_after", "margin_after")}
        found |= {name: heights for name, heights in moved.items() if heights is not None}
    elif takes_bone(route):
        found["crest_after"] = route["crest_after_height_mm"]
    if _removes(route):
        found["sutured_line" if takes_bone(route) else "cut_line"] = route["cut_line_height_mm"]
        found["rest_line"] = route["rest_line"].get("median_height_mm") or route["rest_line"]["mean_height_mm"]
    if route["finish_line_height_mm"] is not None:
        found["finish_line"] = route["finish_line_height_mm"]
    return found


def _removes(route: Plan) -> bool:
    """Return whether the route takes tissue off or lays it elsewhere."""
    return route["cut_line_height_mm"] is not None and (
        takes_bone(route) or round(max(route["removed_mm"] or [0]), _DECIMALS) > 0
    )


def _bands(tooth: Plan, route: Plan | None) -> list[Plan]:
    rest = route["rest_line"] if route is not None and _removes(route) else None
    return [band for band in (tooth["levels"]["crest"], rest) if band is not None]


def _area(upper: Path, lower: Path, fill: str) -> str:
    return f'<path d="{upper.joined(lower)}" fill="{fill}"/>'


def _drawn(name: str, path: Path) -> str:
    """Return one line in its own pattern."""
    if name == "finish_line":
        outer = f'<path d="{path}" fill="none" stroke="black" stroke-width="8"/>'
        return outer + f'<path d="{path}" fill="none" stroke="white" stroke-width="4"/>'
    line = f'<path d="{path}" fill="none" stroke="black" {_STYLE[name]}/>'
    if name == "sound_edge":
        ticks = "".join(f"M{x:.1f} {y:.1f}v{-_EDGE_TICK}" for x, y in path.points[::_TICK_EVERY])
        return line + f'<path d="{ticks}" stroke="black" stroke-width="2"/>'
    if name == "rest_line":
        rings = (f'<circle cx="{x:.1f}" cy="{y:.1f}" r="6"/>' for x, y in path.points[1::_RING_EVERY])
        return line + f'<g fill="white" stroke="black" stroke-width="2.5">{"".join(rings)}</g>'
    return line


def _axis(frame: Frame) -> list[str]:
    drawn = [f'<path d="M{frame.left} {frame.top}V{frame.floor}" stroke="black" stroke-width="1.5"/>']
    step = 2 if frame.roomy else 4
    for height in range(int(frame.high_mm) + 1):
        y = frame.y(height)
        drawn.append(f'<path d="M{frame.left - _AXIS_TICK} {y:.1f}h{_AXIS_TICK}" stroke="black" stroke-width="1.5"/>')
        if height % step == 0:
            drawn.append(f'<text x="{frame.left - 20}" y="{y + 10:.1f}" text-anchor="end">{height}</text>')
    return drawn


def _sites(tooth: Plan, order: Sequence[int], arcs: Line, frame: Frame) -> list[str]:
    """Return a tick and a name for each site of the case, the names moved apart where sites are close."""
    wanted = [frame.x(_place(angle, order, arcs)) for angle in tooth["sites_deg"]]
    named = spread(wanted, _SITE_GAP, frame.left, frame.width - frame.right)
    drawn = []
    for site, x, at in zip(tooth["sites"], wanted, named, strict=True):
        name = site_name(site, tooth)
        drawn.append(f'<path d="M{x:.1f} {frame.floor}v{_SITE_TICK}L{at:.1f} {frame.floor + 22}" stroke="black" fill="none"/>')
        drawn.append(f'<text x="{at:.1f}" y="{frame.floor + 50}" text-anchor="middle" font-weight="bold">{escape(name)}</text>')
    return drawn


def _sides(tooth: Plan, order: Sequence[int], arcs: Line, labels: Mapping[str, str], frame: Frame) -> list[str]:
    return [
        f'<text x="{frame.x(_place(angle, order, arcs)):.1f}" y="28" text-anchor="middle" letter-spacing="3" '
        f'font-style="italic">{escape(labels[side])}</text>'
        for side, angle in (("mesial", 90), ("distal", 270))
    ]


def _place(angle_deg: float, order: Sequence[int], arcs: Line) -> float:
    """Return where the station nearest to an angle lies along the drawing; the oral station on the left. [mm]"""
    count = len(order) - 1
    return arcs[order.index(round(angle_deg * count / 360) % count)]


def _names(paths: Mapping[str, Path], labels: Mapping[str, str], frame: Frame) -> list[str]:
    """Return the names of the lines at their right end, moved apart so that none lies on another."""
    ends = [path.points[-1][1] for path in paths.values()]
    x = frame.width - frame.right
    drawn = []
    for name, y, at in zip(paths, ends, spread(ends, _LABEL_GAP, frame.top, frame.floor), strict=True):
        weight = ' font-weight="bold"' if name in _BOLD else ""
        drawn.append(f'<path d="M{x + 4} {y:.1f}L{x + 26} {at:.1f}" stroke="black" stroke-width="1.5" fill="none"/>')
        drawn.append(f'<text x="{x + 32}" y="{at + 9:.1f}"{weight}>{escape(labels[name])}</text>')
    return drawn

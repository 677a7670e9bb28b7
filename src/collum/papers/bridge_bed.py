"""A pontic cut from cheek to palate or tongue, and the bridge from above, as drawings in SVG in tenths of a millimetre."""

from collections.abc import Callable, Mapping, Sequence
from html import escape

from collum.papers.facing import facing_of
from collum.papers.frame import spread
from collum.wire.bridge.document import BridgeDocument, PonticDocument, RoomDocument

WIDTH = 1760
_SCALE, _LEFT, _LINE = 30, 330, 34
_OVER_MM, _BONE_MM, _LEAST_DEEP_MM = 1, 2, 3
_LOWER = 3
_Height = Callable[[float], float]
_ACROSS = ("facial", "middle", "oral")
_MAP_X, _MAP_Y, _MAP_REACH, _POINT = 1440, 250, 150, 52
_ABOVE_WIDTH, _ABOVE_HEIGHT = 700, 460
_HALO = 'stroke="white" stroke-width="8" paint-order="stroke"'
_PATTERNS = (
    '<pattern id="bone" width="14" height="14" patternUnits="userSpaceOnUse" patternTransform="rotate(45)">'
    '<path d="M0 0V14" stroke="black" stroke-width="2"/></pattern>'
    '<pattern id="goes" width="12" height="12" patternUnits="userSpaceOnUse">'
    '<path d="M0 0L12 12M12 0L0 12" stroke="black" stroke-width="2"/></pattern>'
)


def bed_svg(pontic: PonticDocument, room: RoomDocument, labels: Mapping[str, str]) -> str:
    """Return section and map of one pontic; `labels` names the points, and the heights of the room in words."""
    tissue, depth = (_across(pontic, values) for values in (pontic.tissue_mm, pontic.depth_mm))
    deep = max([_LEAST_DEEP_MM, *(mm for mm in tissue if mm is not None)]) + _BONE_MM
    over = max(room.wanted_mm, room.room_mm or 0) + _OVER_MM
    upper = pontic.number // 10 < _LOWER

    def y(mm: float) -> float:
        return (deep + mm if upper else over - mm) * _SCALE + _LINE

    body = [
        *_section(pontic, tissue, depth, room, y, deep),
        *_heights(pontic, room, y, labels),
        *_map(pontic, labels),
    ]
    height = max((deep + over) * _SCALE + 2 * _LINE, _MAP_Y + _MAP_REACH + _POINT + 2 * _LINE)
    return _svg(WIDTH, height, body)


def above_svg(bridge: BridgeDocument) -> str:
    """Return the bridge from above, front at the top: units, the line between the abutments, how far each stands off it."""
    places = [unit.place_mm for unit in bridge.units]
    low, high = min(x for x, _ in places), max(x for x, _ in places)
    front, back = min(y for _, y in places), max(y for _, y in places)
    most = max(unit.width_mm for unit in bridge.units)
    scale = min(_SCALE, _ABOVE_WIDTH / (high - low + 2 * most), _ABOVE_HEIGHT / (back - front + 2 * most))
    drawn, named, line = [], [], []
    for unit, (along, behind) in zip(bridge.units, places, strict=True):
        x, y = WIDTH / 2 + (along - (low + high) / 2) * scale, (behind - front + most) * scale
        fill = "white" if unit.carries else "#e4e4e4"
        radius = unit.width_mm * scale * 2 / 5
        drawn.append(f'<circle cx="{x:.1f}" cy="{y:.1f}" r="{radius:.1f}" fill="{fill}" stroke="black" stroke-width="3.5"/>')
        named.append(f'<text x="{x:.1f}" y="{y:.1f}" text-anchor="middle" font-weight="bold" {_HALO}>{unit.number}</text>')
        if unit.lever_mm > 0:
            named.append(f'<text x="{x:.1f}" y="{y + _LINE:.1f}" text-anchor="middle" {_HALO}>{unit.lever_mm:.1f}</text>')
        if unit.carries:
            line.append(f"{x:.1f} {y:.1f}")
    axis = f'<path d="M{"L".join(line)}" fill="none" stroke="black" stroke-width="3" stroke-dasharray="14 10"/>'
    return _svg(WIDTH, (back - front + 2 * most) * scale, [*drawn, axis, *named])


def _across(pontic: PonticDocument, values: Sequence[float | None] | None) -> list[float | None]:
    return [None if values is None else values[pontic.points.index(name)] for name in _ACROSS]


def _section(
    pontic: PonticDocument,
    tissue: Sequence[float | None],
    depth: Sequence[float | None],
    room: RoomDocument,
    y: _Height,
    deep: float,
) -> list[str]:
    """Return the pontic on its ridge, and below it tissue, hollow and bone where all three points across were read."""
    quarter = pontic.across_mm * _SCALE / 4
    left, right = _LEFT, _LEFT + 4 * quarter
    at = [left + quarter, left + 2 * quarter, left + 3 * quarter]
    high, inset = room.room_mm or room.least_mm, quarter / 2
    body = (
        f"M{left + inset:.1f} {y(0):.1f}L{left:.1f} {y(high / 2):.1f}L{left + inset:.1f} {y(high):.1f}"
        f"L{right - inset:.1f} {y(high):.1f}L{right:.1f} {y(high / 2):.1f}L{right - inset:.1f} {y(0):.1f}Z"
    )
    drawn = [f'<path d="{body}" fill="#e4e4e4" stroke="black" stroke-width="3.5"/>']
    thick = [mm for mm in tissue if mm is not None]
    hollow = [mm for mm in depth if mm is not None]
    if len(thick) == len(at):
        bone = [(left, thick[0]), *zip(at, thick, strict=True), (right, thick[-1])]
        line = "L".join(f"{x:.1f} {y(-mm):.1f}" for x, mm in bone)
        drawn.append(f'<path d="M{line}L{right:.1f} {y(-deep):.1f}L{left} {y(-deep):.1f}Z" fill="url(#bone)"/>')
        drawn.append(f'<path d="M{line}" fill="none" stroke="black" stroke-width="4"/>')
        drawn += [
            f'<path d="M{x:.1f} {y(0):.1f}V{y(-mm):.1f}" stroke="black" stroke-width="1.5"/>'
            f'<text x="{x + 8:.1f}" y="{y(-mm / 2) + 10:.1f}" {_HALO}>{mm:.1f}</text>'
            for x, mm in zip(at, thick, strict=True)
        ]
        under = "L".join(f"{x:.1f} {y(-mm):.1f}" for x, mm in zip(at, hollow, strict=True))
        drawn.insert(1, f'<path d="M{at[0]:.1f} {y(0):.1f}L{under}L{at[-1]:.1f} {y(0):.1f}Z" fill="url(#goes)"/>')
    drawn.append(f'<path d="M{left - _LINE} {y(0):.1f}H{right + _LINE:.1f}" stroke="black" stroke-width="5"/>')
    return drawn


def _heights(pontic: PonticDocument, room: RoomDocument, y: _Height, labels: Mapping[str, str]) -> list[str]:
    """Return the heights asked for and there, with their words beside them, and the names of the sides."""
    right = _LEFT + pontic.across_mm * _SCALE
    shown = [("least", room.least_mm, 2, "6 6"), ("wanted", room.wanted_mm, 2, "18 8")]
    if room.room_mm is not None:
        shown.append(("there", room.room_mm, 7, "none"))
    places = spread([y(mm) for _, mm, _, _ in shown], _LINE, _LINE, y(room.wanted_mm + _OVER_MM) + y(0))
    drawn = []
    for (name, mm, weight, dashes), place in zip(shown, places, strict=True):
        drawn.append(
            f'<path d="M{_LEFT - _LINE} {y(mm):.1f}H{right + _LINE:.1f}" stroke="black" stroke-width="{weight}" '
            f'stroke-dasharray="{dashes}"/>'
            f'<text x="{right + 2 * _LINE:.1f}" y="{place + 10:.1f}">{escape(labels[name])}</text>'
        )
    for x, anchor, name in ((_LEFT - _LINE - 8, "end", "facial"), (right + _LINE + 8, "start", "oral")):
        side = escape(labels[name])
        drawn.append(f'<text x="{x:.1f}" y="{y(0) + 10:.1f}" text-anchor="{anchor}" font-style="italic">{side}</text>')
    return drawn


def _map(pontic: PonticDocument, labels: Mapping[str, str]) -> list[str]:
    """Return the five points, as they face who looks onto the ridge, with how deep each may go."""
    depths = pontic.depth_mm or [None] * len(pontic.points)
    deepest = max([pontic.wanted_mm, *(mm for mm in depths if mm is not None)])
    reach = max(abs(mm) for place in pontic.places_mm for mm in place)
    facing = facing_of(pontic.number)
    drawn = []
    for name, (mesial, facial), mm in zip(pontic.points, pontic.places_mm, depths, strict=True):
        x, y = _MAP_X + facing.mesial * mesial / reach * _MAP_REACH, _MAP_Y + facing.facial * facial / reach * _MAP_REACH
        dashes = ' stroke-dasharray="8 8"' if mm is None else ""
        drawn.append(f'<circle cx="{x:.1f}" cy="{y:.1f}" r="{_POINT}" fill="white" stroke="black" stroke-width="2"{dashes}/>')
        if mm is not None:
            drawn.append(f'<circle cx="{x:.1f}" cy="{y:.1f}" r="{_POINT * (mm / deepest) ** 0.5:.1f}" fill="url(#goes)"/>')
        shown = "–" if mm is None else f"{mm:.1f}"
        drawn.append(f'<text x="{x:.1f}" y="{y + 10:.1f}" text-anchor="middle" font-weight="bold" {_HALO}>{shown}</text>')
        drawn.append(
            f'<text x="{x:.1f}" y="{y + _POINT + 26:.1f}" text-anchor="middle" font-size="26">{escape(labels[name])}</text>'
        )
    return drawn


def _svg(width: float, height: float, body: Sequence[str]) -> str:
    return (
        f'<svg xmlns="http://www.w3.org/2000/svg" viewBox="0 0 {width} {height:.0f}" font-family="Libertinus Serif" '
        f'font-size="30"><defs>{_PATTERNS}</defs>{"".join(body)}</svg>'
    )

"""Resistance and ferrule round the tooth, looking onto it, as a drawing in SVG in tenths of a millimetre.

Left: how much of the opposite wall resists as the crown tips in each direction, against the half that is asked. Right: the
ferrule in eight sectors, told apart by hatching, the loaded ones under a heavy arc.
"""

from collections.abc import Mapping, Sequence
from html import escape
from math import cos, pi, radians, sin

from collum.papers.facing import Facing, facing_of
from collum.wire.restoration.document import RouteRestorationDocument

WIDTH, HEIGHT = 1760, 520
_CENTRES = ((440, 262), (1320, 262))
_WHOLE, _INNER, _ARC, _NAME = 190, 82, 203, 232
_STATES = ("none", "thin wall", "short", "not assessed", "enough, wall not measured", "enough")
_FILLS = {
    "none": "#444",
    "thin wall": "url(#thin)",
    "short": "url(#short)",
    "not assessed": "url(#unread)",
    "enough, wall not measured": "#e4e4e4",
    "enough": "white",
}
_PATTERNS = (
    '<pattern id="short" width="12" height="12" patternUnits="userSpaceOnUse" patternTransform="rotate(45)">'
    '<path d="M0 0V12" stroke="#555" stroke-width="3"/></pattern>'
    '<pattern id="thin" width="10" height="10" patternUnits="userSpaceOnUse">'
    '<path d="M0 0L10 10M10 0L0 10" stroke="#555" stroke-width="2"/></pattern>'
    '<pattern id="unread" width="14" height="14" patternUnits="userSpaceOnUse">'
    '<circle cx="7" cy="7" r="2" fill="#555"/></pattern>'
)

Point = tuple[float, float]


def rings_svg(number: int, route: RouteRestorationDocument, labels: Mapping[str, str]) -> str:
    """Return the drawing of a tooth by its ISO number; `labels` names sides, states and what is shown."""
    facing = facing_of(number)
    body = [*_resistance(route, labels, facing), *_ferrule(route, labels, facing)]
    return (
        f'<svg xmlns="http://www.w3.org/2000/svg" viewBox="0 0 {WIDTH} {HEIGHT}" font-family="Libertinus Serif" font-size="30">'
        f"<defs>{_PATTERNS}</defs>{''.join(body)}</svg>"
    )


def _resistance(route: RouteRestorationDocument, labels: Mapping[str, str], facing: Facing) -> list[str]:
    centre = _CENTRES[0]
    x, y = centre
    drawn = [
        f'<circle cx="{x}" cy="{y}" r="{_WHOLE}" fill="none" stroke="black" stroke-width="1.5"/>',
        *_sides(centre, labels, facing),
    ]
    stump = route.stump
    if stump is None:
        return [*drawn, _text(centre, labels["no_stump"], bold=False)]
    angles = [i * 360 / len(stump.resisting_share) for i in range(len(stump.resisting_share))]
    points = [_at(centre, angle, share * _WHOLE, facing) for angle, share in zip(angles, stump.resisting_share, strict=True)]
    weakest = _at(centre, stump.weakest_deg, stump.weakest_share * _WHOLE, facing)
    told = _at(centre, stump.weakest_deg, stump.weakest_share * _WHOLE / 2, facing)
    return [
        f'<path d="M{"L".join(f"{px:.1f} {py:.1f}" for px, py in points)}Z" fill="#ddd" stroke="black" stroke-width="5"/>',
        *drawn,
        f'<circle cx="{x}" cy="{y}" r="{stump.asked_share * _WHOLE:.1f}" fill="none" stroke="black" stroke-width="4" '
        'stroke-dasharray="16 9"/>',
        f'<circle cx="{weakest[0]:.1f}" cy="{weakest[1]:.1f}" r="12" fill="black"/>',
        _boxed(told, labels["weakest"]),
    ]


def _ferrule(route: RouteRestorationDocument, labels: Mapping[str, str], facing: Facing) -> list[str]:
    centre = _CENTRES[1]
    half = 180 / len(route.ferrule.sectors)
    drawn = []
    for sector in route.ferrule.sectors:
        ends = (sector.centre_deg - half, sector.centre_deg + half)
        drawn.append(
            f'<path d="{_wedge(centre, ends, facing)}" fill="{_FILLS[sector.state]}" stroke="black" stroke-width="2.5"/>'
        )
        if sector.loaded:
            drawn.append(f'<path d="{_arc(centre, ends, _ARC, facing)}" fill="none" stroke="black" stroke-width="11"/>')
        height = "–" if sector.height_mm is None else f"{max(sector.height_mm, 0):.1f}"
        drawn.append(_boxed(_at(centre, sector.centre_deg, (_INNER + _WHOLE) / 2, facing), height))
    shown = [state for state in _STATES if any(sector.state == state for sector in route.ferrule.sectors)]
    return [*drawn, *_sides(centre, labels, facing), *_key(shown, labels)]


def _key(states: Sequence[str], labels: Mapping[str, str]) -> list[str]:
    """Return the key of the hatchings shown, and of the heavy arc."""
    left = _CENTRES[1][0] - 620
    drawn = []
    for row, state in enumerate(states):
        y = 40 + 44 * row
        drawn.append(
            f'<rect x="{left}" y="{y}" width="44" height="28" fill="{_FILLS[state]}" stroke="black" stroke-width="2"/>'
        )
        drawn.append(f'<text x="{left + 56}" y="{y + 25}">{escape(labels[state])}</text>')
    y = 40 + 44 * len(states)
    drawn.append(f'<path d="M{left} {y + 14}h44" stroke="black" stroke-width="11"/>')
    drawn.append(f'<text x="{left + 56}" y="{y + 25}">{escape(labels["loaded"])}</text>')
    return drawn


def _sides(centre: Point, labels: Mapping[str, str], facing: Facing) -> list[str]:
    drawn = []
    for side, angle in (("facial", 0), ("mesial", 90), ("oral", 180), ("distal", 270)):
        x, y = _at(centre, angle, _NAME, facing)
        anchor = "middle" if angle % 180 == 0 else "start" if x > centre[0] else "end"
        drawn.append(
            f'<text x="{x:.1f}" y="{y + 9:.1f}" text-anchor="{anchor}" font-style="italic">{escape(labels[side])}</text>'
        )
    return drawn


def _wedge(centre: Point, ends_deg: tuple[float, float], facing: Facing) -> str:
    """Return a piece of the ring between two angles."""
    outer = _steps(centre, ends_deg, _WHOLE, facing)
    inner = _steps(centre, ends_deg, _INNER, facing)[::-1]
    return "M" + "L".join(f"{x:.1f} {y:.1f}" for x, y in (*outer, *inner)) + "Z"


def _arc(centre: Point, ends_deg: tuple[float, float], radius: float, facing: Facing) -> str:
    return "M" + "L".join(f"{x:.1f} {y:.1f}" for x, y in _steps(centre, ends_deg, radius, facing))


def _steps(centre: Point, ends_deg: tuple[float, float], radius: float, facing: Facing) -> list[Point]:
    count = 12
    low, high = ends_deg
    return [_at(centre, low + (high - low) * i / count, radius, facing) for i in range(count + 1)]


def _at(centre: Point, angle_deg: float, radius: float, facing: Facing) -> Point:
    angle = radians(angle_deg) % (2 * pi)
    return centre[0] + facing.mesial * radius * sin(angle), centre[1] + facing.facial * radius * cos(angle)


def _boxed(at: Point, words: str) -> str:
    """Return words on a white ground, so that hatching does not hide them."""
    x, y = at
    return f'<rect x="{x - 34:.1f}" y="{y - 22:.1f}" width="68" height="42" fill="white"/>' + _text((x, y), words, bold=True)


def _text(at: Point, words: str, *, bold: bool) -> str:
    weight = ' font-weight="bold"' if bold else ""
    return f'<text x="{at[0]:.1f}" y="{at[1] + 10:.1f}" text-anchor="middle"{weight}>{escape(words)}</text>'

"""Two sections of the restoration with their dimensions, as a drawing in SVG in tenths of a millimetre, three times life size.

Facial to oral on the left, mesial and distal as seen from outside on the right. Stump grey, sound tooth of the ferrule dark,
crown dashed, bone hatched. The root is drawn straight and single, whatever the tooth has: only its length is meant.
"""

from collections.abc import Callable, Mapping
from dataclasses import dataclass
from html import escape
from math import radians, tan

from collum.papers.facing import facing_of
from collum.papers.restoration_walls import NOT_READ, Walls
from collum.wire.restoration.document import RouteRestorationDocument

WIDTH, _HIGHEST = 1760, 620
_SCALE = 26
_TOP, _BOTTOM = 56, 6
_MIDDLE = (450, 1330)
_BONE_MM, _BULGE_MM, _DIMENSION_MM, _UNDER_MM, _WALL_MM = 4, 1, 2, 1, 1
_DARK, _OUTLINE = 'fill="#777"', 'fill="none" stroke="black" stroke-width="2" stroke-dasharray="6 5"'
_PATTERNS = (
    '<pattern id="bone" width="14" height="14" patternUnits="userSpaceOnUse" patternTransform="rotate(45)">'
    '<path d="M0 0V14" stroke="black" stroke-width="2"/></pattern>'
)


@dataclass(frozen=True, slots=True, kw_only=True)
class _Section:
    """One section: heights left and right (mm), half width at the neck, where it stands on the drawing.

    `tip`: width of the root at its tip, as a share of that at the finish line.
    """

    middle: int
    scale: float
    high_mm: float
    half_mm: float
    finish: tuple[float, float]
    top: tuple[float, float] | None
    edge: tuple[float, float] | None
    crest: tuple[float, float]
    ferrule: tuple[float | None, float | None]
    walls: tuple[float | None, float | None]
    apex_mm: float
    lean: float
    tip: float

    def at(self, x_mm: float, height_mm: float) -> str:
        return f"{self.x(x_mm):.1f} {self.y(height_mm):.1f}"

    def x(self, x_mm: float) -> float:
        return self.middle + x_mm * self.scale

    def y(self, height_mm: float) -> float:
        return _TOP + (self.high_mm - height_mm) * self.scale


def section_svg(
    number: int,
    route: RouteRestorationDocument,
    labels: Mapping[str, str],
    value: Callable[[str], float],
    walls: Walls = NOT_READ,
) -> str:
    """Return the drawing of a tooth by its ISO number; `labels` names sides and dimensions, `value` gives constants.

    No post is drawn in a tooth whose `walls` are whole.
    """
    tip = 1 - value("post.root_narrowing")
    stations = len(route.finish_line_height_mm)
    quarter = stations // 4
    left = walls.left_mm
    facial_oral = _section(
        route, (0, 2 * quarter), (left.get("facial"), left.get("oral")), route.facial_oral_mm, _MIDDLE[0], tip
    )
    ends = (("distal", 3 * quarter), ("mesial", quarter))
    (at_left, first), (at_right, second) = ends if facing_of(number).mesial > 0 else ends[::-1]
    mesiodistal = _section(
        route, (first, second), (left.get(at_left), left.get(at_right)), route.mesiodistal_mm, _MIDDLE[1], tip
    )
    body = [
        *_drawn(facial_oral, (labels["facial"], labels["oral"]), labels),
        *([] if walls.whole else _post(route, facial_oral, value("pin.diameter.large_mm"))),
        *_drawn(mesiodistal, (labels[at_left], labels[at_right]), labels),
    ]
    height = facial_oral.y(facial_oral.apex_mm - _UNDER_MM) + _BOTTOM
    return (
        f'<svg xmlns="http://www.w3.org/2000/svg" viewBox="0 0 {WIDTH} {height:.0f}" '
        f'font-family="Libertinus Serif" font-size="30">'
        f"<defs>{_PATTERNS}</defs>{''.join(body)}</svg>"
    )


def _section(
    route: RouteRestorationDocument,
    stations: tuple[int, int],
    walls: tuple[float | None, float | None],
    width_mm: float,
    middle: int,
    tip: float,
) -> _Section:
    left, right = stations
    finish = (route.finish_line_height_mm[left], route.finish_line_height_mm[right])
    top = None if route.stump is None else (route.stump.top_height_mm[left], route.stump.top_height_mm[right])
    edge = (
        None
        if route.planned_edge_height_mm is None
        else (route.planned_edge_height_mm[left], route.planned_edge_height_mm[right])
    )
    everywhere = route.planned_edge_height_mm or route.finish_line_height_mm
    apex = _apex_mm(route)
    high = max(everywhere)
    return _Section(
        middle=middle,
        scale=min(_SCALE, _HIGHEST / (high - apex)),
        high_mm=high,
        half_mm=width_mm / 2,
        finish=finish,
        top=top,
        edge=edge,
        crest=(route.crest_after_height_mm[left], route.crest_after_height_mm[right]),
        ferrule=(route.ferrule.height_mm[left], route.ferrule.height_mm[right]),
        walls=walls,
        apex_mm=apex,
        lean=tan(radians(route.convergence_deg / 2)),
        tip=tip,
    )


def _apex_mm(route: RouteRestorationDocument) -> float:
    """Return the height of the apex: the length of the root below the junction, on the mean finish line."""
    post = route.posts[0]
    assert post.root_mm is not None  # measured or the handbook's
    return sum(route.finish_line_height_mm) / len(route.finish_line_height_mm) + post.finish_below_cej_mm - post.root_mm


def _drawn(part: _Section, sides: tuple[str, str], labels: Mapping[str, str]) -> list[str]:
    drawn = [
        *_bone(part),
        f'<path d="{_root(part)}" fill="white" stroke="black" stroke-width="3"/>',
        *_crown(part),
        *_stump(part),
        *_dimensions(part, labels),
    ]
    for side, sign, anchor in ((sides[0], -1, "end"), (sides[1], 1, "start")):
        x = part.x(sign * (part.half_mm + _BULGE_MM))
        drawn.append(
            f'<text x="{x:.1f}" y="30" text-anchor="{anchor}" font-style="italic" letter-spacing="2">{escape(side)}</text>'
        )
    return drawn


def _bone(part: _Section) -> list[str]:
    floor = part.apex_mm - _UNDER_MM
    drawn = []
    for sign, crest in zip((-1, 1), part.crest, strict=True):
        outside, inside = sign * (part.half_mm + _BONE_MM), sign * part.half_mm * part.tip
        points = [part.at(outside, crest), part.at(sign * _root_half_mm(part, crest), crest)]
        points += [part.at(inside, part.apex_mm), part.at(inside, floor), part.at(outside, floor)]
        drawn.append(f'<path d="M{"L".join(points)}Z" fill="url(#bone)"/>')
        drawn.append(f'<path d="M{points[0]}L{points[1]}" stroke="black" stroke-width="4"/>')
    return drawn


def _root(part: _Section) -> str:
    tip = part.half_mm * part.tip
    left, right = part.finish
    return (
        f"M{part.at(-part.half_mm, left)}L{part.at(-tip, part.apex_mm + tip)}Q{part.at(-tip, part.apex_mm)} "
        f"{part.at(0, part.apex_mm)}Q{part.at(tip, part.apex_mm)} {part.at(tip, part.apex_mm + tip)}"
        f"L{part.at(part.half_mm, right)}Z"
    )


def _crown(part: _Section) -> list[str]:
    if part.edge is None:
        return []
    half, out = part.half_mm, part.half_mm + 2 * _BULGE_MM
    (left, right), (up_left, up_right) = part.finish, part.edge
    path = (
        f"M{part.at(-half, left)}Q{part.at(-out, (left + up_left) / 2)} {part.at(-half, up_left)}"
        f"L{part.at(half, up_right)}Q{part.at(out, (right + up_right) / 2)} {part.at(half, right)}"
    )
    return [f'<path d="{path}" fill="none" stroke="black" stroke-width="2.5" stroke-dasharray="14 8"/>']


def _stump(part: _Section) -> list[str]:
    if part.top is None:
        return []
    half = [part.half_mm - (top - finish) * part.lean for top, finish in zip(part.top, part.finish, strict=True)]
    corners = [(-part.half_mm, part.finish[0]), (-half[0], part.top[0]), (half[1], part.top[1]), (part.half_mm, part.finish[1])]
    points = "L".join(part.at(x, height) for x, height in corners)
    return [
        f'<path d="M{points}Z" fill="#ddd"/>',
        *_ferrule(part),
        f'<path d="M{points}Z" fill="none" stroke="black" stroke-width="5"/>',
    ]


def _ferrule(part: _Section) -> list[str]:
    """Return the sound tooth between finish line and sound edge on both sides; nothing where it is not known.

    It is dark and as thick as the wall that was read, an outline where the wall was not read.
    """
    drawn = []
    for sign, finish, height, wall in zip((-1, 1), part.finish, part.ferrule, part.walls, strict=True):
        if height is not None and height > 0:
            outer, inner = part.half_mm, max(part.half_mm - (_WALL_MM if wall is None else wall), 0)
            corners = [
                (outer, finish),
                (outer - height * part.lean, finish + height),
                (inner, finish + height),
                (inner, finish),
            ]
            points = "L".join(part.at(sign * x, mm) for x, mm in corners)
            drawn.append(f'<path d="M{points}Z" {_OUTLINE if wall is None else _DARK}/>')
    return drawn


def _dimensions(part: _Section, labels: Mapping[str, str]) -> list[str]:
    """Return heights of wall and crown at both sides, the width at the neck and the convergence."""
    drawn = []
    for sign, i, anchor in ((-1, 0, "end"), (1, 1, "start")):
        if part.top is not None:
            drawn += _upright(part, sign, 1, (part.finish[i], part.top[i]), anchor, bold=True)
        drawn += _upright(part, sign, 2, (part.crest[i], part.finish[i]), anchor, bold=False)
    below = min(part.finish) - _UNDER_MM
    half = part.half_mm
    drawn.append(f'<path d="M{part.at(-half, below)}L{part.at(half, below)}" stroke="black" stroke-width="1.5"/>')
    width = f"{2 * half:.1f}"
    drawn.append(f'<text x="{part.x(half / 2):.1f}" y="{part.y(below) + 30:.1f}" text-anchor="middle">{width}</text>')
    if part.top is not None:
        y = part.y((sum(part.top) + sum(part.finish)) / 4) + 10
        drawn.append(f'<text x="{part.x(0):.1f}" y="{y:.1f}" text-anchor="middle">{escape(labels["convergence"])}</text>')
    return drawn


def _upright(part: _Section, sign: int, place: int, between: tuple[float, float], anchor: str, *, bold: bool) -> list[str]:
    """Return an upright dimension beside the tooth, with its length."""
    x_mm = sign * (part.half_mm + _DIMENSION_MM + place)
    low, high = between
    weight = ' font-weight="bold"' if bold else ""
    x, tick = part.x(x_mm), 8
    ends = "".join(f"M{x - tick:.1f} {part.y(mm):.1f}h{2 * tick}" for mm in between)
    middle = part.y((low + high) / 2) + 10
    length = f"{high - low:.1f}".replace("-", "\N{MINUS SIGN}")
    return [
        f'<path d="M{x:.1f} {part.y(low):.1f}V{part.y(high):.1f}{ends}" stroke="black" stroke-width="1.5"/>',
        f'<text x="{x + sign * 14:.1f}" y="{middle:.1f}" text-anchor="{anchor}"{weight}>{length}</text>',
    ]


def _post(route: RouteRestorationDocument, part: _Section, usual_mm: float) -> list[str]:
    """Return the shortest post allowed, and the rest of its window dashed; nothing where there is no window.

    `usual_mm`: the diameter drawn where none is known.
    """
    post = route.posts[0]
    if post.status == "no post" or post.clash is not None or post.low_mm is None or post.high_mm is None:
        return []
    start = sum(part.finish) / 2
    half = (post.diameter.most_mm if post.diameter is not None else usual_mm) / 2
    shortest = f"M{part.at(-half, start)}L{part.at(-half, start - post.low_mm)}L{part.at(half, start - post.low_mm)}"
    longest = f"M{part.at(-half, start - post.low_mm)}L{part.at(-half, start - post.high_mm)}"
    longest += f"L{part.at(half, start - post.high_mm)}L{part.at(half, start - post.low_mm)}"
    return [
        f'<path d="{shortest}L{part.at(half, start)}Z" fill="#777" stroke="black" stroke-width="2"/>',
        f'<path d="{longest}" fill="none" stroke="black" stroke-width="2" stroke-dasharray="6 5"/>',
    ]


def _root_half_mm(part: _Section, height_mm: float) -> float:
    """Return the half width of the drawn root at a height: straight from the finish line to the tip."""
    whole = sum(part.finish) / 2 - part.apex_mm
    share = min(max((sum(part.finish) / 2 - height_mm) / whole, 0), 1)
    return part.half_mm * (1 - (1 - part.tip) * share)

"""The places of a round, looking onto the tooth, as a drawing in SVG in tenths of a millimetre.

As on the screen of the round. Each place has its number and an arrow the way it is stroked; what is kept out for current is
crossed, what is left out of the round is dashed.
"""

from collections.abc import Mapping
from html import escape
from math import cos, radians, sin
from typing import Any

from collum.papers.facing import Facing, facing_of

Plan = Mapping[str, Any]
Point = tuple[float, float]

WIDTH, HEIGHT = 660, 560
_INNER, _OUTER, _STROKE, _SIDE = 118, 184, 200, 240
_GAP_DEG, _ARROW_DEG, _TURN_DEG = 3, 9, 360
_NUMBER_SIZE, _SIDE_SIZE = 62, 34
_PATTERN = (
    '<pattern id="kept" width="14" height="14" patternUnits="userSpaceOnUse">'
    '<path d="M0 0L14 14M14 0L0 14" stroke="black" stroke-width="3"/></pattern>'
)


def ring_svg(heat: Plan, sides: Mapping[str, str]) -> str:
    """Return the drawing of the round of a tooth; `sides` names F, L, M and D."""
    facing = facing_of(heat["number"])
    body = [
        f'<circle r="{_INNER - 10}" fill="none" stroke="black" stroke-width="3"/>',
        *(_piece(kept["from_deg"], kept["to_deg"], facing, 'fill="url(#kept)"') for kept in heat["kept_out"]),
        *(_place(sector, facing) for sector in heat["sectors"]),
        *(_side(name, sides[name], at_deg, facing) for name, at_deg in (("F", 0), ("M", 90), ("L", 180), ("D", 270))),
    ]
    return (
        f'<svg xmlns="http://www.w3.org/2000/svg" viewBox="{-WIDTH / 2:g} {-HEIGHT / 2:g} {WIDTH} {HEIGHT}" '
        f'font-family="Libertinus Serif">'
        f"<defs>{_PATTERN}</defs>{''.join(body)}</svg>"
    )


def _place(sector: Plan, facing: Facing) -> str:
    left_out = sector["passes"] == 0
    style = 'fill="white" stroke-dasharray="12 9"' if left_out else 'fill="white"'
    x, y = _at(sector["centre_deg"], (_INNER + _OUTER) / 2, facing)
    number = (
        f'<text x="{x:.1f}" y="{y + _NUMBER_SIZE / 3:.1f}" text-anchor="middle" font-size="{_NUMBER_SIZE}" '
        f'font-weight="bold">{sector["number"] + 1}</text>'
    )
    piece = _piece(sector["from_deg"], sector["to_deg"], facing, style)
    return piece + number + ("" if left_out else _arrow(sector["from_deg"], sector["to_deg"], facing))


def _piece(from_deg: float, to_deg: float, facing: Facing, style: str) -> str:
    way = _way(from_deg, to_deg)
    gap = _GAP_DEG if way > 0 else -_GAP_DEG
    begin, end = from_deg + gap, from_deg + way - gap
    corners = [_at(begin, _OUTER, facing), _at(end, _OUTER, facing), _at(end, _INNER, facing), _at(begin, _INNER, facing)]
    a, b, c, d = (f"{x:.1f} {y:.1f}" for x, y in corners)
    large = int(abs(end - begin) > _TURN_DEG / 2)
    on, back = _onward(way, facing), 1 - _onward(way, facing)
    outer, inner = f"A{_OUTER} {_OUTER} 0 {large} {on} {b}", f"A{_INNER} {_INNER} 0 {large} {back} {d}"
    return f'<path d="M{a}{outer}L{c}{inner}Z" stroke="black" stroke-width="4" {style}/>'


def _arrow(from_deg: float, to_deg: float, facing: Facing) -> str:
    way = _way(from_deg, to_deg)
    inset = _ARROW_DEG if way > 0 else -_ARROW_DEG
    end_deg = from_deg + way - inset
    begin, end = _at(from_deg + inset, _STROKE, facing), _at(end_deg, _STROKE, facing)
    heads = [_at(end_deg - inset / 2, _STROKE + off, facing) for off in (-_ARROW_DEG, _ARROW_DEG)]
    a, b, left, right = (f"{x:.1f} {y:.1f}" for x, y in (begin, end, *heads))
    path = f"M{a}A{_STROKE} {_STROKE} 0 0 {_onward(way, facing)} {b}M{left}L{b}L{right}"
    return f'<path d="{path}" fill="none" stroke="black" stroke-width="5"/>'


def _side(name: str, word: str, at_deg: float, facing: Facing) -> str:
    x, y = _at(at_deg, _SIDE, facing)
    anchor = "middle" if name in "FL" else "start" if x > 0 else "end"
    x = x if name in "FL" else x / abs(x) * (_STROKE + _ARROW_DEG * 2)
    return (
        f'<text x="{x:.1f}" y="{y + _SIDE_SIZE / 3:.1f}" text-anchor="{anchor}" font-size="{_SIDE_SIZE}">{escape(word)}</text>'
    )


def _way(from_deg: float, to_deg: float) -> float:
    """Return the shorter way from one angle to another; a whole turn where they are the same. [deg]"""
    way = (to_deg - from_deg + _TURN_DEG / 2) % _TURN_DEG - _TURN_DEG / 2
    return way or _TURN_DEG


def _onward(way_deg: float, facing: Facing) -> int:
    """Return which way an arc runs: with mesial right and facial below angles grow against the clock."""
    return 0 if (way_deg > 0) == (facing.mesial * facing.facial > 0) else 1


def _at(angle_deg: float, radius: float, facing: Facing) -> Point:
    return facing.mesial * radius * sin(radians(angle_deg)), facing.facial * radius * cos(radians(angle_deg))

"""The places of a round, looking onto the tooth, as a drawing in SVG in tenths of a millimetre.

As on the screen of the round: facial below, mesial left or right as it lies in the mouth seen from outside. Each place has its
number and an arrow the way it is stroked; what is kept out for current is crossed, what is left out of the round is dashed.
"""

from collections.abc import Mapping
from html import escape
from math import cos, radians, sin
from typing import Any

Plan = Mapping[str, Any]
Point = tuple[float, float]

WIDTH, HEIGHT = 660, 560
_INNER, _OUTER, _STROKE, _SIDE = 118, 184, 200, 240
_GAP_DEG, _ARROW_DEG, _TURN_DEG = 3, 9, 360
_NUMBER_SIZE, _SIDE_SIZE = 62, 34
_MESIAL_ON_THE_RIGHT = (1, 4)  # quadrants
_PATTERN = (
    '<pattern id="kept" width="14" height="14" patternUnits="userSpaceOnUse">'
    '<path d="M0 0L14 14M14 0L0 14" stroke="black" stroke-width="3"/></pattern>'
)


def ring_svg(heat: Plan, sides: Mapping[str, str]) -> str:
    """Return the drawing of the round of a tooth; `sides` names F, L, M and D."""
    turn = 1 if heat["number"] // 10 in _MESIAL_ON_THE_RIGHT else -1
    body = [
        f'<circle r="{_INNER - 10}" fill="none" stroke="black" stroke-width="3"/>',
        *(_piece(kept["from_deg"], kept["to_deg"], turn, 'fill="url(#kept)"') for kept in heat["kept_out"]),
        *(_place(sector, turn) for sector in heat["sectors"]),
        *(_side(name, sides[name], at_deg, turn) for name, at_deg in (("F", 0), ("M", 90), ("L", 180), ("D", 270))),
    ]
    return (
        f'<svg xmlns="http://www.w3.org/2000/svg" viewBox="{-WIDTH / 2:g} {-HEIGHT / 2:g} {WIDTH} {HEIGHT}" '
        f'font-family="Libertinus Serif">'
        f"<defs>{_PATTERN}</defs>{''.join(body)}</svg>"
    )


def _place(sector: Plan, turn: int) -> str:
    left_out = sector["passes"] == 0
    style = 'fill="white" stroke-dasharray="12 9"' if left_out else 'fill="white"'
    x, y = _at(sector["centre_deg"], (_INNER + _OUTER) / 2, turn)
    number = (
        f'<text x="{x:.1f}" y="{y + _NUMBER_SIZE / 3:.1f}" text-anchor="middle" font-size="{_NUMBER_SIZE}" '
        f'font-weight="bold">{sector["number"] + 1}</text>'
    )
    piece = _piece(sector["from_deg"], sector["to_deg"], turn, style)
    return piece + number + ("" if left_out else _arrow(sector["from_deg"], sector["to_deg"], turn))


def _piece(from_deg: float, to_deg: float, turn: int, style: str) -> str:
    way = _way(from_deg, to_deg)
    gap = _GAP_DEG if way > 0 else -_GAP_DEG
    begin, end = from_deg + gap, from_deg + way - gap
    corners = [_at(begin, _OUTER, turn), _at(end, _OUTER, turn), _at(end, _INNER, turn), _at(begin, _INNER, turn)]
    a, b, c, d = (f"{x:.1f} {y:.1f}" for x, y in corners)
    large = int(abs(end - begin) > _TURN_DEG / 2)
    on, back = _onward(way, turn), 1 - _onward(way, turn)
    outer, inner = f"A{_OUTER} {_OUTER} 0 {large} {on} {b}", f"A{_INNER} {_INNER} 0 {large} {back} {d}"
    return f'<path d="M{a}{outer}L{c}{inner}Z" stroke="black" stroke-width="4" {style}/>'


def _arrow(from_deg: float, to_deg: float, turn: int) -> str:
    way = _way(from_deg, to_deg)
    inset = _ARROW_DEG if way > 0 else -_ARROW_DEG
    end_deg = from_deg + way - inset
    begin, end = _at(from_deg + inset, _STROKE, turn), _at(end_deg, _STROKE, turn)
    heads = [_at(end_deg - inset / 2, _STROKE + off, turn) for off in (-_ARROW_DEG, _ARROW_DEG)]
    a, b, left, right = (f"{x:.1f} {y:.1f}" for x, y in (begin, end, *heads))
    path = f"M{a}A{_STROKE} {_STROKE} 0 0 {_onward(way, turn)} {b}M{left}L{b}L{right}"
    return f'<path d="{path}" fill="none" stroke="black" stroke-width="5"/>'


def _side(name: str, word: str, at_deg: float, turn: int) -> str:
    x, y = _at(at_deg, _SIDE, turn)
    anchor = "middle" if name in "FL" else "start" if x > 0 else "end"
    x = x if name in "FL" else x / abs(x) * (_STROKE + _ARROW_DEG * 2)
    return (
        f'<text x="{x:.1f}" y="{y + _SIDE_SIZE / 3:.1f}" text-anchor="{anchor}" font-size="{_SIDE_SIZE}">{escape(word)}</text>'
    )


def _way(from_deg: float, to_deg: float) -> float:
    """Return the shorter way from one angle to another; a whole turn where they are the same. [deg]"""
    way = (to_deg - from_deg + _TURN_DEG / 2) % _TURN_DEG - _TURN_DEG / 2
    return way or _TURN_DEG


def _onward(way_deg: float, turn: int) -> int:
    """Return which way an arc runs: y grows downwards, so that growing angles run against the clock on the right side."""
    return 0 if (way_deg > 0) == (turn > 0) else 1


def _at(angle_deg: float, radius: float, turn: int) -> Point:
    return turn * radius * sin(radians(angle_deg)), radius * cos(radians(angle_deg))

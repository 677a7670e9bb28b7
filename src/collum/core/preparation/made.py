"""A preparation made from its dimensions: oval or box-shaped, tapered, with an uneven margin, grooves and boxes.

Every level of it is one outline. The oval has half axes that shrink by height times the taper of the wall it faces, the box has
flat walls. The finish line may be tilted as a whole and may rise between the teeth; the top is flat. Axes: x facial, y mesial,
z along the path, coronal; z = 0 is the plane of an even finish line.

A groove (a wide one is a box) runs from the finish line to the top. Its floor is flat and leans inward by its own taper, its
two side walls are parallel to the path. Not made: rounded line angles, ledges within the wall, a bevelled top.
"""

from dataclasses import dataclass, field
from typing import Literal

import numpy as np

from collum.core.preparation.made_facets import GrooveColumns, facets
from collum.core.ring import Floats
from collum.core.surface.preparation_surface import PreparationSurface, preparation_surface

_SETTLING = 60  # most rounds in which height and outline of an uneven margin find each other


@dataclass(frozen=True, slots=True, kw_only=True)
class Groove:
    """A groove or box at an angle round the tooth (0 facial, 90 mesial): its depth at the finish line, width and taper."""

    at_deg: float
    depth_mm: float
    width_mm: float
    taper_deg: float = 0.0


@dataclass(frozen=True, slots=True, kw_only=True)
class PreparationDesign:
    """A preparation in numbers: widths at the finish line, height of the top above it, convergence of two opposing walls.

    `tilt_deg` raises the finish line towards `tilt_towards_deg`; `proximal_rise_mm` raises it by sin2 of the angle, most
    between the teeth.
    """

    facial_oral_mm: float
    mesiodistal_mm: float
    height_mm: float
    convergence_facial_oral_deg: float
    convergence_mesiodistal_deg: float
    outline: Literal["oval", "box"] = "oval"
    tilt_deg: float = 0.0
    tilt_towards_deg: float = 0.0
    proximal_rise_mm: float = 0.0
    grooves: tuple[Groove, ...] = field(default=())


def preparation_mesh(design: PreparationDesign, *, around: int, levels: int) -> PreparationSurface:
    """Return the surface with about `around` points in each outline and `levels` rows of facets in the wall.

    Raises ValueError where the walls meet below the top, a groove leaves the wall below the top or overlaps another, or the
    finish line reaches the top.
    """
    _check(design)
    legs = _legs(design, around)
    margin = _margin_heights(design, legs)
    if margin.max() >= design.height_mm:
        raise ValueError(f"the finish line rises to {margin.max():.2f} mm, the top of the preparation is {design.height_mm} mm")
    rows = np.linspace(0, 1, levels + 1)[:, None]
    heights = margin + rows * (design.height_mm - margin)
    rings = [np.column_stack([_outline(design, legs, height), height]) for height in heights]
    vertices = np.concatenate([*rings, [[0, 0, design.height_mm]]])
    return preparation_surface(vertices, facets(levels, rings[-1][:, :2], _groove_columns(legs)), (0, 0, 1))


@dataclass(frozen=True, slots=True)
class _Leg:
    """A piece of the outline, `shares` (m,) along it: outer wall between two break points, or a side or floor of a groove."""

    kind: Literal["outer", "entry", "floor", "exit"]
    shares: Floats
    groove: Groove | None = None
    ends: tuple[tuple[str, int], tuple[str, int]] = (("corner", 0), ("corner", 0))


def _check(design: PreparationDesign) -> None:
    lengths = (design.facial_oral_mm, design.mesiodistal_mm, design.height_mm)
    if not (np.isfinite(lengths).all() and min(lengths) > 0):
        raise ValueError("widths and height have to be above 0")
    top = _half_widths(design, np.array([design.height_mm]))
    if min(float(axis[0]) for axis in top) <= 0:
        raise ValueError("the walls meet below the top: less height or less convergence, or a wider base")
    for groove in design.grooves:
        floor = _floor_distance(design, groove, np.array([design.height_mm]))
        sides = [_reach(design, groove, side * groove.width_mm / 2, np.array([design.height_mm])) for side in (-1, 1)]
        if not 0 < float(floor[0]) < min(float(side[0]) for side in sides):
            raise ValueError(f"the groove at {groove.at_deg} degrees leaves the wall below the top, or passes the axis")


def _half_widths(design: PreparationDesign, height: Floats) -> tuple[Floats, Floats]:
    facial = design.facial_oral_mm / 2 - height * np.tan(np.deg2rad(design.convergence_facial_oral_deg / 2))
    mesial = design.mesiodistal_mm / 2 - height * np.tan(np.deg2rad(design.convergence_mesiodistal_deg / 2))
    return facial, mesial


def _radius(design: PreparationDesign, angle: Floats, height: Floats) -> Floats:
    """Return the distance of the outer wall from the axis at polar angles (rad) and heights."""
    facial, mesial = _half_widths(design, height)
    across, along = np.abs(np.cos(angle)) / facial, np.abs(np.sin(angle)) / mesial
    return np.asarray(1 / (np.hypot(across, along) if design.outline == "oval" else np.maximum(across, along)))


def _reach(design: PreparationDesign, groove: Groove, offset_mm: float, height: Floats) -> Floats:
    """Return how far out the outer wall lies along the groove's direction, on a line `offset_mm` beside the axis."""
    facial, mesial = _half_widths(design, height)
    angle = np.deg2rad(groove.at_deg)
    out = np.stack([np.cos(angle) / facial, np.sin(angle) / mesial])
    beside = offset_mm * np.stack([-np.sin(angle) / facial, np.cos(angle) / mesial])
    if design.outline == "oval":
        square, half, rest = (out**2).sum(axis=0), (out * beside).sum(axis=0), (beside**2).sum(axis=0) - 1
        return np.asarray((-half + np.sqrt(np.maximum(half**2 - square * rest, 0))) / square)
    rate = np.where(np.abs(out) > np.finfo(float).eps, np.abs(out), np.nan)
    return np.asarray(np.nanmin((1 - np.sign(out) * beside) / rate, axis=0))


def _floor_distance(design: PreparationDesign, groove: Groove, height: Floats) -> Floats:
    outer = _radius(design, np.array([np.deg2rad(groove.at_deg)]), np.zeros(1))
    return np.asarray(outer - groove.depth_mm - height * np.tan(np.deg2rad(groove.taper_deg)))


def _legs(design: PreparationDesign, around: int) -> tuple[_Leg, ...]:
    """Return the pieces of the outline in order: outer wall from break to break, and through each groove."""
    breaks = _breaks(design)
    angles = [_break_angle(design, mark, np.zeros(1))[0] for mark in breaks]
    legs: list[_Leg] = []
    for i, mark in enumerate(breaks):
        following = breaks[(i + 1) % len(breaks)]
        span = (angles[(i + 1) % len(breaks)] - angles[i]) % (2 * np.pi) or 2 * np.pi
        if mark[0] == "entry":
            if following != ("exit", mark[1]):
                raise ValueError(
                    f"the groove at {design.grooves[mark[1]].at_deg} degrees overlaps another or an angle of the box"
                )
            legs += _through(design.grooves[mark[1]], max(2, around // 40))
            continue
        points = max(1, round(around * span / (2 * np.pi)))
        legs.append(_Leg("outer", np.arange(points) / points, None, (mark, following)))
    return tuple(legs)


def _through(groove: Groove, points: int) -> list[_Leg]:
    shares = np.arange(points) / points
    return [_Leg("entry", shares, groove), _Leg("floor", shares, groove), _Leg("exit", shares, groove)]


def _breaks(design: PreparationDesign) -> list[tuple[str, int]]:
    corners = range(4) if design.outline == "box" else range(1)
    marks = [("corner", i) for i in corners] if design.outline == "box" or not design.grooves else []
    marks += [(edge, i) for i in range(len(design.grooves)) for edge in ("entry", "exit")]
    return sorted(marks, key=lambda mark: float(_break_angle(design, mark, np.zeros(1))[0] % (2 * np.pi)))


def _break_angle(design: PreparationDesign, mark: tuple[str, int], height: Floats) -> Floats:
    """Return the polar angle (rad, not wrapped) of a break point at each height."""
    kind, index = mark
    facial, mesial = _half_widths(design, height)
    if kind == "corner":
        signs = ((1, 1), (-1, 1), (-1, -1), (1, -1))[index] if design.outline == "box" else (1, 0)
        return np.asarray(np.arctan2(signs[1] * mesial, signs[0] * facial))
    groove = design.grooves[index]
    offset = (-1 if kind == "entry" else 1) * groove.width_mm / 2
    return np.asarray(np.deg2rad(groove.at_deg) + np.arctan2(offset, _reach(design, groove, offset, height)))


def _outline(design: PreparationDesign, legs: tuple[_Leg, ...], height: Floats) -> Floats:
    """Return (N, 2) points of the outline, each at its own height (N,)."""
    parts, begin = [], 0
    for leg in legs:
        part = height[begin : begin + len(leg.shares)]
        parts.append(_outer(design, leg, part) if leg.groove is None else _within(design, leg, leg.groove, part))
        begin += len(leg.shares)
    return np.concatenate(parts)


def _outer(design: PreparationDesign, leg: _Leg, height: Floats) -> Floats:
    first, last = (_break_angle(design, mark, height) for mark in leg.ends)
    span = (last - first) % (2 * np.pi)
    angle = first + leg.shares * np.where(span > 0, span, 2 * np.pi)
    radius = _radius(design, angle, height)
    return np.column_stack([radius * np.cos(angle), radius * np.sin(angle)])


def _within(design: PreparationDesign, leg: _Leg, groove: Groove, height: Floats) -> Floats:
    floor = _floor_distance(design, groove, height)
    half = groove.width_mm / 2
    if leg.kind == "floor":
        out, beside = floor, -half + leg.shares * groove.width_mm
    else:
        beside = np.full(len(height), -half if leg.kind == "entry" else half)
        rim = _reach(design, groove, float(beside[0]), height)
        inward = leg.shares if leg.kind == "entry" else 1 - leg.shares
        out = rim + inward * (floor - rim)
    angle = np.deg2rad(groove.at_deg)
    return np.column_stack([out * np.cos(angle) - beside * np.sin(angle), out * np.sin(angle) + beside * np.cos(angle)])


def _margin_heights(design: PreparationDesign, legs: tuple[_Leg, ...]) -> Floats:
    """Return (N,) heights of the finish line: the tilted, rising surface where the outline at that height meets it."""
    slope = np.tan(np.deg2rad(design.tilt_deg))
    towards = np.deg2rad(design.tilt_towards_deg)
    height = np.zeros(sum(len(leg.shares) for leg in legs))
    for _ in range(_SETTLING):
        x, y = _outline(design, legs, height).T
        rise = design.proximal_rise_mm * y**2 / (x**2 + y**2)
        before, height = height, np.asarray(slope * (x * np.cos(towards) + y * np.sin(towards)) + rise)
        if np.array_equal(before, height):  # an even line at once, an uneven one after some rounds
            break
    return height


def _groove_columns(legs: tuple[_Leg, ...]) -> list[GrooveColumns]:
    starts = np.cumsum([0, *(len(leg.shares) for leg in legs)])
    around = int(starts[-1])
    return [
        GrooveColumns(
            entry=int(starts[i]), floor=int(starts[i + 1]), floor_end=int(starts[i + 2]), exit=int(starts[i + 3]) % around
        )
        for i, leg in enumerate(legs)
        if leg.kind == "entry"
    ]

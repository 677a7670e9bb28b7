"""The span of a bridge seen from the cheek, as a drawing in SVG in tenths of a millimetre.

Units from the patient's right, in the sizes of the handbook; roots up in the upper jaw, hatched where bone holds them (dashed
outline alone where that is not known); connectors dark at the bulge, crossed where they lack; loads and shares of chewing;
the biting edges as they sink, drawn larger by a round factor.
"""

from collections.abc import Mapping, Sequence
from dataclasses import dataclass
from html import escape

from collum.wire.bridge.document import BridgeDocument, LoadDocument, UnitDocument

WIDTH, _HIGHEST = 1760, 700
_SCALE = 30
_ABOVE_MM, _BELOW_MM, _SIDE_MM, _BENT_MM = 4, 2, 4, 3
_FACTORS = (5000, 2000, 1000, 500, 200, 100, 50, 20, 10, 5)
_LOWER, _CANINE, _MOLAR = 3, 3, 6
_TENTH = 10
_JOINT_HALF, _RING, _LINE = 24, 20, 30
_SIZE_WIDTH = 150  # narrower units have the sizes of their connectors in two rows
_PATTERNS = (
    '<pattern id="held" width="14" height="14" patternUnits="userSpaceOnUse" patternTransform="rotate(45)">'
    '<path d="M0 0V14" stroke="black" stroke-width="2"/></pattern>'
    '<pattern id="lacks" width="12" height="12" patternUnits="userSpaceOnUse">'
    '<path d="M0 0L12 12M12 0L0 12" stroke="black" stroke-width="2"/></pattern>'
)


@dataclass(frozen=True, slots=True, kw_only=True)
class _Field:
    """The field of the drawing: heights count from the necks, the biting edge positive."""

    scale: float
    left: float
    over_mm: float
    under_mm: float
    upper: bool

    def x(self, mm: float) -> float:
        return self.left + mm * self.scale

    def y(self, mm: float) -> float:
        return (self.under_mm + mm if self.upper else self.over_mm - mm) * self.scale

    @property
    def height(self) -> float:
        return (self.over_mm + self.under_mm) * self.scale


@dataclass(frozen=True, slots=True, kw_only=True)
class _Placed:
    """A unit and where its middle stands along the span."""

    unit: UnitDocument
    middle_mm: float
    field: _Field

    def at(self, along_mm: float, height_mm: float) -> str:
        return f"{self.field.x(self.middle_mm + along_mm):.1f} {self.field.y(height_mm):.1f}"


def span_svg(bridge: BridgeDocument, labels: Mapping[str, str]) -> str:
    """Return the drawing under the load of chewing; `labels` has the share of each abutment under its number, in words."""
    field = _field(bridge.units)
    placed = _placed(bridge.units, field)
    load = bridge.loads[0]
    body = [*_roots(placed), *_crowns(placed), *_joints(bridge, placed), *_bent(placed, load), *_words(placed, load, labels)]
    return (
        f'<svg xmlns="http://www.w3.org/2000/svg" viewBox="0 0 {WIDTH} {field.height + 3 * _LINE:.0f}" '
        f'font-family="Libertinus Serif" font-size="30"><defs>{_PATTERNS}</defs>'
        f'<g transform="translate(0 {_LINE + _LINE / 2})">{"".join(body)}</g></svg>'
    )


def bending_drawn(bridge: BridgeDocument) -> int:
    """Return by how much the bending is drawn larger: a round number with which the most of it fills the room."""
    return _factor(bridge.loads[0])


def life_size(bridge: BridgeDocument) -> float:
    """Return how many times life size the drawing is printed."""
    return _field(bridge.units).scale / _TENTH


def _field(units: Sequence[UnitDocument]) -> _Field:
    across = sum(unit.width_mm for unit in units)
    over = max(unit.crown_mm for unit in units) + _ABOVE_MM
    under = max(unit.root_mm for unit in units if unit.carries) + _BELOW_MM
    scale = min(_SCALE, WIDTH / (across + 2 * _SIDE_MM), _HIGHEST / (over + under))
    left = (WIDTH - across * scale) / 2
    return _Field(scale=scale, left=left, over_mm=over, under_mm=under, upper=units[0].number // 10 < _LOWER)


def _placed(units: Sequence[UnitDocument], field: _Field) -> list[_Placed]:
    before, found = 0.0, []
    for unit in units:
        found.append(_Placed(unit=unit, middle_mm=before + unit.width_mm / 2, field=field))
        before += unit.width_mm
    return found


def _crowns(placed: Sequence[_Placed]) -> list[str]:
    drawn = []
    for one in placed:
        unit, at = one.unit, one.at
        h, neck, bulge = unit.crown_mm, unit.neck_width_mm / 2, unit.width_mm / 2
        top, edge = bulge * 3 / 4, _edge_mm(unit)
        foot = 0 if unit.carries else h / _TENTH
        base = f"L{at(-neck, 0)}" if unit.carries else f"Q{at(0, -h / _TENTH)} {at(-neck, foot)}"
        path = (
            f"M{at(-neck, foot)}C{at(-bulge, h / 5)} {at(-bulge, h * 3 / 5)} {at(-top, h)}Q{at(0, edge)} {at(top, h)}"
            f"C{at(bulge, h * 3 / 5)} {at(bulge, h / 5)} {at(neck, foot)}{base}Z"
        )
        fill = "white" if unit.carries else "#e4e4e4"
        drawn.append(f'<path d="{path}" fill="{fill}" stroke="black" stroke-width="3.5"/>')
    return drawn


def _edge_mm(unit: UnitDocument) -> float:
    """Return how far the middle of the biting edge reaches: straight in incisors, pointed in canines, hollow behind."""
    position = unit.number % 10
    share = 0 if position < _CANINE else 1 if position == _CANINE else -1
    return unit.crown_mm * (_TENTH + share) / _TENTH


def _roots(placed: Sequence[_Placed]) -> list[str]:
    drawn = []
    for one in placed:
        if not one.unit.carries:
            continue
        path = _root(one)
        drawn.append(f'<path d="{path}" fill="white" stroke="black" stroke-width="3"/>')
        loss = one.unit.loss_mm
        if loss is None:
            continue
        ends = sorted((one.field.y(-loss), one.field.y(-one.unit.root_mm)))
        clip = f"held-{one.unit.number}"
        drawn.append(
            f'<clipPath id="{clip}"><rect x="0" y="{ends[0]:.1f}" width="{WIDTH}" height="{ends[1] - ends[0]:.1f}"/></clipPath>'
            f'<path d="{path}" clip-path="url(#{clip})" fill="url(#held)"/>'
        )
    return drawn


def _root(one: _Placed) -> str:
    """Return a root with a round apex; of molars two, as they are seen from the cheek."""
    n, r, at = one.unit.neck_width_mm / 2, one.unit.root_mm, one.at
    if one.unit.number % 10 < _MOLAR:
        return (
            f"M{at(-n, 0)}C{at(-n * 9 / 10, -r / 2)} {at(-n / 2, -r)} {at(0, -r)}"
            f"C{at(n / 2, -r)} {at(n * 9 / 10, -r / 2)} {at(n, 0)}Z"
        )
    tip, fork = n * 2 / 3, -r / 3
    return (
        f"M{at(-n, 0)}C{at(-n, -r / 2)} {at(-n, -r)} {at(-tip, -r)}C{at(-n / 3, -r)} {at(-n / 3, -r * 3 / 5)} {at(0, fork)}"
        f"C{at(n / 3, -r * 3 / 5)} {at(n / 3, -r)} {at(tip, -r)}C{at(n, -r)} {at(n, -r / 2)} {at(n, 0)}Z"
    )


def _joints(bridge: BridgeDocument, placed: Sequence[_Placed]) -> list[str]:
    """Return the connectors at the bulge, as high as they are, with their size; the weakest in a ring."""
    drawn = []
    for i, (one, two, joint) in enumerate(zip(placed, placed[1:], bridge.connectors, strict=False)):
        field = one.field
        x = field.x(one.middle_mm + one.unit.width_mm / 2)
        middle_mm = min(one.unit.crown_mm, two.unit.crown_mm) / 2
        top, bottom = sorted((field.y(middle_mm - joint.height_mm / 2), field.y(middle_mm + joint.height_mm / 2)))
        fill = "url(#lacks)" if joint.verdict == "below" else "black"
        drawn.append(
            f'<rect x="{x - _JOINT_HALF:.1f}" y="{top:.1f}" width="{2 * _JOINT_HALF}" height="{bottom - top:.1f}" '
            f'fill="white"/><rect x="{x - _JOINT_HALF:.1f}" y="{top:.1f}" width="{2 * _JOINT_HALF}" '
            f'height="{bottom - top:.1f}" fill="{fill}" stroke="black" stroke-width="3"/>'
        )
        if i == bridge.weakest_position:
            drawn.append(
                f'<ellipse cx="{x:.1f}" cy="{(top + bottom) / 2:.1f}" rx="{_JOINT_HALF + _RING}" '
                f'ry="{(bottom - top) / 2 + _RING:.1f}" fill="none" stroke="black" stroke-width="4"/>'
            )
        size = f"{joint.height_mm:.1f} × {joint.width_mm:.1f}"
        row = i % 2 if one.unit.width_mm * field.scale < _SIZE_WIDTH else 0
        away = -1 if field.upper else 1
        drawn.append(_word(x, field.y(-_BELOW_MM) + _LINE / 3 + away * row * _LINE, size, "middle", halo=True))
    return drawn


def _bent(placed: Sequence[_Placed], load: LoadDocument) -> list[str]:
    """Return the biting edges as they sink, in the middle of what is published and at most."""
    field = placed[0].field
    factor = _factor(load)
    drawn = []
    for stiffness, style in ((1, ""), (0, ' stroke-dasharray="4 9"')):
        points = [
            f"{field.x(one.middle_mm):.1f} {field.y(one.unit.crown_mm - factor * moved[stiffness]):.1f}"
            for one, moved in zip(placed, load.deflection_mm, strict=True)
        ]
        drawn.append(f'<path d="M{"L".join(points)}" fill="none" stroke="black" stroke-width="5"{style}/>')
    return drawn


def _factor(load: LoadDocument) -> int:
    most = max(abs(mm) for three in load.deflection_mm for mm in three)
    return next((factor for factor in _FACTORS if factor * most <= _BENT_MM), 1)


def _words(placed: Sequence[_Placed], load: LoadDocument, labels: Mapping[str, str]) -> list[str]:
    field = placed[0].field
    away = -1 if field.upper else 1
    drawn = []
    for one, newtons in zip(placed, load.loads_n, strict=True):
        x, tip = field.x(one.middle_mm), field.y(one.unit.crown_mm) - away * _TENTH
        drawn.append(_word(x, field.y(one.unit.crown_mm / 4) + _TENTH, str(one.unit.number), "middle", bold=True))
        arrow = f"M{x:.1f} {tip - away * 2 * _LINE:.1f}V{tip:.1f}M{x - _TENTH:.1f} {tip - away * 16:.1f}L{x:.1f} {tip:.1f}"
        drawn.append(f'<path d="{arrow}L{x + _TENTH:.1f} {tip - away * 16:.1f}" fill="none" stroke="black" stroke-width="4"/>')
        drawn.append(_word(x + 16, tip - away * (_LINE + _TENTH) + _TENTH, f"{newtons:.0f} N", "start"))
        if one.unit.carries:
            below = field.y(-one.unit.root_mm) + (away * _LINE if not field.upper else -_TENTH)
            drawn.append(_word(x, below, labels[str(one.unit.number)], "middle"))
    return drawn


def _word(x: float, y: float, said: str, anchor: str, *, bold: bool = False, halo: bool = False) -> str:
    weight = ' font-weight="bold"' if bold else ""
    ground = ' stroke="white" stroke-width="7" paint-order="stroke"' if halo else ""
    return f'<text x="{x:.1f}" y="{y:.1f}" text-anchor="{anchor}"{weight}{ground}>{escape(said)}</text>'

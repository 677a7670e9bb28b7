"""Keys of a bridge: its teeth since format number 1, what is wished for it and read under its pontics since number 2."""

from collections.abc import Mapping
from typing import get_args

from collum.case.bridge import BedPoint
from collum.case.layout_parts import ASPECTS, NOT_MEASURABLE, ranged
from collum.case.shapes import AnyOf, Choice, IsoTooth, ListOf, Shape, Table, Whole
from collum.core.bridge.pontic_bed import RidgeClass
from collum.core.bridge.rules import Material

BED_POINTS: tuple[BedPoint, ...] = get_args(BedPoint)
RIDGES: tuple[RidgeClass, ...] = get_args(RidgeClass)
_MOST_PONTICS = 14


def _thickness() -> Shape:
    return AnyOf({str: Choice((NOT_MEASURABLE,))}, ranged("ridge_tissue_mm"))


# `beds`: what was read under a pontic; `ridge`: what the ridge has lost.
WISHES = Table(
    {
        "material": Choice(get_args(Material)),
        "connector_height_mm": ranged("connector_mm"),
        "connector_width_mm": ranged("connector_mm"),
        "room_mm": ranged("room_mm"),
        "beds": ListOf(
            Table(
                {
                    "tooth": IsoTooth(),
                    "tissue_mm": Table({point: _thickness() for point in BED_POINTS}),
                    "ridge": Choice(RIDGES),
                },
                required=("tooth",),
            ),
            _MOST_PONTICS,
        ),
    }
)


def bridge_shape(number: int) -> Table:
    """Return the shape of a bridge in a format number."""
    path = Table({"toward": Choice(ASPECTS), "tilt_deg": Whole(0, 45)}, required=("toward", "tilt_deg"))
    fields: Mapping[str, Shape] = {
        "teeth": ListOf(IsoTooth(), 16, 2),
        "pontics": ListOf(IsoTooth(), _MOST_PONTICS),
        "path": path,
        **(WISHES.fields if number > 1 else {}),
    }
    return Table(fields, required=("teeth", "pontics"))

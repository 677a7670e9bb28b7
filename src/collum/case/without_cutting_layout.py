"""Keys of a tooth about restoring without cutting: dam and matrix tried, the seat of composite, a little more bite."""

from collections.abc import Mapping

from collum.case.layout_parts import ranged
from collum.case.shapes import Choice, Number, Shape, Table

# `dam_and_matrix`: how the trial went. `dentine_seat_mm`: width of the dentine at the deep margin. `bite_raise_mm`: what a
# planned build-up of all opposing contacts gives.
WITHOUT_CUTTING: Mapping[str, Shape] = {
    "dam_and_matrix": Choice(("dry", "not dry")),
    "dentine_seat_mm": Table({side: Number(0, ranged("length_mm").high, "mm") for side in ("mesial", "distal")}),
    "opposing_over_erupted_mm": Number(0, ranged("limit_mm").high, "mm"),
    "bite_raise_mm": Number(0, ranged("limit_mm").high, "mm"),
}

"""Keys of a tooth, since format number 2: the stump under a lost crown and its cross-section, and restoring without cutting."""

from collections.abc import Mapping

from collum.case.faults import said
from collum.case.layout_parts import ranged
from collum.case.shapes import SITE_PATTERN, Choice, Flag, ListOf, Number, Shape, Table, Text
from collum.evidence import get

# In the order of how firmly they hold.
CEMENTS = (
    "temporary",
    "zinc_phosphate",
    "polycarboxylate",
    "glass_ionomer",
    "resin_glass_ionomer",
    "self_adhesive_resin",
    "bonded_resin",
)


def _up_to(key: str, least: float = 0) -> Number:
    """Return the shape of a number from `least` to the upper end of a range of the registry."""
    known = get(f"case.range.{key}")
    return Number(least, known.high, known.unit)


def _across(least: float = 0) -> Table:
    width = _up_to("crown_height_mm", least)
    return Table({"facial_oral": width, "mesiodistal": width})


# `old_stump`: the preparation as it was found when the crown came off; `missing_walls`: where a cusp or a line angle is gone.
STUMP: Mapping[str, Shape] = {
    "old_stump": Table(
        {
            "height_mm": _up_to("crown_height_mm"),
            "convergence_deg": _up_to("convergence_deg"),
            "ferrule_mm": _up_to("limit_mm"),
            "caries": Flag(),
            "post": Flag(),
            "post_mm": _up_to("length_mm"),
            "cement": Choice(CEMENTS),
        }
    ),
    "missing_walls": ListOf(Text(3, SITE_PATTERN, said("allowed.site")), 8),
    "neck_width_mm": _across(2),
    "pulp_width_mm": _across(),
}

# `dam_and_matrix`: how the trial went. `dentine_seat_mm`: width of the dentine at the deep margin. `bite_raise_mm`: what a
# planned build-up of all opposing contacts gives.
WITHOUT_CUTTING: Mapping[str, Shape] = {
    "dam_and_matrix": Choice(("dry", "not dry")),
    "dentine_seat_mm": Table({side: Number(0, ranged("length_mm").high, "mm") for side in ("mesial", "distal")}),
    "opposing_over_erupted_mm": Number(0, ranged("limit_mm").high, "mm"),
    "bite_raise_mm": Number(0, ranged("limit_mm").high, "mm"),
}

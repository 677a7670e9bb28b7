"""The tooth: its number, its handbook dimensions and the shape of its neck. Numbers are ISO 3950."""

from collum.core.tooth.dimensions import ToothDimensions, dimension_keys, dimensions
from collum.core.tooth.furcation import furcation_trunks_mm
from collum.core.tooth.numbering import (
    Arch,
    Side,
    ToothClass,
    ToothNumberError,
    arch,
    counted,
    from_universal,
    is_permanent,
    is_right,
    is_upper,
    mirrored,
    side,
    tooth_class,
    universal,
)
from collum.core.tooth.oval import arc_mm, cervical_radius_mm, half_axes_mm, perimeter_mm, point_mm

__all__ = [
    "Arch",
    "Side",
    "ToothClass",
    "ToothDimensions",
    "ToothNumberError",
    "arc_mm",
    "arch",
    "counted",
    "cervical_radius_mm",
    "dimension_keys",
    "dimensions",
    "from_universal",
    "furcation_trunks_mm",
    "half_axes_mm",
    "is_permanent",
    "is_right",
    "is_upper",
    "mirrored",
    "perimeter_mm",
    "point_mm",
    "side",
    "tooth_class",
    "universal",
]

"""The tooth: numbering, handbook dimensions, shape of the neck."""

from collum.core.tooth.dimensions import ToothDimensions, dimensions
from collum.core.tooth.neck_shape import arc_mm, cervical_radius_mm, perimeter_mm
from collum.core.tooth.numbering import (
    ToothNumberError,
    from_universal,
    is_permanent,
    is_right,
    is_upper,
    mirrored,
    tooth_class,
    universal,
)

__all__ = [
    "ToothDimensions",
    "ToothNumberError",
    "arc_mm",
    "cervical_radius_mm",
    "dimensions",
    "from_universal",
    "is_permanent",
    "is_right",
    "is_upper",
    "mirrored",
    "perimeter_mm",
    "tooth_class",
    "universal",
]

"""Handbook dimensions of a tooth, from the registry; a measured value always stands above them."""

from dataclasses import dataclass

from collum.core.tooth.numbering import is_upper
from collum.evidence import value


@dataclass(frozen=True, slots=True, kw_only=True)
class ToothDimensions:
    """Carving averages of one kind of tooth. [mm]"""

    crown_length_mm: float
    root_length_mm: float
    md_crown_mm: float
    md_cervix_mm: float
    bl_crown_mm: float
    bl_cervix_mm: float
    curvature_mesial_mm: float
    curvature_distal_mm: float


def dimensions(number: int) -> ToothDimensions:
    """Return the handbook dimensions of the ISO number; sources by `dimension_keys`."""
    return ToothDimensions(**{key.rsplit(".", 1)[1]: value(key) for key in dimension_keys(number)})


def dimension_keys(number: int) -> tuple[str, ...]:
    """Return the registry keys of the dimensions of a tooth."""
    kind = f"tooth.{'upper' if is_upper(number) else 'lower'}{number % 10}"
    return tuple(f"{kind}.{name}" for name in ToothDimensions.__dataclass_fields__)

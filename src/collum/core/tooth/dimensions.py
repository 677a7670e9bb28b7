"""Handbook dimensions of a tooth, from the registry; a measured value always stands above them.

They are carving averages (Wheeler), the same for left and right; real teeth differ from them by some 10 to 15 %.
"""

from collections.abc import Mapping
from dataclasses import dataclass

from collum.core.tooth.numbering import arch
from collum.evidence import Status, get

_FIELDS = (
    "crown_length_mm",
    "root_length_mm",
    "md_crown_mm",
    "md_cervix_mm",
    "bl_crown_mm",
    "bl_cervix_mm",
    "curvature_mesial_mm",
    "curvature_distal_mm",
)


@dataclass(frozen=True, slots=True, kw_only=True)
class ToothDimensions:
    """Carving averages of one kind of tooth, and how each is known. [mm]

    Crown from edge to cervical line, root from there to the apex (the longest root); `md` mesiodistal, `bl` facial-oral;
    `curvature` the rise of the cervical line between the teeth. `statuses` has one entry a length, by its name here.
    """

    crown_length_mm: float
    root_length_mm: float
    md_crown_mm: float
    md_cervix_mm: float
    bl_crown_mm: float
    bl_cervix_mm: float
    curvature_mesial_mm: float
    curvature_distal_mm: float
    statuses: Mapping[str, Status]


def dimensions(number: int) -> ToothDimensions:
    """Return the handbook dimensions of an ISO number. Raises ToothNumberError. Source: [wheeler]."""
    records = {name: get(key) for name, key in zip(_FIELDS, dimension_keys(number), strict=True)}
    return ToothDimensions(
        **{name: record.value for name, record in records.items()},
        statuses={name: record.status for name, record in records.items()},
    )


def dimension_keys(number: int) -> tuple[str, ...]:
    """Return the registry keys of the dimensions of a tooth, in the order of `ToothDimensions`. Raises ToothNumberError."""
    return tuple(f"tooth.{arch(number)}{number % 10}.{name}" for name in _FIELDS)

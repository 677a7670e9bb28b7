"""A bridge of a case: its teeth, its wishes, what was read under its pontics. None: the key is not in the file."""

from collections.abc import Mapping
from dataclasses import dataclass
from typing import Literal

from collum.case.facts import Aspect
from collum.core.bridge.pontic_bed import RidgeClass
from collum.core.bridge.rules import Material

BedPoint = Literal["middle", "mesial", "distal", "facial", "oral"]


@dataclass(frozen=True, slots=True, kw_only=True)
class InsertionPath:
    """The path of insertion: tilted by `tilt_deg` from the long axes towards a side."""

    toward: Aspect
    tilt_deg: int


@dataclass(frozen=True, slots=True, kw_only=True)
class Bed:
    """What was read under the pontic at `tooth`; `ridge`: what the ridge has lost."""

    tooth: int
    tissue_mm: Mapping[BedPoint, float | Literal["not measurable"]] | None = None
    ridge: RidgeClass | None = None


@dataclass(frozen=True, slots=True, kw_only=True)
class Bridge:
    """`room_mm`: between the ridge and the opposing tooth."""

    teeth: tuple[int, ...]
    pontics: tuple[int, ...]
    path: InsertionPath | None = None
    material: Material | None = None
    connector_height_mm: float | None = None
    connector_width_mm: float | None = None
    room_mm: float | None = None
    beds: tuple[Bed, ...] | None = None

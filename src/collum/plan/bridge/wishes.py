"""What is wished for a bridge and was read under its pontics, from the keys of the case."""

import math
from collections.abc import Mapping
from dataclasses import dataclass, field
from typing import Literal

from collum.case.bridge import BedPoint, Bridge
from collum.case.bridge_layout import BED_POINTS
from collum.case.layout_parts import NOT_MEASURABLE
from collum.core.bridge.pontic_bed import RidgeClass
from collum.core.bridge.rules import Material


@dataclass(frozen=True, slots=True, kw_only=True)
class BridgeWishes:
    """Material, size of the connectors (None: the least the material needs), room and tissue.

    `tissue_mm`: thickness of tissue over the ridge for a pontic by its number, in the order of `BED_POINTS`, nan where it was
    not read or could not be measured. `ridges`: the shape of the ridge under a pontic.
    """

    material: Material = "metal_ceramic"
    connector_height_mm: float | None = None
    connector_width_mm: float | None = None
    shape: Literal["rectangle", "ellipse"] = "ellipse"
    room_mm: float | None = None
    tissue_mm: Mapping[int, tuple[float, ...]] = field(default_factory=dict)
    ridges: Mapping[int, RidgeClass] = field(default_factory=dict)


def wishes_of(bridge: Bridge) -> BridgeWishes:
    """Return the wishes that a bridge of a case records."""
    beds = bridge.beds or ()
    return BridgeWishes(
        material=bridge.material or "metal_ceramic",
        connector_height_mm=bridge.connector_height_mm,
        connector_width_mm=bridge.connector_width_mm,
        room_mm=bridge.room_mm,
        tissue_mm={bed.tooth: _thicknesses(bed.tissue_mm) for bed in beds if bed.tissue_mm is not None},
        ridges={bed.tooth: bed.ridge for bed in beds if bed.ridge is not None},
    )


def _thicknesses(tissue: Mapping[BedPoint, float | str]) -> tuple[float, ...]:
    read = (tissue.get(point, NOT_MEASURABLE) for point in BED_POINTS)
    return tuple(math.nan if isinstance(one, str) else one for one in read)

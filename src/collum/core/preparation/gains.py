"""What a groove, a box, less convergence or more height would buy, measured on made preparations and priced in tooth.

Every change is made on the same design and tested on its facets in all directions. The price is the tooth it removes. Less
convergence is cut at the finish line, the top stays: the base gets narrower by 2 H (tan T - tan T') on each pair of walls. More
height lowers the finish line or thins the crown; it costs no tooth here, and the base stays as wide as it was.
"""

from collections.abc import Sequence
from dataclasses import dataclass, replace
from typing import Literal

import numpy as np

from collum.core.preparation.facet_resistance import Resistance, resistance
from collum.core.preparation.made import Groove, PreparationDesign, preparation_mesh
from collum.core.ring import STATIONS_DEG
from collum.core.surface.preparation_surface import PreparationSurface
from collum.evidence import value

ChangeKey = Literal["proximal_grooves", "proximal_boxes", "less_convergence", "more_height"]

_AROUND, _LEVELS = 72, 12
_PROXIMAL_DEG = (90, 270)


@dataclass(frozen=True, slots=True, kw_only=True)
class Gain:
    """One change: the design it makes, what resists then, how much more in the weakest direction, and the tooth it costs.

    `cannot` is set, and the rest None, where the change cannot be made on this preparation.
    """

    key: ChangeKey
    design: PreparationDesign | None
    resistance: Resistance | None
    gained_mm2: float | None
    removed_mm3: float | None
    cannot: bool = False


def gains(design: PreparationDesign) -> tuple[Resistance, tuple[Gain, ...]]:
    """Return what resists now, and what each change would buy. Raises ValueError where the design is no preparation."""
    now = preparation_mesh(design, around=_AROUND, levels=_LEVELS)
    before = _tested(now)
    return before, tuple(_gain(key, change, before, volume_mm3(now)) for key, change in _changes(design))


def volume_mm3(surface: PreparationSurface) -> float:
    """Return the volume under the sheet, down to the plane across the path through the origin of its coordinates. [mm3]

    For two preparations with the same finish line the difference is the tooth between them.
    """
    height = (surface.vertices_mm[surface.faces] @ surface.path).mean(axis=1)
    return float(np.sum(height * (surface.normals @ surface.path) * surface.areas_mm2))


def _tested(surface: PreparationSurface) -> Resistance:
    return resistance(surface, (1, 0, 0), (0, 1, 0), STATIONS_DEG)


def _gain(key: ChangeKey, change: PreparationDesign, before: Resistance, volume: float) -> Gain:
    try:
        surface = preparation_mesh(change, around=_AROUND, levels=_LEVELS)
    except ValueError:
        return Gain(key=key, design=None, resistance=None, gained_mm2=None, removed_mm3=None, cannot=True)
    after = _tested(surface)
    gained = float(after.area_mm2[after.weakest] - before.area_mm2[before.weakest])
    removed = 0.0 if key == "more_height" else volume - volume_mm3(surface)
    return Gain(key=key, design=change, resistance=after, gained_mm2=gained, removed_mm3=removed)


def _changes(design: PreparationDesign) -> Sequence[tuple[ChangeKey, PreparationDesign]]:
    return (
        ("proximal_grooves", replace(design, grooves=(*design.grooves, *_proximal("groove")))),
        ("proximal_boxes", replace(design, grooves=(*design.grooves, *_proximal("box")))),
        ("less_convergence", _steeper(design, value("preparation.step.convergence_deg"))),
        ("more_height", replace(design, height_mm=design.height_mm + value("preparation.step.height_mm"))),
    )


def _proximal(form: Literal["groove", "box"]) -> tuple[Groove, ...]:
    depth, width = value(f"preparation.{form}.depth_mm"), value(f"preparation.{form}.width_mm")
    taper = value("preparation.groove.taper_deg")
    return tuple(Groove(at_deg=angle, depth_mm=depth, width_mm=width, taper_deg=taper) for angle in _PROXIMAL_DEG)


def _steeper(design: PreparationDesign, step_deg: float) -> PreparationDesign:
    """Return the design with less convergence, not below 0, the top unchanged."""
    facial_oral = max(0.0, design.convergence_facial_oral_deg - step_deg)
    mesiodistal = max(0.0, design.convergence_mesiodistal_deg - step_deg)
    height = design.height_mm
    return replace(
        design,
        convergence_facial_oral_deg=facial_oral,
        convergence_mesiodistal_deg=mesiodistal,
        facial_oral_mm=design.facial_oral_mm - _narrower(height, design.convergence_facial_oral_deg, facial_oral),
        mesiodistal_mm=design.mesiodistal_mm - _narrower(height, design.convergence_mesiodistal_deg, mesiodistal),
    )


def _narrower(height_mm: float, before_deg: float, after_deg: float) -> float:
    return float(2 * height_mm * (np.tan(np.deg2rad(before_deg / 2)) - np.tan(np.deg2rad(after_deg / 2))))

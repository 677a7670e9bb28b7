"""Pins on the cross-section: how many, how deep, how far apart, how far from enamel, surface and pulp.

Positions and outlines lie in one plane across the tooth, in mm. Outlines are closed polygons, (k, 2), in either sense.
Distances are dentine: from the side of the pin, not from its middle; negative where the pin leaves the dentine.

Not covered: the slope of a pin, furcations and grooves deeper down, cracks.
"""

from dataclasses import dataclass
from typing import Literal

import numpy as np
from numpy.typing import ArrayLike, NDArray

from collum.evidence import value

Floats = NDArray[np.float64]
PinKind = Literal["threaded", "cemented", "friction"]
Enough = Literal["enough", "short", "not assessed"]

_LEAST_CORNERS = 3


@dataclass(frozen=True, slots=True, kw_only=True)
class PinDistances:
    """Dentine between each pin and what must not be met, (n,) each; nan where there is no such outline or no other pin. [mm]"""

    surface_mm: Floats
    enamel_junction_mm: Floats
    pulp_mm: Floats
    other_pin_mm: Floats


@dataclass(frozen=True, slots=True, kw_only=True)
class PinVerdict:
    """One pin against its distances."""

    surface: Enough
    enamel_junction: Enough
    pulp: Enough
    spacing: Enough


@dataclass(frozen=True, slots=True, kw_only=True)
class PinLengths:
    """Lengths of a kind of pin, and the least height of core that covers it. [mm]"""

    in_dentine_mm: float
    in_material_mm: float
    core_mm: float


def pins_wanted(missing_cusps: int, missing_line_angles: int) -> int:
    """Return the number of pins: one for each missing cusp or line angle, whichever are more. Source: [pin_page]."""
    return max(missing_cusps, missing_line_angles)


def pin_sizes_mm() -> tuple[float, ...]:
    """Return the diameters pins are made in, smallest first. [mm] Source: [pin_sizes_page]."""
    return tuple(value(f"pin.diameter.{name}_mm") for name in ("smallest", "small", "large", "largest"))


def pin_lengths(kind: PinKind) -> PinLengths:
    """Return the depth in dentine, the length in the core and the core a kind of pin asks for. Source: [pin_page]."""
    in_material = value(f"pin.{kind}.material_mm")
    return PinLengths(
        in_dentine_mm=value(f"pin.{kind}.dentine_mm"),
        in_material_mm=in_material,
        core_mm=in_material + value("pin.material_over_mm"),
    )


def least_spacing_mm(kind: PinKind, diameter_mm: float) -> float:
    """Return the least spacing between the middles of two pins. [mm] Source: [pin_page]."""
    if kind == "threaded":
        large = diameter_mm >= value("pin.diameter.large_mm")
        return value("pin.threaded.spacing_large_mm") if large else value("pin.threaded.spacing_small_mm")
    return value(f"pin.{kind}.spacing_mm")


def pin_distances(
    positions_mm: ArrayLike,
    diameter_mm: float,
    surface_mm: ArrayLike,
    *,
    enamel_junction_mm: ArrayLike | None = None,
    pulp_mm: ArrayLike | None = None,
) -> PinDistances:
    """Return the distances of pins at (n, 2) positions. Raises ValueError for an outline of fewer than three corners."""
    positions = np.asarray(positions_mm, dtype=float).reshape(-1, 2)
    radius = diameter_mm / 2
    unknown = np.full(len(positions), np.nan)
    junction = unknown if enamel_junction_mm is None else _depth_inside_mm(positions, enamel_junction_mm) - radius
    pulp = unknown if pulp_mm is None else -_depth_inside_mm(positions, pulp_mm) - radius
    return PinDistances(
        surface_mm=_depth_inside_mm(positions, surface_mm) - radius,
        enamel_junction_mm=junction,
        pulp_mm=pulp,
        other_pin_mm=_nearest_other_mm(positions),
    )


def pin_verdicts(distances: PinDistances, kind: PinKind, diameter_mm: float) -> tuple[PinVerdict, ...]:
    """Return a verdict for each pin. A single pin has spacing enough; an outline that was not given is not assessed."""
    spacing = least_spacing_mm(kind, diameter_mm)
    alone = distances.other_pin_mm.size == 1
    return tuple(
        PinVerdict(
            surface=_enough(surface, value("pin.to_surface_mm")),
            enamel_junction=_enough(junction, value("pin.to_enamel_junction_mm")),
            pulp=_enough(pulp, value("pin.to_pulp_mm")),
            spacing="enough" if alone else _enough(other, spacing),
        )
        for surface, junction, pulp, other in zip(
            distances.surface_mm, distances.enamel_junction_mm, distances.pulp_mm, distances.other_pin_mm, strict=True
        )
    )


def _enough(found_mm: float, least_mm: float) -> Enough:
    if np.isnan(found_mm):
        return "not assessed"
    return "enough" if found_mm >= least_mm else "short"


def _depth_inside_mm(points: Floats, outline_mm: ArrayLike) -> Floats:
    """Return (n,) distances to the outline, positive inside it."""
    start = np.asarray(outline_mm, dtype=float).reshape(-1, 2)
    if len(start) < _LEAST_CORNERS:
        raise ValueError(f"an outline of {len(start)} corners encloses nothing: three are needed")
    side = np.roll(start, -1, axis=0) - start
    to_point = points[:, None, :] - start
    along = np.clip((to_point * side).sum(axis=2) / np.maximum((side**2).sum(axis=1), np.finfo(float).tiny), 0, 1)
    nearest = np.linalg.norm(to_point - along[..., None] * side, axis=2).min(axis=1)
    return np.asarray(np.where(_is_inside(points, start), nearest, -nearest))


def _is_inside(points: Floats, start: Floats) -> NDArray[np.bool_]:
    """A ray towards positive x from an inner point crosses the outline an odd number of times."""
    end = np.roll(start, -1, axis=0)
    x, y = points[:, :1], points[:, 1:]
    # Corners are compared as they stand, so that two sides that share one always agree on which side of the ray it lies.
    spans = (start[:, 1] > y) != (end[:, 1] > y)
    rise = np.where(end[:, 1] == start[:, 1], 1, end[:, 1] - start[:, 1])
    meets_x = start[:, 0] + (y - start[:, 1]) / rise * (end[:, 0] - start[:, 0])
    return np.asarray((spans & (meets_x > x)).sum(axis=1) % 2 == 1)


def _nearest_other_mm(positions: Floats) -> Floats:
    if len(positions) <= 1:
        return np.full(len(positions), np.nan)
    between = np.linalg.norm(positions[:, None] - positions[None], axis=2)
    np.fill_diagonal(between, np.inf)
    return np.asarray(between.min(axis=1))

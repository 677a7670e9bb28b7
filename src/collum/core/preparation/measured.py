"""What a preparation measures: height, taper and width in every direction, volume, and how its finish line runs.

Every direction is a section through path and axis; the axis runs through the middle of the finish line. Height is from the
finish line to the highest place of the wall that looks that way. The lean of a wall is the slope of its middle half, so that
neither the round of the line angle above nor the curve of the ledge below counts as wall. Convergence is the lean of two walls
that face each other, added. Source: derived.
"""

from dataclasses import dataclass

import numpy as np

from collum.core.preparation.facet_resistance import tipping_directions
from collum.core.ring import STATIONS, STATIONS_DEG, Floats
from collum.core.surface.preparation_surface import PreparationSurface
from collum.core.surface.section import WallProfile, wall_profiles

_CORNERS = 6  # a tetrahedron is a sixth of what its edges span

_MIDDLE = 0.5  # the part of a wall's height over which its lean is taken: away from the rounded edge and the line


@dataclass(frozen=True, slots=True, kw_only=True)
class Measured:
    """Measures at the 36 directions of `STATIONS_DEG`; nan where the section meets no wall.

    `taper_deg` the lean of one wall, negative where it is undercut; `convergence_deg` with the wall opposite. `width_mm` from
    side to side at the finish line. `line_mm` (36,) height of the finish line against its mean. `volume_mm3` between the
    sheet and the finish line.
    """

    height_mm: Floats
    taper_deg: Floats
    convergence_deg: Floats
    width_mm: Floats
    line_mm: Floats
    line_length_mm: float
    line_range_mm: float
    volume_mm3: float


def measured(surface: PreparationSurface, towards_facial: Floats, towards_mesial: Floats) -> Measured:
    """Return the measures; directions as in `mesh.resistance`. Raises ValueError as it."""
    onward = tipping_directions(surface.path, towards_facial, towards_mesial, STATIONS_DEG)
    line = surface.finish_line_mm
    steps = np.roll(line, -1, axis=0) - line
    lengths = np.linalg.norm(steps, axis=1)
    middle = np.asarray(np.average(line + steps / 2, axis=0, weights=lengths))
    profiles = wall_profiles(surface, middle, onward)
    reach = line @ onward.T
    taper = np.array([np.nan if profile is None else lean_deg(profile) for profile in profiles])
    heights = (line - middle) @ surface.path
    return Measured(
        height_mm=np.array([np.nan if p is None else float(p.high[:, 1].max()) - p.foot_mm for p in profiles]),
        taper_deg=taper,
        convergence_deg=taper + np.roll(taper, -STATIONS // 2),
        width_mm=reach.max(axis=0) - reach.min(axis=0),
        line_mm=np.array([np.nan if p is None else p.foot_mm for p in profiles]),
        line_length_mm=float(lengths.sum()),
        line_range_mm=float(np.ptp(heights)),
        volume_mm3=volume_above_line_mm3(surface),
    )


def lean_deg(profile: WallProfile) -> float:
    """Return the lean of a wall against the path over the middle half of its height; nan where there is none. [deg]"""
    top = float(profile.high[:, 1].max())
    bottom = max(profile.foot_mm, float(profile.low[:, 1].min()))
    outer = (top - bottom) * (1 - _MIDDLE) / 2
    rise = profile.high[:, 1] - profile.low[:, 1]
    upward = np.where(rise > 0, rise, 1)
    begin = np.clip((bottom + outer - profile.low[:, 1]) / upward, 0, 1)
    end = np.clip((top - outer - profile.low[:, 1]) / upward, 0, 1)
    share = np.where(rise > 0, end - begin, 0)
    risen = float(share @ rise)
    inward = float(share @ (profile.low[:, 0] - profile.high[:, 0]))
    return float(np.rad2deg(np.arctan2(inward, risen))) if risen > 0 else float("nan")


def volume_above_line_mm3(surface: PreparationSurface) -> float:
    """Return the volume between the sheet and the fan of its finish line about the line's middle. [mm3] Divergence theorem."""
    corners = surface.vertices_mm[surface.faces] - surface.finish_line_mm.mean(axis=0)
    return float(np.einsum("fk,fk->", corners[:, 0], np.cross(corners[:, 1], corners[:, 2])) / _CORNERS)

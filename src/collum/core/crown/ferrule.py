"""The ferrule by sector: how high it is, how thick the wall behind it is after preparation, and where the load meets it.

Height is the sound edge, or the top of the preparation where that is lower, less the finish line; a core adds none. It counts
only where the wall left after reduction is thick enough; where the wall was not measured the height stands, with that said.
Angles are degrees round the neck, 0 facial, 90 mesial, 180 oral, 270 distal.

Not covered: the quality of the dentine, cracks, and the direction of the load beyond the sectors handed in.
"""

from dataclasses import dataclass
from typing import Literal

import numpy as np
from numpy.typing import ArrayLike, NDArray

from collum.evidence import value

Floats = NDArray[np.float64]
Flags = NDArray[np.bool_]
SectorState = Literal["none", "thin wall", "short", "not assessed", "enough, wall not measured", "enough"]
Extent = Literal["none", "partial", "on the loaded sides", "all round", "not assessed"]

SECTORS = 8


@dataclass(frozen=True, slots=True, kw_only=True)
class Sector:
    """One of 8 equal sectors: its least height, wall left and height that counts. None: not measured somewhere in it. [mm]

    `covered_deg` is the part of it that is high enough with no wall known to be thin.
    """

    centre_deg: float
    height_mm: float | None
    wall_left_mm: float | None
    counted_mm: float | None
    covered_deg: float
    loaded: bool
    state: SectorState


@dataclass(frozen=True, slots=True, kw_only=True)
class FerruleMap:
    """The ferrule round the neck. `worst` is the index of the sector that counts least, a loaded one before others.

    `wall_measured` is False where any station has no wall thickness: no verdict better than "in doubt" rests on such a map.
    """

    sectors: tuple[Sector, ...]
    covered_deg: float
    least_loaded_mm: float | None
    extent: Extent
    worst: int
    wall_measured: bool


@dataclass(frozen=True, slots=True, kw_only=True)
class _Stations:
    """Stations, (m,) each; `each_deg` is the arc that one stands for."""

    height: Floats
    left: Floats
    counted: Floats
    enough: Flags
    loads: Flags
    each_deg: float


def ferrule_map(
    theta_deg: ArrayLike,
    height_mm: ArrayLike,
    wall_mm: ArrayLike,
    loaded: ArrayLike,
    *,
    axial_reduction_mm: float,
    wanted_mm: float,
) -> FerruleMap:
    """Return the ferrule by sector, from evenly spaced stations round the neck.

    Parameters
    ----------
    theta_deg : array_like, (m,)
        Angle of each station [deg].
    height_mm : array_like, (m,)
        Sound tooth above the finish line [mm].
    wall_mm : array_like, (m,)
        Thickness of the wall before axial reduction [mm]; nan: not measured.
    loaded : array_like of bool, (m,)
        Stations on the side where the load meets the tooth.
    axial_reduction_mm : float
        Tooth taken from the wall by the preparation [mm].
    wanted_mm : float
        Height from which a ferrule is enough [mm].

    Returns
    -------
    FerruleMap
        One sector after the other, and how far the ferrule reaches.

    Raises
    ------
    ValueError
        Where a sector holds no station or no station is loaded.

    Source
    ------
    Derived; the limits are those of the registry.

    Examples
    --------
    >>> at = np.arange(0, 360, 10)
    >>> found = ferrule_map(at, np.full(36, 2.0), np.full(36, 2.5), at < 90, axial_reduction_mm=1.0, wanted_mm=1.5)
    >>> {sector.state for sector in found.sectors}
    {'enough'}
    """
    theta, loads = np.asarray(theta_deg, dtype=float), np.asarray(loaded, dtype=bool)
    if not loads.any():
        raise ValueError("no station is loaded: a ferrule is judged where the load meets it")
    left = np.broadcast_to(wall_left_mm(wall_mm, axial_reduction_mm), theta.shape)
    counted = counted_height_mm(height_mm, left)
    stations = _Stations(
        height=np.asarray(height_mm, dtype=float),
        left=left,
        counted=counted,
        enough=counted >= wanted_mm,
        loads=loads,
        each_deg=360 / theta.size,
    )
    nearest = np.floor(theta % 360 / (360 / SECTORS) + 0.5).astype(int) % SECTORS
    sectors = tuple(_sector(index, stations, nearest == index) for index in range(SECTORS))
    return FerruleMap(
        sectors=sectors,
        covered_deg=float(stations.enough.sum() * stations.each_deg),
        least_loaded_mm=_least(counted[loads]),
        extent=_extent(counted, loads, wanted_mm),
        worst=min(range(SECTORS), key=lambda i: (sectors[i].counted_mm or 0, not sectors[i].loaded, sectors[i].covered_deg)),
        wall_measured=not bool(np.isnan(left).any()),
    )


def wall_left_mm(wall_mm: ArrayLike, axial_reduction_mm: ArrayLike) -> Floats:
    """Return the wall that preparation leaves: measured thickness less axial reduction, never below 0.

    Parameters
    ----------
    wall_mm, axial_reduction_mm : array_like
        Thickness and reduction [mm].

    Returns
    -------
    ndarray, broadcast shape
        Thickness [mm].

    Source
    ------
    Derived.

    Examples
    --------
    >>> float(wall_left_mm(2.5, 1.0))
    1.5
    """
    return np.asarray(np.maximum(np.asarray(wall_mm, dtype=float) - np.asarray(axial_reduction_mm, dtype=float), 0))


def counted_height_mm(height_mm: ArrayLike, left_mm: ArrayLike) -> Floats:
    """Return the height that counts as ferrule: 0 below the finish line and where the wall left is under its limit.

    A wall that was not measured takes nothing away; an unknown height stays unknown unless the wall is thin.

    Parameters
    ----------
    height_mm : array_like
        Sound tooth above the finish line [mm].
    left_mm : array_like
        Wall after preparation [mm]; nan: not measured.

    Returns
    -------
    ndarray, broadcast shape
        Height [mm].

    Source
    ------
    The limit `plan.limit.wall_thickness_mm` of the registry.

    Examples
    --------
    >>> counted_height_mm([2.0, 2.0, -1.0], [1.5, 0.4, 1.5]).tolist()
    [2.0, 0.0, 0.0]
    """
    height = np.maximum(np.asarray(height_mm, dtype=float), 0)
    thin = np.asarray(left_mm, dtype=float) < value("plan.limit.wall_thickness_mm")
    return np.asarray(np.where(thin, 0, height))


def sound_tooth_above_crest_mm() -> float:
    """Return the sound tooth wanted above the crest for tissue and ferrule.

    Returns
    -------
    float
        Height [mm].

    Source
    ------
    [mclean1998].

    Examples
    --------
    >>> sound_tooth_above_crest_mm() > 0
    True
    """
    return value("restoration.sound_tooth_above_crest_mm")


def sound_tooth_with_post_mm(post_mm: ArrayLike) -> Floats:
    """Return the whole sound tooth wanted with a post: tissue, ferrule, apical seal and the post.

    Parameters
    ----------
    post_mm : array_like
        Length of the post [mm].

    Returns
    -------
    ndarray, same shape
        Length [mm].

    Source
    ------
    [mclean1998].

    Examples
    --------
    >>> float(sound_tooth_with_post_mm(8) - sound_tooth_with_post_mm(0))
    8.0
    """
    post = np.asarray(post_mm, dtype=float)
    return np.asarray(sound_tooth_above_crest_mm() + value("post.apical_seal_least_mm") + post)


def _sector(index: int, stations: _Stations, inside: Flags) -> Sector:
    centre_deg = index * 360 / SECTORS
    if not inside.any():
        raise ValueError(f"no station within the sector at {centre_deg:g} degrees")
    return Sector(
        centre_deg=centre_deg,
        height_mm=_least(stations.height[inside]),
        wall_left_mm=_least(stations.left[inside]),
        counted_mm=_least(stations.counted[inside]),
        covered_deg=float(stations.enough[inside].sum() * stations.each_deg),
        loaded=bool(stations.loads[inside].any()),
        state=_state(stations, inside),
    )


def _state(stations: _Stations, inside: Flags) -> SectorState:
    """What is known to lack comes first, what is not known before any praise."""
    left, counted = stations.left[inside], stations.counted[inside]
    if (stations.height[inside] <= 0).any():
        return "none"
    if (left < value("plan.limit.wall_thickness_mm")).any():
        return "thin wall"
    if (~stations.enough[inside] & ~np.isnan(counted)).any():
        return "short"
    if np.isnan(counted).any():
        return "not assessed"
    return "enough, wall not measured" if np.isnan(left).any() else "enough"


def _extent(counted: Floats, loads: Flags, wanted_mm: float) -> Extent:
    """Called only where the unknown heights cannot change the word."""
    at_worst, at_best = (_extent_of(np.nan_to_num(counted, nan=mm), loads, wanted_mm) for mm in (0, wanted_mm))
    return at_worst if at_worst == at_best else "not assessed"


def _extent_of(counted: Floats, loads: Flags, wanted_mm: float) -> Extent:
    enough = counted >= wanted_mm
    if enough.all():
        return "all round"
    if enough[loads].all():
        return "on the loaded sides"
    return "partial" if (counted > 0).any() else "none"


def _least(mm: Floats) -> float | None:
    return None if np.isnan(mm).any() else float(mm.min())

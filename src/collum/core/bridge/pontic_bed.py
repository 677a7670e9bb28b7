"""Room for a pontic between ridge and opposing tooth, and how deep its bed may go into the tissue over the ridge.

A bed may go as deep as the tissue over the bone allows: depth = tissue - what has to stay - the reserve for the error of the
reading. Between read points it runs straight over triangles, so a scan and five soundings are the same computation. Unknown
points leave their triangles out, and how much of the map that is, is said.
"""

from collections.abc import Sequence
from dataclasses import dataclass
from typing import Literal, get_args

import numpy as np
from numpy.typing import ArrayLike, NDArray
from scipy.spatial import Delaunay, QhullError
from scipy.special import ndtri

from collum.core.bridge.rules import Material
from collum.core.ring import Floats
from collum.evidence import get, value

RoomVerdict = Literal["enough", "tight", "short", "not_assessed"]
RidgeClass = Literal["none", "width", "height", "both"]
WayOut = Literal[
    "other_material",
    "shape_tissue",
    "hygienic_form",
    "adjust_opposing_tooth",
    "raise_bite",
    "add_tissue",
    "form_on_the_ridge",
    "implant",
    "removable_denture",
]

MATERIALS: tuple[Material, ...] = get_args(Material)


@dataclass(frozen=True, slots=True, kw_only=True)
class Room:
    """Vertical room for a pontic of one material: what it needs, from the least to the wanted, and what lacks of the least."""

    material: Material
    least_mm: float
    wanted_mm: float
    lacking_mm: float | None
    verdict: RoomVerdict
    evidence: str


@dataclass(frozen=True, slots=True, kw_only=True)
class BedMap:
    """How deep a bed may go at each point read.

    depth_mm (n,), nan where the tissue is not known, 0 where there is nothing to take; triangles (m, 3) of known points;
    volume_mm3 under them; unknown: points left out; reserve_mm kept for the error of a reading; deepest index, None if all are
    unknown.
    """

    places_mm: Floats
    depth_mm: Floats
    triangles: NDArray[np.int64]
    volume_mm3: float
    unknown: int
    reserve_mm: float
    deepest: int | None


@dataclass(frozen=True, slots=True, kw_only=True)
class BedVerdict:
    """Whether shaping the tissue alone makes the hollow a pontic wants at the middle of the ridge; what lacks of it."""

    verdict: Literal["enough", "short", "not_assessed"]
    wanted_mm: float
    possible_mm: float | None
    lacking_mm: float | None


def room_for(material: Material, room_mm: float | None) -> Room:
    """Return the room of a pontic against its material. Raises ValueError for a negative room."""
    _check_room(room_mm)
    evidence = f"pontic.room.{material}_mm"
    record = get(evidence)
    if room_mm is None:
        verdict: RoomVerdict = "not_assessed"
    elif room_mm < record.value:
        verdict = "short"
    else:
        verdict = "enough" if room_mm >= record.high else "tight"
    lacking = None if room_mm is None else max(0.0, record.value - room_mm)
    return Room(
        material=material, least_mm=record.value, wanted_mm=record.high, lacking_mm=lacking, verdict=verdict, evidence=evidence
    )


def hygienic_form_fits(room_mm: float | None, back: bool) -> bool | None:
    """Return whether a pontic may stand clear of the ridge: back teeth only, gap and thickness; None where room is unknown."""
    _check_room(room_mm)
    if not back:
        return False
    return None if room_mm is None else room_mm >= value("pontic.hygienic.gap_mm") + value("pontic.hygienic.thickness_mm")


def ridge_class(width_lost: bool, height_lost: bool) -> RidgeClass:
    """Return the class of a ridge: no loss, I width, II height, III both."""
    if width_lost:
        return "both" if height_lost else "width"
    return "height" if height_lost else "none"


def ridge_share(ridge: RidgeClass) -> float:
    """Return how common a class of ridge is among gaps. [1] Source: teaching cards, the work behind them not known."""
    return value(f"pontic.ridge.share.{ridge}")


def bed_map(places_mm: ArrayLike, tissue_mm: ArrayLike, error_mm: float | None = None) -> BedMap:
    """Return how deep a bed may go at (n, 2) places with (n,) tissue over bone, nan where unknown.

    `error_mm` is the standard deviation of one reading, by default that of a sounding; the reserve keeps bone clear with the
    probability asked of every cut. Raises ValueError for negative tissue or error and for lists that do not fit.
    """
    places, tissue = np.asarray(places_mm, dtype=float), np.asarray(tissue_mm, dtype=float)
    error = value("neck.error.sounding_mm") if error_mm is None else error_mm
    if places.shape != (len(tissue), 2) or not np.isfinite(places).all():
        raise ValueError("a bed is read at n places of two coordinates, with one tissue each")
    if np.any(tissue < 0) or not error >= 0:
        raise ValueError("tissue and error cannot be negative")
    reserve = float(ndtri(value("plan.confidence.clear_of_bone"))) * error
    depth = np.maximum(tissue - value("pontic.bed.tissue_left_mm") - reserve, 0)
    known = np.flatnonzero(np.isfinite(tissue))
    triangles = known[_triangles(places[known])]
    return BedMap(
        places_mm=places,
        depth_mm=depth,
        triangles=triangles,
        volume_mm3=_volume(places, depth, triangles),
        unknown=len(tissue) - len(known),
        reserve_mm=reserve,
        deepest=int(np.nanargmax(depth)) if len(known) else None,
    )


def bed_verdict(bed: BedMap, middle: int) -> BedVerdict:
    """Return whether the tissue at the middle of the ridge, a point of the map, allows the hollow a pontic wants."""
    wanted, possible = value("pontic.bed.concavity_mm"), float(bed.depth_mm[middle])
    if np.isnan(possible):
        return BedVerdict(verdict="not_assessed", wanted_mm=wanted, possible_mm=None, lacking_mm=None)
    lacking = max(0.0, wanted - possible)
    return BedVerdict(verdict="short" if lacking else "enough", wanted_mm=wanted, possible_mm=possible, lacking_mm=lacking)


def ways_out(room: Room, room_mm: float | None, bed: BedVerdict, *, back: bool) -> tuple[WayOut, ...]:
    """Return what else may be done where room or tissue is short, in the order of burden; empty where both are enough.

    Taking tissue away helps room as far as the bed allows; a form clear of the ridge needs room and no bed.
    """
    found: list[WayOut] = []
    if room.verdict == "short" and room_mm is not None:
        if _roomier(room_mm, room.material):
            found.append("other_material")
        if bed.possible_mm and room.lacking_mm is not None and bed.possible_mm >= room.lacking_mm:
            found.append("shape_tissue")
        found += ["adjust_opposing_tooth", "raise_bite"]
    if bed.verdict == "short":
        if hygienic_form_fits(room_mm, back):
            found.append("hygienic_form")
        found += ["form_on_the_ridge", "add_tissue"]
    return (*found, "implant", "removable_denture") if found else ()


def _roomier(room_mm: float, material: Material) -> Sequence[Material]:
    """Return the materials a room is not short for, but this one."""
    return [other for other in MATERIALS if other != material and room_for(other, room_mm).verdict != "short"]


def _check_room(room_mm: float | None) -> None:
    if room_mm is not None and not room_mm >= 0:
        raise ValueError(f"room {room_mm} mm: cannot be negative")


def _triangles(places: Floats) -> NDArray[np.int64]:
    """Return (m, 3) triangles over the points, none where they are fewer than three or lie on one line."""
    none = np.zeros((0, 3), dtype=np.int64)
    try:
        return np.asarray(Delaunay(places).simplices, dtype=np.int64) if len(places) > places.shape[1] else none
    except QhullError:
        return none


def _volume(places: Floats, depth: Floats, triangles: NDArray[np.int64]) -> float:
    corner = places[triangles]
    first, second = corner[:, 1] - corner[:, 0], corner[:, 2] - corner[:, 0]
    area = np.abs(first[:, 0] * second[:, 1] - first[:, 1] * second[:, 0]) / 2
    return float(area @ depth[triangles].mean(axis=1)) if len(triangles) else 0.0

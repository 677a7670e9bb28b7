"""The pontics of a bridge: room over the ridge, how deep the bed may go, and what is left where either is short."""

from collections.abc import Mapping, Sequence
from dataclasses import dataclass

from collum.case.bridge_layout import BED_POINTS
from collum.core.bridge.pontic_bed import (
    BedMap,
    BedVerdict,
    RidgeClass,
    Room,
    WayOut,
    bed_map,
    bed_verdict,
    hygienic_form_fits,
    ways_out,
)
from collum.core.tooth import dimensions
from collum.evidence import value
from collum.plan.bridge.units import Unit

_CANINE = 3


@dataclass(frozen=True, slots=True, kw_only=True)
class PonticPlan:
    """One pontic: the bed as deep as the tissue read at the five points allows, and what may be done instead.

    `bed` is None where no tissue was read, `ridge` where its shape was not told. The points lie in the middle of the ridge and
    half-way to each side of the pontic.
    """

    number: int
    ridge: RidgeClass | None
    tissue_mm: tuple[float, ...] | None
    places_mm: list[list[float]]
    bed: BedMap | None
    verdict: BedVerdict
    hygienic_form_fits: bool | None
    ways_out: tuple[WayOut, ...]


def plan_pontics(
    units: Sequence[Unit],
    room: Room,
    room_mm: float | None,
    tissue_mm: Mapping[int, Sequence[float]],
    ridges: Mapping[int, RidgeClass],
) -> tuple[PonticPlan, ...]:
    """Return the plan of every pontic; `tissue_mm` has five thicknesses by its number, nan where not measurable."""
    return tuple(
        _pontic(unit, room, room_mm, tissue_mm.get(unit.number), ridges.get(unit.number))
        for unit in units
        if unit.abutment is None
    )


def _pontic(
    unit: Unit, room: Room, room_mm: float | None, tissue_mm: Sequence[float] | None, ridge: RidgeClass | None
) -> PonticPlan:
    back = unit.position > _CANINE
    bed = None if tissue_mm is None else bed_map(_points_mm(unit), tissue_mm)
    verdict = _unread() if bed is None else bed_verdict(bed, BED_POINTS.index("middle"))
    return PonticPlan(
        number=unit.number,
        ridge=ridge,
        tissue_mm=None if tissue_mm is None else tuple(tissue_mm),
        places_mm=_points_mm(unit),
        bed=bed,
        verdict=verdict,
        hygienic_form_fits=hygienic_form_fits(room_mm, back),
        ways_out=ways_out(room, room_mm, verdict, back=back),
    )


def _unread() -> BedVerdict:
    return BedVerdict(verdict="not_assessed", wanted_mm=value("pontic.bed.concavity_mm"), possible_mm=None, lacking_mm=None)


def _points_mm(unit: Unit) -> list[list[float]]:
    """Return the five points, x towards mesial, y towards facial, by the handbook's width and depth of the tooth."""
    aside, across = unit.width_mm / 4, dimensions(unit.number).bl_crown_mm / 4
    return [[0, 0], [aside, 0], [-aside, 0], [0, across], [0, -across]]

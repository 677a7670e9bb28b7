"""A bridge of the case judged as a whole: roots, rules, connectors, load, path and room. Guides, not laws: nothing closes it.

What was not recorded is not assessed and never passes; where the handbook or a least size stands in for it, `assumed` says so.
"""

from collections.abc import Collection, Mapping, Sequence
from dataclasses import dataclass

import numpy as np

from collum.case import Case
from collum.core.bridge.beam import Section
from collum.core.bridge.loads import Carried, carried
from collum.core.bridge.pontic_bed import Room, room_for
from collum.core.bridge.rules import (
    Abutment,
    AreaRatio,
    ConnectorCheck,
    ConnectorNeed,
    Material,
    Rule,
    area_ratio,
    bending_factor,
    check_connector,
    connector_need,
    lever_mm,
    rules_of_thumb,
)
from collum.core.ring import Floats
from collum.core.tooth import arch
from collum.plan.bridge.pontics import PonticPlan, plan_pontics
from collum.plan.bridge.units import Unit, beyond, units_of
from collum.plan.bridge.wishes import BridgeWishes, wishes_of
from collum.plan.lengthening.choice.choice import none_open
from collum.plan.lengthening.planned import PlannedTooth


@dataclass(frozen=True, slots=True, kw_only=True)
class PathReserve:
    """Whether the path asked for, tilted against the long axes, clears the walls of an abutment: taper of a wall less tilt."""

    number: int
    tilt_deg: float
    reserve_deg: float | None


@dataclass(frozen=True, slots=True, kw_only=True)
class FurtherAbutment:
    """What the next tooth beyond an end would add to the roots, had it lost no attachment."""

    number: int
    ratio: AreaRatio


@dataclass(frozen=True, slots=True, kw_only=True)
class BridgePlan:
    """All that is said of one bridge; n units in order along the arch from the right, n - 1 connectors.

    `ratio_if_whole` is the ratio of areas had no abutment lost anything: where even that is short, the rule is broken whatever
    was not read. `ratio_after` is the ratio once the planned routes have taken bone, None where none takes any. `further` is
    empty where there is root enough by every table. `sections` are those computed with; `section_wished` is False where they
    are the least of the material. `closed`: abutments for which no route is open.
    """

    units: tuple[Unit, ...]
    material: Material
    ratio: AreaRatio
    ratio_if_whole: AreaRatio
    ratio_after: AreaRatio | None
    further: tuple[FurtherAbutment, ...]
    rules: tuple[Rule, ...]
    sections: tuple[Section, ...]
    section_wished: bool
    connectors: tuple[ConnectorCheck, ...]
    bending_factor: float
    levers_mm: Floats
    carried: Carried
    room: Room
    room_mm: float | None
    pontics: tuple[PonticPlan, ...]
    path: tuple[PathReserve, ...]
    closed: tuple[int, ...]


def bridge_of_case(case: Case, index: int, teeth: Sequence[PlannedTooth]) -> BridgePlan:
    """Return the plan of a bridge by its index, with what the case wishes for it; `teeth`: the plans of its teeth.

    Raises BridgeFault where no plan can be made.
    """
    return plan_bridge(case, index, wishes_of(case.bridges[index]), _bone_lost_mm(teeth), _without_route(teeth))


def plan_bridge(
    case: Case, bridge: int, wishes: BridgeWishes, bone_lost_mm: Mapping[int, float], no_route: Collection[int] = ()
) -> BridgePlan:
    """Return the plan of one bridge of the case, by its index. Raises BridgeFault.

    `bone_lost_mm`: what the planned route of an abutment takes from its attachment, by the number of the tooth; `no_route`:
    teeth for which no route is open.
    """
    units = units_of(case, bridge, bone_lost_mm)
    abutments = [unit.abutment for unit in units if unit.abutment is not None]
    missing = [unit.kind for unit in units if unit.abutment is None]
    after = [unit.abutment_after for unit in units if unit.abutment_after is not None]
    ratio = area_ratio(abutments, missing)
    known = ratio if ratio.verdict != "not_assessed" else area_ratio([Abutment(kind=one.kind) for one in abutments], missing)
    longest = longest_row(units)
    sections, checks = _connectors(units, wishes)
    places = np.array([unit.place_mm for unit in units])
    hindmost = max(unit.position for unit in units)
    room = wishes.room_mm if wishes.room_mm is not None else _recorded_room(case, units)
    return BridgePlan(
        units=units,
        material=wishes.material,
        ratio=ratio,
        ratio_if_whole=area_ratio([Abutment(kind=abutment.kind) for abutment in abutments], missing),
        ratio_after=area_ratio(after, missing) if after != abutments else None,
        further=() if known.verdict == "met" else _further(units, missing),
        rules=rules_of_thumb(abutments, len(missing), wishes.material, hindmost, longest),
        sections=sections,
        section_wished=None not in (wishes.connector_height_mm, wishes.connector_width_mm),
        connectors=checks,
        bending_factor=float(bending_factor(longest)),
        levers_mm=lever_mm(places, [unit.abutment is not None for unit in units]),
        carried=carried(
            places,
            [unit.giving for unit in units],
            sections,
            wishes.material,
            [unit.position for unit in units],
            [one.width_mm / (one.width_mm + two.width_mm) for one, two in zip(units, units[1:], strict=False)],
        ),
        room=room_for(wishes.material, room),
        room_mm=room,
        pontics=plan_pontics(units, room_for(wishes.material, room), room, wishes.tissue_mm, wishes.ridges),
        path=_path(case, bridge, units),
        closed=tuple(unit.number for unit in units if unit.abutment is not None and unit.number in no_route),
    )


def _further(units: Sequence[Unit], missing: Sequence[str]) -> tuple[FurtherAbutment, ...]:
    """Return the ratio with one more tooth beyond each end; an attachment that is not known counts as whole in it."""
    present = [unit.abutment for unit in units if unit.abutment is not None]
    carrying = [
        Abutment(kind=one.kind, attached_share=1.0 if one.attached_share is None else one.attached_share) for one in present
    ]
    return tuple(
        FurtherAbutment(number=number, ratio=area_ratio([*carrying, Abutment(kind=f"{arch(number)}{number % 10}")], missing))
        for number in (beyond(units[0].number, -1), beyond(units[-1].number, 1))
        if number is not None
    )


def _recorded_room(case: Case, units: Sequence[Unit]) -> float | None:
    """Return the least room to the opposing tooth recorded where a pontic will stand."""
    pontics = {unit.number for unit in units if unit.abutment is None}
    rooms = [tooth.facts.interocclusal_space_mm for tooth in case.teeth if tooth.number in pontics]
    return min((room for room in rooms if room is not None), default=None)


def longest_row(units: Sequence[Unit]) -> int:
    """Return the longest row of pontics."""
    return max(_row(units, i) for i in range(len(units)))


def _row(units: Sequence[Unit], at: int) -> int:
    """Return how many pontics stand in a row from unit `at` on."""
    count = 0
    while at + count < len(units) and units[at + count].abutment is None:
        count += 1
    return count


def _rows_beside(units: Sequence[Unit], connector: int) -> int:
    """Return the longest row of pontics a connector borders on, at least one."""
    begins = [i for i in range(len(units)) if i == 0 or units[i - 1].abutment is not None]
    rows = [(i, i + _row(units, i)) for i in begins]
    return max((end - start for start, end in rows if start <= connector + 1 and connector < end), default=0) or 1


def need_between(material: Material, units: Sequence[Unit], connector: int) -> ConnectorNeed:
    """Return what a material needs at a connector, by the longest row it borders on and the tooth farther back."""
    hindmost = max(units[connector].position, units[connector + 1].position)
    return connector_need(material, _rows_beside(units, connector), hindmost)


def _connectors(units: Sequence[Unit], wishes: BridgeWishes) -> tuple[tuple[Section, ...], tuple[ConnectorCheck, ...]]:
    """Return the sections computed with and what they lack; a size that was not wished is the least, and not assessed."""
    sections, checks = [], []
    for i in range(len(units) - 1):
        need = need_between(wishes.material, units, i)
        height = wishes.connector_height_mm if wishes.connector_height_mm is not None else need.height_mm
        unit = Section(height_mm=height, width_mm=1, shape=wishes.shape)
        width = wishes.connector_width_mm if wishes.connector_width_mm is not None else need.area_mm2 / unit.area_mm2()
        section = Section(height_mm=height, width_mm=width, shape=wishes.shape)
        wished = None not in (wishes.connector_height_mm, wishes.connector_width_mm)
        sections.append(section)
        checks.append(check_connector(need, section.area_mm2() if wished else None, wishes.connector_height_mm))
    return tuple(sections), tuple(checks)


def _path(case: Case, bridge: int, units: Sequence[Unit]) -> tuple[PathReserve, ...]:
    """Return the reserve of every abutment; a path that was not recorded runs along the long axes."""
    path = case.bridges[bridge].path
    tilt = 0.0 if path is None else float(path.tilt_deg)
    return tuple(
        PathReserve(
            number=unit.number,
            tilt_deg=tilt,
            reserve_deg=None if unit.convergence_deg is None else unit.convergence_deg / 2 - tilt,
        )
        for unit in units
        if unit.abutment is not None
    )


def _without_route(teeth: Sequence[PlannedTooth]) -> set[int]:
    """Return the teeth for which every route is short or closed."""
    return {tooth.tooth.number for tooth in teeth if none_open(tooth.routes)}


def _bone_lost_mm(teeth: Sequence[PlannedTooth]) -> dict[int, float]:
    """Return what the recommended route of each tooth takes from its attachment: bone all round on average, and movement."""
    lost = {}
    for tooth in teeth:
        route = None if tooth.recommended is None else tooth.route(tooth.recommended)
        if route is not None and route.lines is not None:
            treatment = route.lines.treatment
            lost[tooth.tooth.number] = float(treatment.bone_mm.mean()) + treatment.extruded_mm
    return {number: mm for number, mm in lost.items() if mm > 0}

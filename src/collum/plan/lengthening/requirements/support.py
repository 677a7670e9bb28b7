"""Requirements of what carries the crown: resistance, furcation, crown-to-root, attached area, and what shows.

Gum that is cut changes the finish line and with it resistance and the room to the furcation; crown-to-root and attached area
change only where the crest comes to lie further apical along the root. What was not read never counts as kept: a root length,
a junction or a contact point from the handbook leaves its requirement at best in doubt.
"""

from collections.abc import Mapping

import numpy as np

from collum.case.facts import ProximalSide
from collum.case.model import Tooth
from collum.core import tooth as anatomy
from collum.core.crown.form import height_for_half_wall_mm
from collum.core.ring import ORAL_DEG, QUARTER_DEG, STATIONS, Floats, running_mean
from collum.core.support.support import attached_area_share
from collum.evidence import value
from collum.plan.lengthening.levels.prepared import Prepared
from collum.plan.lengthening.procedures.act import Act
from collum.plan.lengthening.requirements.verdict import Reserve
from collum.plan.lengthening.wishes import Wishes

_SIDES = {"facial": 0, "mesial": QUARTER_DEG, "oral": ORAL_DEG, "distal": 3 * QUARTER_DEG}
_PROXIMAL = ("mesial", "distal")
FAR_MM = 100  # where a rule says nothing, its limit is this far away

Reserves = dict[str, tuple[Reserve, ...]]


def support_of(prepared: Prepared, wishes: Wishes, line_mm: Floats, settled_mm: Floats, act: Act) -> Reserves:
    """Return the reserves of support and sight that apply."""
    found = {
        "resistance": _resistance(prepared, wishes, line_mm, act),
        "furcation": _furcation(prepared, wishes, line_mm, settled_mm, act),
        "visible_zone": _visible_zone(prepared, wishes, settled_mm),
    }
    if act.moves_crest:
        found["crown_to_root"] = _crown_to_root(prepared, wishes)
        found["attached_area"] = _attached_area(prepared, wishes)
        if prepared.inputs.tooth.restoration.visible_zone:
            found["papilla"] = _papilla(prepared, wishes)
    return {name: (reserve,) for name, reserve in found.items() if reserve is not None}


def missing_of_support(prepared: Prepared, act: Act) -> dict[str, str]:
    """Return, for each requirement of support that cannot be assessed, the fact it lacks."""
    if not act.moves_crest:
        return {}
    lacking = {} if prepared.occlusal_edge_mm is not None else {"crown_to_root": "crown_height"}
    tooth = prepared.inputs.tooth
    if tooth.restoration.visible_zone and not contacts_mm(tooth):
        lacking["papilla"] = "contact_point"
    return lacking


def contacts_mm(tooth: Tooth) -> Mapping[ProximalSide, float]:
    """Return the contact points that were read, above the margin, by side."""
    return {} if tooth.facts.contact_point_mm is None else tooth.facts.contact_point_mm.by_side()


def station_of(side: str) -> int:
    """Return the station in the middle of a side."""
    return int(_SIDES[side] / (360 / STATIONS))


def entrances_mm(prepared: Prepared) -> dict[int, Floats]:
    """Return for each station with a furcation its entrance (n,) over the draws, relative to the margin; empty for one root.

    From the junction less the trunk. Where no involvement is recorded, the bone covers the entrance before the act.
    """
    tooth = prepared.inputs.tooth
    found = {}
    for angle, handbook_mm in anatomy.furcation_trunks_mm(tooth.number).items():
        station = int(angle / (360 / STATIONS))
        entered = tooth.root.trunk_mm
        spread = value("plan.trunk_measured_sd_mm" if entered is not None else "plan.trunk_sd_mm")
        trunk = (entered if entered is not None else handbook_mm) + spread * prepared.root.trunk
        entrance = junction_mm(prepared, station) - np.maximum(trunk, 0)
        crest = crest_before_mm(prepared, station)
        bare = _involved(tooth, angle)
        found[station] = np.asarray(np.maximum(entrance, crest) if bare else np.minimum(entrance, crest))
    return found


def junction_mm(prepared: Prepared, station: int) -> Floats:
    """Return (n,) the cemento-enamel junction at a station relative to the margin.

    As read; else as far above the crest before the act as is usual.
    """
    if prepared.cej_mm is not None:
        return np.asarray(prepared.cej_mm[station])
    usual, spread = value("plan.healthy_crest_below_cej_mm"), value("plan.healthy_crest_below_cej_sd_mm")
    return np.asarray(crest_before_mm(prepared, station) + usual + spread * prepared.root.junction)


def crest_before_mm(prepared: Prepared, station: int) -> Floats:
    """Return (n,) where on the tooth the crest stood before the act, relative to the margin now."""
    lowered = np.broadcast_to(prepared.lowered_mm, prepared.crest_depth_mm.shape)
    return np.asarray(lowered[station] - prepared.crest_depth_mm[station])


def root_length_mm(prepared: Prepared) -> Floats:
    """Return (n,) the length of the root from the junction: as entered, or the handbook's with its spread. [mm]"""
    entered = prepared.inputs.tooth.root.length_mm
    if entered is not None:
        return np.asarray(entered + value("plan.root.measured_sd_mm") * prepared.root.length)
    handbook = anatomy.dimensions(prepared.inputs.tooth.number).root_length_mm
    return np.asarray(handbook * (1 + value("plan.root.handbook_sd_share") * prepared.root.length))


def root_is_read(prepared: Prepared) -> bool:
    """Return whether root length and junction were read: else the figures of support rest on the handbook."""
    return prepared.inputs.tooth.root.length_mm is not None and prepared.cej_mm is not None


def crown_to_root_draws(prepared: Prepared, wishes: Wishes) -> dict[str, Floats] | None:
    """Return (n,) crown-to-root ratios on the proximal crest, by side; None without crown heights.

    `prepared` is the neck after the act. The planned edge stands for the edge; an extruded tooth is trimmed back to it.
    """
    if prepared.occlusal_edge_mm is None:
        return None
    edge = prepared.occlusal_edge_mm + wishes.top_mm + wishes.reduction_mm
    root, most = root_length_mm(prepared), value("plan.crown_to_root_said_up_to")
    ratios = {}
    for side in _PROXIMAL:
        station = station_of(side)
        outside = edge[station] + prepared.crest_depth_mm[station]
        below = junction_mm(prepared, station) + prepared.crest_depth_mm[station]
        least = value("plan.solver.slack_room_mm")
        ratios[side] = np.asarray(np.minimum(np.maximum(outside, 0) / np.maximum(root - below, least), most))
    return ratios


def resisting_bases_mm(wishes: Wishes, act: Act) -> dict[int, float]:
    """Return for the middle of each side the base a crown would roll over; proximal grooves halve it from facial to oral."""
    facial_oral, mesial_distal = wishes.base_mm
    if act.grooves:
        facial_oral *= value("plan.groove_base_share")
    return {
        station_of(side): mesial_distal if side in _PROXIMAL else facial_oral for side in ("facial", "mesial", "oral", "distal")
    }


def _resistance(prepared: Prepared, wishes: Wishes, line_mm: Floats, act: Act) -> Reserve | None:
    """Half of every wall must resist a crown that rolls over the opposite side: its height against base times sin of the
    convergence.
    """
    if prepared.occlusal_edge_mm is None:
        return None
    height = running_mean(prepared.occlusal_edge_mm + wishes.top_mm - line_mm)
    needed = {
        station: float(height_for_half_wall_mm(base, wishes.convergence_deg))
        for station, base in resisting_bases_mm(wishes, act).items()
    }
    return _at(wishes, "resistance", {station: height[station] - mm for station, mm in needed.items()})


def _furcation(prepared: Prepared, wishes: Wishes, line_mm: Floats, settled_mm: Floats, act: Act) -> Reserve | None:
    """The finish line keeps its distance to the entrance, the settled margin lies coronal of it, lowered bone covers it."""
    entrances = entrances_mm(prepared)
    if not entrances:
        return None
    limit = wishes.rule("furcation").limit
    lower_molar = not anatomy.is_upper(prepared.inputs.tooth.number)
    to_margin = value("plan.limit.furcation_to_margin_mm") if act.moves_crest and lower_molar else 0
    rooms = {}
    for station, entrance in entrances.items():
        room = np.minimum(line_mm[station] - limit, settled_mm[station] - to_margin)
        if act.moves_crest:
            room = np.minimum(room, -prepared.crest_depth_mm[station])
        rooms[station] = room - entrance
    return _at(wishes, "furcation", rooms)


def _crown_to_root(prepared: Prepared, wishes: Wishes) -> Reserve | None:
    ratios = crown_to_root_draws(prepared, wishes)
    if ratios is None:
        return None
    mean = np.mean(list(ratios.values()), axis=0)
    rule = wishes.rule("crown_to_root")
    return _whole(prepared, wishes, "crown_to_root", rule.limit - mean, at_most=True)


def _attached_area(prepared: Prepared, wishes: Wishes) -> Reserve:
    """Share of a healthy tooth's attached area left, from the share of the root's length out of bone, on the mean crest."""
    below = np.mean([junction_mm(prepared, s) + prepared.crest_depth_mm[s] for s in range(STATIONS)], axis=0)
    several = bool(anatomy.furcation_trunks_mm(prepared.inputs.tooth.number))
    root = np.maximum(root_length_mm(prepared), value("plan.solver.slack_room_mm"))
    healthy = attached_area_share(value("plan.healthy_crest_below_cej_mm") / root, several)
    found = attached_area_share(below / root, several)
    left = np.divide(found, healthy, out=np.zeros_like(found), where=healthy > 0)  # a root that short has none to lose
    return _whole(prepared, wishes, "attached_area", left - wishes.rule("attached_area").limit)


def _papilla(prepared: Prepared, wishes: Wishes) -> Reserve | None:
    """The contact point may lie only so far above the crest for a papilla to fill the space."""
    contacts = contacts_mm(prepared.inputs.tooth)
    if not contacts:
        return None
    limit = wishes.rule("papilla").limit
    distances = {station_of(side): mm + prepared.crest_depth_mm[station_of(side)] for side, mm in contacts.items()}
    return _at(wishes, "papilla", {station: limit - mm for station, mm in distances.items()}, at_most=True)


def _visible_zone(prepared: Prepared, wishes: Wishes, settled_mm: Floats) -> Reserve | None:
    """The settled facial margin may differ from the mirror tooth's only so much."""
    tooth = prepared.inputs.tooth
    mirror = tooth.facts.mirror_margin_mm
    if not tooth.restoration.visible_zone or mirror is None:
        return None
    difference = np.abs(settled_mm[0] - mirror)
    return _at(wishes, "visible_zone", {0: wishes.rule("visible_zone").limit - difference}, at_most=True)


def _at(wishes: Wishes, name: str, rooms: Mapping[int, Floats], *, at_most: bool = False) -> Reserve:
    """Return the reserve at a few stations, each (n,)."""
    stations = np.isin(np.arange(STATIONS), list(rooms))
    amount = np.full((STATIONS, next(iter(rooms.values())).size), float(FAR_MM))
    for station, room in rooms.items():
        amount[station] = room
    return Reserve(rule=wishes.rule(name), amount=amount, stations=stations, smooth=False, at_most=at_most)


def _whole(prepared: Prepared, wishes: Wishes, name: str, amount: Floats, *, at_most: bool = False) -> Reserve:
    """Return the reserve (n,) of the whole tooth; without root or junction as read it rests on the handbook."""
    return Reserve(
        rule=wishes.rule(name),
        amount=amount[None, :],
        stations=np.ones(1, dtype=bool),
        at_most=at_most,
        handbook=not root_is_read(prepared),
    )


def _involved(tooth: Tooth, angle_deg: int) -> bool:
    """Return whether bone has left the entrance at this side, as recorded."""
    return any(entry.grade > 0 and _SIDES[entry.side] == angle_deg for entry in tooth.facts.furcation or ())

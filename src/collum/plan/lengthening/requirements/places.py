"""Places round the neck where requirements are judged at a few stations, or for the whole tooth."""

from collections.abc import Mapping

import numpy as np

from collum.case.facts import ProximalSide
from collum.case.model import SITE_ANGLE_DEG, Tooth, site_angle_deg
from collum.core.ring import ORAL_DEG, QUARTER_DEG, STATIONS, STATIONS_DEG, Floats, angular_distance_deg
from collum.plan.lengthening.levels.prepared import Prepared
from collum.plan.lengthening.requirements.bound import FAR_MM
from collum.plan.lengthening.requirements.root import root_is_read
from collum.plan.lengthening.requirements.verdict import Reserve
from collum.plan.lengthening.wishes import Rule

SIDES = {"facial": 0, "mesial": QUARTER_DEG, "oral": ORAL_DEG, "distal": 3 * QUARTER_DEG}
PROXIMAL = ("mesial", "distal")


def station_of(side: str) -> int:
    """Return the station in the middle of a side."""
    return int(SIDES[side] / (360 / STATIONS))


def stations_at(site: str) -> np.ndarray:
    """Return (36,) bool: the stations of a site, half-way to the next that has a name."""
    own_deg = site_angle_deg(site)
    others = [angular_distance_deg(STATIONS_DEG, angle) for angle in SITE_ANGLE_DEG.values() if angle != own_deg]
    return np.asarray(angular_distance_deg(STATIONS_DEG, own_deg) <= np.min(others, axis=0))


def contacts_mm(tooth: Tooth) -> Mapping[ProximalSide, float]:
    """Return the contact points that were read, above the margin, by side."""
    return {} if tooth.facts.contact_point_mm is None else tooth.facts.contact_point_mm.by_side()


def reserve_at(rule: Rule, rooms: Mapping[int, Floats], *, at_most: bool = False) -> Reserve:
    """Return the reserve at a few stations, each (n,)."""
    stations = np.isin(np.arange(STATIONS), list(rooms))
    amount = np.full((STATIONS, next(iter(rooms.values())).size), float(FAR_MM))
    for station, room in rooms.items():
        amount[station] = room
    return Reserve(rule=rule, amount=amount, stations=stations, smooth=False, at_most=at_most)


def reserve_of_share(rule: Rule, holds: np.ndarray) -> Reserve:
    """Return the reserve of the share of the way round on which something holds, (36, n) bool."""
    return Reserve(rule=rule, amount=(holds.mean(axis=0) - rule.limit)[None, :], stations=np.ones(1, dtype=bool))


def reserve_of_whole(prepared: Prepared, rule: Rule, amount: Floats, *, at_most: bool = False) -> Reserve:
    """Return the reserve (n,) of the whole tooth; without root or junction as read it rests on the handbook."""
    return Reserve(
        rule=rule,
        amount=amount[None, :],
        stations=np.ones(1, dtype=bool),
        at_most=at_most,
        handbook=not root_is_read(prepared),
    )

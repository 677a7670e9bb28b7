"""Places round the neck where requirements are judged at a few stations, or for the whole tooth."""

from collections.abc import Mapping

import numpy as np

from collum.case.facts import ProximalSide
from collum.case.model import Tooth
from collum.core.ring import ORAL_DEG, QUARTER_DEG, STATIONS, Floats
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


def reserve_of_whole(prepared: Prepared, rule: Rule, amount: Floats, *, at_most: bool = False) -> Reserve:
    """Return the reserve (n,) of the whole tooth; without root or junction as read it rests on the handbook."""
    return Reserve(
        rule=rule,
        amount=amount[None, :],
        stations=np.ones(1, dtype=bool),
        at_most=at_most,
        handbook=not root_is_read(prepared),
    )

"""What the rules say of a bridge: area of roots, rules of thumb, connectors and levers.

Teeth are named by kind: jaw and position, "upper6" the upper first molar. The ratio of areas is taken within one table of root
areas at a time, because the tables differ by up to a factor of two; where tables fall on both sides of the limit the answer is
"table_dependent". It is a guide, not a law: four incisors are often carried by two canines though the number is short.
"""

from collections.abc import Mapping, Sequence
from dataclasses import dataclass
from typing import Literal

import numpy as np
from numpy.typing import ArrayLike

from collum.core.ring import Floats
from collum.evidence import value

Table = Literal["jepsen", "boyd", "freeman", "mowry"]
Material = Literal["metal", "metal_ceramic", "lithium_disilicate", "monolithic_zirconia"]
AreaVerdict = Literal["met", "below", "table_dependent", "not_assessed"]
Verdict = Literal["met", "below", "not_assessed"]
RuleKey = Literal["attached_share", "pontics_per_abutment", "units_on_root_filled", "hindmost", "pontics_in_a_row"]

TABLES: tuple[Table, ...] = ("jepsen", "boyd", "freeman", "mowry")
_CANINE = 3


@dataclass(frozen=True, slots=True, kw_only=True)
class Abutment:
    """A tooth that carries: its kind, the share of its root's area still attached (None: not known), and root filling."""

    kind: str
    attached_share: float | None = 1.0
    root_filled: bool | None = None


@dataclass(frozen=True, slots=True, kw_only=True)
class AreaRatio:
    """Area of the abutments over area of the teeth replaced, table by table (those that hold every tooth), and what follows."""

    ratios: Mapping[Table, float]
    verdict: AreaVerdict
    limit: float


@dataclass(frozen=True, slots=True, kw_only=True)
class Rule:
    """A rule of thumb: its key, the value found (None: not known), the limit and which side of it is allowed."""

    key: RuleKey
    found: float | None
    limit: float
    verdict: Verdict
    evidence: str


@dataclass(frozen=True, slots=True, kw_only=True)
class ConnectorNeed:
    """Least connector of a material: area and height, with the keys of the registry they are from."""

    area_mm2: float
    height_mm: float
    area_evidence: str
    height_evidence: str


@dataclass(frozen=True, slots=True, kw_only=True)
class ConnectorCheck:
    """A connector against what its material needs; a lack is 0 where nothing lacks and None where a size is not known."""

    need: ConnectorNeed
    lacking_area_mm2: float | None
    lacking_height_mm: float | None
    verdict: Verdict


def root_area_mm2(kind: str, table: Table) -> float | None:
    """Return the area of a root by one table, None where the table has no such tooth. [mm2]"""
    try:
        return value(f"bridge.root_area.{table}.{kind}_mm2")
    except KeyError:
        return None


def area_ratio(abutments: Sequence[Abutment], missing: Sequence[str]) -> AreaRatio:
    """Return the ratio under every table that holds all the teeth. Raises ValueError without abutment or without gap.

    Source of the rule: [ante1926]. An abutment whose attached share is not known leaves the rule not assessed.
    """
    if not abutments or not missing:
        raise ValueError("a bridge has at least one abutment and replaces at least one tooth")
    limit = value("bridge.area_ratio_least")
    ratios = {table: ratio for table in TABLES if (ratio := _ratio(abutments, missing, table)) is not None}
    met = {ratio >= limit for ratio in ratios.values()}
    verdict: AreaVerdict = "not_assessed"
    if len(met) == 1:
        verdict = "met" if met.pop() else "below"
    elif met:
        verdict = "table_dependent"
    return AreaRatio(ratios=ratios, verdict=verdict, limit=limit)


def _ratio(abutments: Sequence[Abutment], missing: Sequence[str], table: Table) -> float | None:
    carrying = [_attached(root_area_mm2(tooth.kind, table), tooth.attached_share) for tooth in abutments]
    replaced = [root_area_mm2(kind, table) for kind in missing]
    known = [area for area in (*carrying, *replaced) if area is not None]
    if len(known) < len(carrying) + len(replaced):
        return None
    return sum(known[: len(carrying)]) / sum(known[len(carrying) :])


def _attached(area_mm2: float | None, share: float | None) -> float | None:
    return None if area_mm2 is None or share is None else area_mm2 * share


def bending_factor(pontics: ArrayLike, thickness_ratio: ArrayLike = 1.0) -> Floats:
    """Return how often more a span bends than one of a single pontic of the same section: pontics3 / thickness3. [1]

    Source: [shillingburg], read; statics gives the same for equal pontics. Raises ValueError below one pontic and for a
    thickness of 0 or less.
    """
    count, thickness = np.asarray(pontics, dtype=float), np.asarray(thickness_ratio, dtype=float)
    if np.any(count < 1) or np.any(thickness <= 0):
        raise ValueError("at least one pontic, and a thickness above 0")
    return np.asarray((count / thickness) ** 3)


def rules_of_thumb(
    abutments: Sequence[Abutment], pontics: int, material: Material, hindmost: int, in_a_row: int
) -> tuple[Rule, ...]:
    """Return the rules a bridge keeps or breaks: attachment, count of pontics, root fillings, reach of a material.

    `hindmost` is the position from the midline of the tooth farthest back (1 to 8), `in_a_row` the longest row of pontics.
    """
    shares = [tooth.attached_share for tooth in abutments]
    filled = [tooth.root_filled for tooth in abutments]
    units = len(abutments) + pontics
    rules = [
        _rule("attached_share", _least(shares), "bridge.attached_share_least", at_least=True),
        _rule("pontics_per_abutment", pontics / len(abutments), "bridge.pontics_per_abutment_most"),
    ]
    if any(filled):
        rules.append(_rule("units_on_root_filled", units, "bridge.units_on_root_filled_most"))
    elif None in filled:
        rules.append(_rule("units_on_root_filled", None, "bridge.units_on_root_filled_most"))
    if material == "lithium_disilicate":
        rules.append(_rule("hindmost", hindmost, "bridge.connector.lithium_disilicate.hindmost"))
        rules.append(_rule("pontics_in_a_row", in_a_row, "bridge.connector.lithium_disilicate.pontics_most"))
    return tuple(rules)


def _least(shares: Sequence[float | None]) -> float | None:
    """Return the least, None where one that is not known could be less."""
    known = [share for share in shares if share is not None]
    below = [share for share in known if share < value("bridge.attached_share_least")]
    return min(known) if len(known) == len(shares) or below else None


def _rule(key: RuleKey, found: float | None, evidence: str, *, at_least: bool = False) -> Rule:
    limit = value(evidence)
    verdict: Verdict = "not_assessed"
    if found is not None:
        verdict = "met" if (found >= limit if at_least else found <= limit) else "below"
    return Rule(key=key, found=found, limit=limit, verdict=verdict, evidence=evidence)


def connector_need(material: Material, pontics_in_a_row: int, hindmost: int) -> ConnectorNeed:
    """Return the least connector of a material for a row of pontics whose hindmost neighbour has this position (1 to 8).

    Raises ValueError below one pontic. Most of these figures are from memory: ask the registry.
    """
    if pontics_in_a_row < 1:
        raise ValueError("a connector is judged for at least one pontic")
    area = f"bridge.connector.{material}.{_area_name(material, pontics_in_a_row, hindmost)}"
    height = f"bridge.connector.{material}.height_mm"
    return ConnectorNeed(area_mm2=value(area), height_mm=value(height), area_evidence=area, height_evidence=height)


def _area_name(material: Material, pontics: int, hindmost: int) -> str:
    if material != "monolithic_zirconia":
        return "area_mm2"
    one = "area_front_mm2" if hindmost <= _CANINE else "area_mm2"
    return {1: one, 2: "area_two_pontics_mm2"}.get(pontics, "area_more_pontics_mm2")


def check_connector(need: ConnectorNeed, area_mm2: float | None, height_mm: float | None) -> ConnectorCheck:
    """Return what a connector lacks. One size short makes it "below" though the other is not known."""
    area = None if area_mm2 is None else max(0.0, need.area_mm2 - area_mm2)
    height = None if height_mm is None else max(0.0, need.height_mm - height_mm)
    if area or height:
        verdict: Verdict = "below"
    else:
        verdict = "not_assessed" if area is None or height is None else "met"
    return ConnectorCheck(need=need, lacking_area_mm2=area, lacking_height_mm=height, verdict=verdict)


def lever_mm(places_mm: ArrayLike, carries: Sequence[bool]) -> Floats:
    """Return (n,) how far each unit stands from the line between the abutments beside it, 0 for abutments. [mm]

    `places_mm` (n, 2) in order along the arch. Beyond the last abutment it is the distance from that abutment: the unit hangs
    over. Raises ValueError without an abutment.
    """
    places = np.asarray(places_mm, dtype=float)
    at = [i for i, carrying in enumerate(carries) if carrying]
    if not at:
        raise ValueError("a bridge stands on at least one abutment")
    found = np.zeros(len(places))
    for i, place in enumerate(places):
        before, after = [j for j in at if j <= i], [j for j in at if j >= i]
        if before and after:
            found[i] = _from_line(place, places[before[-1]], places[after[0]])
        else:
            found[i] = float(np.linalg.norm(place - places[(before or after[:1])[-1]]))
    return found


def _from_line(place: Floats, start: Floats, end: Floats) -> float:
    along = end - start
    length = float(np.linalg.norm(along))
    offset = place - start
    return float(abs(along[0] * offset[1] - along[1] * offset[0]) / length) if length > 0 else float(np.linalg.norm(offset))

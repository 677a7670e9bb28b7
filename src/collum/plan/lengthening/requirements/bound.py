"""Bounds on the lines as requirements state them for the solver, before reserves are added."""

from dataclasses import dataclass
from typing import Literal

import numpy as np

from collum.core.ring import STATIONS, Floats
from collum.evidence.handed import PlanLimits
from collum.plan.lengthening.wishes import Rule
from collum.vocabulary import RequirementId

FAR_MM = 100  # where a requirement says nothing, its bound is this far away


@dataclass(frozen=True, slots=True, kw_only=True)
class Bound:
    """A convex bound on a line, from below or above: mean + on_cut c - on_bone b, each (36,), with its spread. [mm]

    c is the fresh margin and b the bone taken; all heights are relative to the margin. `quantile`: how many spreads the reserve
    is. `widened`: it has to hold all round, which one station does not know. `hard`: it keeps its full reserve always.
    `supports`: where it cannot be kept, the support of the tooth is lacking, not a place for the line. `between_teeth`: it is
    on the mean of the two proximal stations.
    """

    rule: RequirementId
    line: Literal["cut", "finish", "bone"]
    side: Literal["below", "above"]
    mean_mm: Floats
    sd_mm: Floats
    quantile: float
    on_cut: Floats | float = 0
    on_bone: Floats | float = 0
    widened: bool = True
    hard: bool = False
    supports: bool = False
    between_teeth: bool = False

    @property
    def moves_with_cut(self) -> bool:
        """Whether the bound follows the fresh margin."""
        return bool(np.any(self.on_cut))

    def reserve_mm(self, factors: dict[str, float], limits: PlanLimits) -> Floats:
        """Return (36,) the full reserve; `factors` multiply it by rule (1 where absent)."""
        base = limits.reserve_factor if self.widened else 1
        return base * factors.get(self.rule, 1) * self.quantile * self.sd_mm

    def at_means_mm(self, cut_mm: Floats, bone_mm: Floats) -> Floats:
        """Return (36,) the bound without reserve for a margin and bone taken."""
        return np.asarray(self.mean_mm + self.on_cut * cut_mm - self.on_bone * bone_mm)


def bound_of(
    rule_id: RequirementId,
    line: Literal["cut", "finish"],
    side: Literal["below", "above"],
    draws_mm: Floats,
    above_mm: Floats | float,
    rule: Rule,
) -> Bound:
    """Return a bound with mean and spread of draws (36, n), `above_mm` over them, with the confidence of a rule."""
    return Bound(
        rule=rule_id,
        line=line,
        side=side,
        mean_mm=draws_mm.mean(axis=1) + above_mm,
        sd_mm=draws_mm.std(axis=1),
        quantile=rule.quantile,
    )


def at_stations(found: dict[int, tuple[float, float]], elsewhere_mm: float) -> tuple[Floats, Floats]:
    """Return means and spreads (36,) from those at a few stations; elsewhere the bound is far away and certain."""
    mean, spread = np.full(STATIONS, float(elsewhere_mm)), np.zeros(STATIONS)
    for station, (at_station, sd) in found.items():
        mean[station], spread[station] = at_station, sd
    return mean, spread

"""Healing: own height, regrowth and the settled margin."""

from collum.core.healing.own_height import HeightKnown, Neighbours, draw_own_height_mm, population_own_height_mm
from collum.core.healing.regrowth import (
    fraction_reached,
    mean_regrowth_mm,
    phenotype_shift_mm,
    probability_above,
    residual_spread_mm,
    return_share_bone,
    shrunk_own_height_mm,
    spread_mm,
    total_spread_mm,
)
from collum.core.healing.settling import RegrowthDraws, draw_regrowth, settled_after_flap_mm, settled_margin_mm

__all__ = [
    "HeightKnown",
    "Neighbours",
    "RegrowthDraws",
    "draw_own_height_mm",
    "draw_regrowth",
    "fraction_reached",
    "mean_regrowth_mm",
    "phenotype_shift_mm",
    "population_own_height_mm",
    "probability_above",
    "residual_spread_mm",
    "return_share_bone",
    "settled_after_flap_mm",
    "settled_margin_mm",
    "shrunk_own_height_mm",
    "spread_mm",
    "total_spread_mm",
]

"""Heat and pacing: the plan of a tooth in, the round of strokes and its band of heat out. Pure."""

from collum.plan.heat.document import (
    HeatDocument,
    HeatSectionDocument,
    RoundEventDocument,
    RoundStateDocument,
    ToothHeatDocument,
)
from collum.plan.heat.round_now import GateClosed, round_now, round_told
from collum.plan.heat.round_warmth import BandName, RoundWarmth
from collum.plan.heat.section_document import section_document, stations_deg
from collum.plan.heat.to_document import assumptions, tooth_heat_document
from collum.plan.heat.tooth_heat import HeatWishes, ToothHeat, heat_of_tooth

__all__ = [
    "BandName",
    "GateClosed",
    "HeatDocument",
    "HeatSectionDocument",
    "HeatWishes",
    "RoundEventDocument",
    "RoundStateDocument",
    "RoundWarmth",
    "ToothHeat",
    "ToothHeatDocument",
    "assumptions",
    "heat_of_tooth",
    "round_now",
    "round_told",
    "section_document",
    "stations_deg",
    "tooth_heat_document",
]

"""Heat and pacing: the plan of a tooth in, strokes and their band of heat out. Pure."""

from collum.plan.heat.round_warmth import BandName, RoundWarmth
from collum.plan.heat.tooth_heat import HeatWishes, ToothHeat, heat_of_tooth

__all__ = [
    "BandName",
    "HeatWishes",
    "RoundWarmth",
    "ToothHeat",
    "heat_of_tooth",
]

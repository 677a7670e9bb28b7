"""Heat of the cut: how pacings of the strokes rank by what they leave in bone, root, pulp and the tissue that stays."""

from collum.core.heat.bands import Band, all_bands, middle_band, worst_band
from collum.core.heat.damage import Arrhenius, ArrheniusSet, dose_min
from collum.core.heat.limits import ORGANS, OrganLimit, OrganVerdict, judge_course
from collum.core.heat.superposition import HeatCourse, Organ, StrokeResponse, superpose

__all__ = [
    "ORGANS",
    "Arrhenius",
    "ArrheniusSet",
    "Band",
    "HeatCourse",
    "Organ",
    "OrganLimit",
    "OrganVerdict",
    "StrokeResponse",
    "all_bands",
    "dose_min",
    "judge_course",
    "middle_band",
    "superpose",
    "worst_band",
]

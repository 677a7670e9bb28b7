"""Heat of the cut: how pacings of the strokes rank by what they leave in bone, root, pulp and the tissue that stays."""

from collum.core.heat.bands import Band, all_bands, middle_band, worst_band
from collum.core.heat.compressed import CompressedResponse, compressed_response
from collum.core.heat.damage import Arrhenius, ArrheniusSet, dose_min
from collum.core.heat.limits import ORGANS, OrganLimit, OrganVerdict, judge_course
from collum.core.heat.neck_body import NeckShape, Sector
from collum.core.heat.response import neck_responses, stroke_response
from collum.core.heat.section import (
    NeckStroke,
    RoundField,
    SectionGrid,
    SectionResponse,
    neck_strokes,
    round_field,
    section_grid,
)
from collum.core.heat.superposition import HeatCourse, Organ, StrokeResponse, superpose

__all__ = [
    "ORGANS",
    "Arrhenius",
    "ArrheniusSet",
    "Band",
    "CompressedResponse",
    "HeatCourse",
    "NeckShape",
    "NeckStroke",
    "Organ",
    "OrganLimit",
    "OrganVerdict",
    "RoundField",
    "SectionGrid",
    "SectionResponse",
    "Sector",
    "StrokeResponse",
    "all_bands",
    "compressed_response",
    "dose_min",
    "judge_course",
    "middle_band",
    "neck_responses",
    "neck_strokes",
    "round_field",
    "section_grid",
    "stroke_response",
    "superpose",
    "worst_band",
]

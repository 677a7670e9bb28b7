"""Heat of the cut: how pacings of the strokes rank by what they leave in bone, root, pulp and the tissue that stays."""

from collum.core.heat.superposition import HeatCourse, Organ, StrokeResponse, superpose

__all__ = [
    "HeatCourse",
    "Organ",
    "StrokeResponse",
    "superpose",
]

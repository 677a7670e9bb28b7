"""The neck of the tooth: readings in, levels with doubt and draws out."""

from collum.core.neck.levels import NeckDraws, NeckPosterior, draw_neck, neck_posterior
from collum.core.neck.lines import LinePosterior, LineReading, line_posterior, stepped_mm
from collum.core.neck.prior import NeckPrior, NeckState, neck_prior
from collum.core.neck.readings import DepthReading, SoundingReading

__all__ = [
    "DepthReading",
    "LinePosterior",
    "LineReading",
    "NeckDraws",
    "NeckPosterior",
    "NeckPrior",
    "NeckState",
    "SoundingReading",
    "draw_neck",
    "line_posterior",
    "neck_posterior",
    "neck_prior",
    "stepped_mm",
]

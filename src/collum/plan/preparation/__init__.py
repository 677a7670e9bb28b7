"""A prepared tooth as it was scanned: what it measures and whether it will hold. Pure."""

from collum.plan.preparation.judged import UNIT_MM, Judged, PreparationRefused, Unit, Wanted, judge_preparation

__all__ = [
    "UNIT_MM",
    "Judged",
    "PreparationRefused",
    "Unit",
    "Wanted",
    "judge_preparation",
]

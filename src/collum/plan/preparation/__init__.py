"""A prepared tooth as it was scanned: what it measures, whether it will hold, and how it lies beside the plan. Pure."""

from collum.plan.preparation.comparison import compared
from collum.plan.preparation.document import PreparationDocument, TookDocument
from collum.plan.preparation.judged import UNIT_MM, Judged, PreparationRefused, Unit, Wanted, judge_preparation
from collum.plan.preparation.to_document import preparation_document

__all__ = [
    "UNIT_MM",
    "Judged",
    "PreparationDocument",
    "PreparationRefused",
    "TookDocument",
    "Unit",
    "Wanted",
    "compared",
    "judge_preparation",
    "preparation_document",
]

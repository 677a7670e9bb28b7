"""Planned teeth for tests of heat and pacing."""

from functools import lru_cache
from typing import Any

from collum.app.plans.planning import Planner
from collum.case.model import Tooth
from collum.plan.document import PlanDocument, ToothDocument
from tests.making.teeth import case_of, overgrown_premolar

DRAWS = 300


def planned(**changes: Any) -> tuple[Tooth, ToothDocument]:
    """An overgrown lower premolar with its plan; changes are fields of the tooth."""
    tooth = overgrown_premolar(**changes)
    return tooth, _plan_of().teeth[0]


@lru_cache(maxsize=1)
def _plan_of() -> PlanDocument:
    return Planner(DRAWS).plan(case_of(overgrown_premolar()))


def with_cut(document: ToothDocument, depth_mm: list[float], **route: Any) -> ToothDocument:
    """The plan with another cut on the route of soft tissue alone: depths below the margin, (36,)."""
    margin = document.levels.gingival_margin
    assert margin is not None
    lines = {
        "cut_from_margin_mm": [-mm for mm in depth_mm],
        "cut_line": [z - mm for z, mm in zip(margin.mean, depth_mm, strict=True)],
        "cut_line_outer": [z - mm - 1 for z, mm in zip(margin.mean, depth_mm, strict=True)],
        "verdict": "kept",
    }
    routes = [r.model_copy(update=lines | route) if r.name == "soft tissue only" else r for r in document.routes]
    return document.model_copy(update={"routes": routes})


def with_level(document: ToothDocument, level: str, below_margin_mm: float) -> ToothDocument:
    """The plan with a level this far below the margin all round, without doubt."""
    margin = document.levels.gingival_margin
    assert margin is not None
    heights = [z - below_margin_mm for z in margin.mean]
    flat = margin.model_copy(update={"mean": heights, "p05": heights, "p95": heights, "sd": [0.0] * len(heights)})
    return document.model_copy(update={"levels": document.levels.model_copy(update={level: flat})})


def with_flat_margin(document: ToothDocument) -> ToothDocument:
    """The plan with its margin at one height, 0, so that distances of whole millimetres are exact."""
    margin = document.levels.gingival_margin
    assert margin is not None
    flat = margin.model_copy(update={"mean": [0.0] * len(margin.mean)})
    return document.model_copy(update={"levels": document.levels.model_copy(update={"gingival_margin": flat})})

"""The neck that a cut with current meets: the lines of the route, what is near them, and the way round."""

from dataclasses import dataclass

import numpy as np

from collum.case.model import Tooth
from collum.core import tooth as anatomy
from collum.core.ring import STATIONS_DEG, Floats
from collum.plan.lengthening.planned import PlannedLines, PlannedTooth


@dataclass(frozen=True, slots=True, kw_only=True)
class CutNeck:
    """Heights in the tooth frame (36,), coronal positive. [mm]

    `cut` (36,) bool: stations that are cut. `crest_mm`, `mucogingival_mm`: where they may be nearest to the cut (5 in 100 are
    nearer still); None where the junction was not read. `arc_mm`: the way along the neck from facial.
    """

    tooth: Tooth
    margin_mm: Floats
    cut_mm: Floats
    outer_cut_mm: Floats
    cut: np.ndarray
    crest_mm: Floats
    mucogingival_mm: Floats | None
    gum_mm: Floats
    radius_mm: Floats
    arc_mm: Floats
    perimeter_mm: float


def cut_neck(planned: PlannedTooth, lines: PlannedLines) -> CutNeck:
    """Return the neck of a planned tooth with the cut of one route."""
    draws, number = planned.draws, planned.tooth.number
    crest = _nearest_mm(planned, "crest")
    assert crest is not None
    return CutNeck(
        tooth=planned.tooth,
        margin_mm=draws.margin_mm,
        cut_mm=lines.cut_mm,
        outer_cut_mm=lines.outer_cut_mm,
        cut=lines.cut,
        crest_mm=crest,
        mucogingival_mm=_nearest_mm(planned, "mucogingival_junction"),
        gum_mm=draws.inputs.thickness_mm,
        radius_mm=anatomy.cervical_radius_mm(number, STATIONS_DEG),
        arc_mm=planned.arc_mm,
        perimeter_mm=planned.perimeter_mm,
    )


def _nearest_mm(planned: PlannedTooth, level: str) -> Floats | None:
    found = planned.draws.levels.get(level)
    return None if found is None else found.p95 + planned.draws.margin_mm

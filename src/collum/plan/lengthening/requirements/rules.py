"""What is asked of one tooth: the rule of every requirement and the place of the finish line."""

import numpy as np

from collum.case.model import Tooth
from collum.core import tooth as anatomy
from collum.core.ring import STATIONS_DEG, Floats, angular_distance_deg
from collum.evidence import value
from collum.evidence.handed import Evidence
from collum.plan.lengthening.requirements.definitive_finish_line import sulcus_key
from collum.plan.lengthening.requirements.table import REQUIREMENTS
from collum.plan.lengthening.requirements.visible_zone import VISIBLE_ZONE
from collum.plan.lengthening.wished_margin import wished_margin
from collum.plan.lengthening.wishes import Rule, Wishes, loaded_sectors, needs_sound_wall_only
from collum.vocabulary import SmileLine


def wishes_of(
    tooth: Tooth,
    thickness_mm: Floats,
    evidence: Evidence,
    *,
    deep_sulcus: bool,
    smile_line: SmileLine | None = None,
    cut_for_looks: bool = True,
) -> Wishes:
    """Return the wishes of `tooth`; `deep_sulcus`: the settled sulcus is probably deeper than the rule's bound.

    `smile_line`, and whether gum may be cut for looks alone: of the patient.
    """
    limits = evidence.limits
    deepest = -evidence.values[sulcus_key(deep_sulcus=deep_sulcus)]
    restoration = tooth.restoration
    wish = restoration.finish
    reduction = _or(restoration.occlusal_reduction_mm, limits.occlusal_reduction_mm)
    rules: dict[str, Rule] = {one.id: one.rule(tooth, evidence, deep_sulcus=deep_sulcus) for one in REQUIREMENTS}
    seen = rules[VISIBLE_ZONE.id] = VISIBLE_ZONE.rule_by_smile(tooth, smile_line, evidence)
    half_axes = anatomy.half_axes_mm(tooth.number)
    return Wishes(
        rules=rules,
        low_mm=max(wish.low_mm if wish else deepest, deepest),
        high_mm=wish.high_mm if wish else None,
        shown=_shown(tooth, limits.visible_half_width_deg),
        loaded=loaded_sectors(tooth, limits),
        reduction_mm=reduction,
        top_mm=(restoration.planned_edge_mm or 0) - reduction,
        axial_reduction_mm=_or(restoration.axial_reduction_mm, limits.axial_reduction_mm),
        convergence_deg=_or(restoration.convergence_deg, value("restoration.convergence_most_deg")),
        base_mm=(2 * half_axes[0], 2 * half_axes[1]),
        bevel_mm=thickness_mm / np.tan(np.deg2rad(limits.bevel_deg)),
        sound_wall=needs_sound_wall_only(tooth),
        margin=wished_margin(tooth, smile_line, seen.limit, cut_for_looks=cut_for_looks),
    )


def _shown(tooth: Tooth, half_width_deg: float) -> np.ndarray:
    near = angular_distance_deg(STATIONS_DEG, 0) <= half_width_deg
    return near & bool(tooth.restoration.visible_zone)


def _or(entered: float | None, usual: float) -> float:
    return entered if entered is not None else usual

"""Limits, confidence and place of the finish line of one tooth: the registry's, or the dentist's own with a reason."""

from dataclasses import dataclass

import numpy as np
from scipy.special import ndtri

from collum.case.model import Tooth
from collum.core import tooth as anatomy
from collum.core.ring import ORAL_DEG, STATIONS_DEG, Floats, angular_distance_deg
from collum.evidence import value
from collum.plan.inputs import wish_for


@dataclass(frozen=True, slots=True, kw_only=True)
class Rule:
    """Limit in mm and confidence of one requirement, and the evidence both rest on."""

    limit_mm: float
    confidence: float
    evidence: tuple[str, ...]

    @property
    def quantile(self) -> float:
        """Normal quantile of the confidence."""
        return float(ndtri(self.confidence))


@dataclass(frozen=True, slots=True, kw_only=True)
class Wishes:
    """What the plan of one tooth has to keep.

    `low_mm`, `high_mm`: allowed place of the definitive finish line relative to the settled margin (high None: open);
    `shown` (36,) bool: stations where `high_mm` binds because they show. `loaded` (36,) bool: sectors that carry the load.
    """

    # `top_mm` is the top of the preparation above today's occlusal edge: planned edge less reduction, mostly negative.
    rules: dict[str, Rule]
    low_mm: float
    high_mm: float | None
    shown: np.ndarray
    loaded: np.ndarray
    reduction_mm: float
    top_mm: float
    axial_reduction_mm: float
    bevel_mm: Floats

    def rule(self, requirement: str) -> Rule:
        return self.rules[requirement]


_LIMITS = {
    "no_attachment_cut": ("plan.limit.no_attachment_cut_mm", "plan.confidence"),
    "clear_of_bone": ("plan.limit.clear_of_bone_mm", "plan.confidence.clear_of_bone"),
    "clear_of_crest": ("plan.limit.clear_of_crest_mm", "plan.confidence"),
    "ferrule": ("plan.limit.ferrule_mm", "plan.confidence"),
    "preparation_height": ("plan.limit.preparation_height_mm", "plan.confidence"),
    "keratinised_tissue_left": ("plan.limit.keratinised_tissue_left_mm", "plan.confidence"),
}


def wishes_of(tooth: Tooth, thickness_mm: Floats, deep_sulcus: bool) -> Wishes:
    """Return the wishes of `tooth`; `deep_sulcus`: the settled sulcus is probably deeper than the rule's bound."""
    sulcus_key = "plan.sulcus_limit_deep_mm" if deep_sulcus else "plan.sulcus_limit_mm"
    rules = {name: _rule(tooth, name) for name in _LIMITS}
    rules["definitive_finish_line"] = Rule(
        limit_mm=0,
        confidence=_confidence(tooth, "definitive_finish_line", "plan.confidence"),
        evidence=(sulcus_key, "plan.limit.clear_of_crest_mm", "plan.finish_above_attachment_mm", "plan.confidence"),
    )
    wish = tooth.restoration.finish
    restoration = tooth.restoration
    reduction = _or(restoration.occlusal_reduction_mm, "plan.occlusal_reduction_mm")
    return Wishes(
        rules=rules,
        low_mm=max(wish.low_mm if wish else -value(sulcus_key), -value(sulcus_key)),
        high_mm=wish.high_mm if wish else None,
        shown=_shown(tooth),
        loaded=loaded_sectors(tooth),
        reduction_mm=reduction,
        top_mm=(restoration.planned_edge_mm or 0) - reduction,
        axial_reduction_mm=_or(restoration.axial_reduction_mm, "plan.axial_reduction_mm"),
        bevel_mm=thickness_mm / np.tan(np.deg2rad(value("plan.bevel_deg"))),
    )


def loaded_sectors(tooth: Tooth) -> np.ndarray:
    """Return (36,) bool: palatal for upper front teeth, facial and oral elsewhere; the side next to a pontic too."""
    half = value("plan.loaded_half_width_deg")
    upper_front = anatomy.is_upper(tooth.number) and anatomy.tooth_class(tooth.number) in ("central", "lateral", "canine")
    centres = [ORAL_DEG] if upper_front else [0, ORAL_DEG]
    centres += [90] * (tooth.contact_mesial == "pontic") + [270] * (tooth.contact_distal == "pontic")
    return np.asarray(np.any([angular_distance_deg(STATIONS_DEG, centre) <= half for centre in centres], axis=0))


def _rule(tooth: Tooth, requirement: str) -> Rule:
    limit_key, confidence_key = _LIMITS[requirement]
    if requirement == "preparation_height" and anatomy.tooth_class(tooth.number) == "molar":
        limit_key = "plan.limit.preparation_height_molar_mm"
    wish = wish_for(tooth, requirement)
    limit = wish.limit if wish is not None and wish.limit is not None else value(limit_key)
    return Rule(
        limit_mm=limit,
        confidence=_confidence(tooth, requirement, confidence_key),
        evidence=(limit_key, confidence_key),
    )


def _confidence(tooth: Tooth, requirement: str, key: str) -> float:
    wish = wish_for(tooth, requirement)
    return wish.confidence if wish is not None and wish.confidence is not None else value(key)


def _shown(tooth: Tooth) -> np.ndarray:
    near = angular_distance_deg(STATIONS_DEG, 0) <= value("plan.visible_half_width_deg")
    return near & bool(tooth.restoration.visible_zone)


def _or(entered: float | None, key: str) -> float:
    return entered if entered is not None else value(key)

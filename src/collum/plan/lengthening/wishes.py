"""Limits, confidence and place of the finish line of one tooth: the registry's, or the dentist's own with a reason."""

from dataclasses import dataclass

import numpy as np
from scipy.special import ndtri

from collum.case.model import Tooth
from collum.core import tooth as anatomy
from collum.core.ring import ORAL_DEG, STATIONS_DEG, Floats, angular_distance_deg
from collum.evidence import value
from collum.plan.lengthening.levels.inputs import wish_for
from collum.vocabulary import Unit


@dataclass(frozen=True, slots=True, kw_only=True)
class Rule:
    """Limit and confidence of one requirement, and the evidence both rest on. `unit` is that of the limit."""

    limit: float
    confidence: float
    evidence: tuple[str, ...]
    unit: Unit = "mm"

    @property
    def quantile(self) -> float:
        """Normal quantile of the confidence."""
        return float(ndtri(self.confidence))


@dataclass(frozen=True, slots=True, kw_only=True)
class Wishes:
    """What the plan of one tooth has to keep.

    `low_mm`, `high_mm`: allowed place of the definitive finish line relative to the settled margin (high None: open);
    `shown` (36,) bool: stations where `high_mm` binds because they show. `loaded` (36,) bool: sectors that carry the load.
    `sound_wall`: a vital tooth without core needs a sound axial wall, no ferrule. `base_mm`: what the crown would roll over,
    from facial to oral and from mesial to distal.
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
    convergence_deg: float
    base_mm: tuple[float, float]
    bevel_mm: Floats
    sound_wall: bool

    @property
    def ferrule_mm(self) -> Floats:
        """Sound tooth asked above the line, (36,): the ferrule where the load is, elsewhere only that the line lies on it."""
        return np.where(self.loaded, self.rules["ferrule"].limit, 0)

    def rule(self, requirement: str) -> Rule:
        return self.rules[requirement]


_LIMITS = {
    "no_attachment_cut": ("plan.limit.no_attachment_cut_mm", "plan.confidence"),
    "clear_of_bone": ("plan.limit.clear_of_bone_mm", "plan.confidence.clear_of_bone"),
    "clear_of_crest": ("plan.limit.clear_of_crest_mm", "plan.confidence"),
    "ferrule": ("plan.limit.ferrule_mm", "plan.confidence"),
    "preparation_height": ("plan.limit.preparation_height_mm", "plan.confidence"),
    "keratinised_tissue_left": ("plan.limit.keratinised_tissue_left_mm", "plan.confidence"),
    "furcation": ("plan.limit.furcation_to_finish_mm", "plan.confidence"),
    "papilla": ("plan.limit.contact_to_crest_mm", "plan.confidence"),
    "visible_zone": ("plan.limit.visible_difference_mm", "plan.confidence"),
}


def wishes_of(tooth: Tooth, thickness_mm: Floats, deep_sulcus: bool) -> Wishes:
    """Return the wishes of `tooth`; `deep_sulcus`: the settled sulcus is probably deeper than the rule's bound."""
    sulcus_key = "plan.sulcus_limit_deep_mm" if deep_sulcus else "plan.sulcus_limit_mm"
    rules = {name: _rule(tooth, name, *_keys(tooth, name)) for name in _LIMITS}
    rules |= {
        "definitive_finish_line": _unlimited(
            tooth, "definitive_finish_line", (sulcus_key, "plan.limit.clear_of_crest_mm", "plan.finish_above_attachment_mm")
        ),
        "resistance": _unlimited(tooth, "resistance", ("restoration.convergence_most_deg",)),
        "crown_to_root": _crown_to_root(tooth),
        "attached_area": _rule(tooth, "attached_area", "plan.limit.attached_area", "plan.confidence", "share"),
    }
    wish = tooth.restoration.finish
    restoration = tooth.restoration
    reduction = _or(restoration.occlusal_reduction_mm, "plan.occlusal_reduction_mm")
    half_axes = anatomy.half_axes_mm(tooth.number)
    return Wishes(
        rules=rules,
        low_mm=max(wish.low_mm if wish else -value(sulcus_key), -value(sulcus_key)),
        high_mm=wish.high_mm if wish else None,
        shown=_shown(tooth),
        loaded=loaded_sectors(tooth),
        reduction_mm=reduction,
        top_mm=(restoration.planned_edge_mm or 0) - reduction,
        axial_reduction_mm=_or(restoration.axial_reduction_mm, "plan.axial_reduction_mm"),
        convergence_deg=_or(restoration.convergence_deg, "restoration.convergence_most_deg"),
        base_mm=(2 * half_axes[0], 2 * half_axes[1]),
        bevel_mm=thickness_mm / np.tan(np.deg2rad(value("plan.bevel_deg"))),
        sound_wall=needs_sound_wall_only(tooth),
    )


def needs_sound_wall_only(tooth: Tooth) -> bool:
    """Return whether a sound axial wall stands in for the ferrule: a vital tooth without a core."""
    core = tooth.facts.core
    return tooth.vital is True and not (core is not None and core.expected)


def loaded_sectors(tooth: Tooth) -> np.ndarray:
    """Return (36,) bool: palatal for upper front teeth, facial and oral elsewhere; the side next to a pontic too."""
    half = value("plan.loaded_half_width_deg")
    centres = [ORAL_DEG] if anatomy.is_upper(tooth.number) and is_front(tooth.number) else [0, ORAL_DEG]
    centres += [90] * (tooth.contact_mesial == "pontic") + [270] * (tooth.contact_distal == "pontic")
    return np.asarray(np.any([angular_distance_deg(STATIONS_DEG, centre) <= half for centre in centres], axis=0))


def is_front(number: int) -> bool:
    """Return whether the tooth is an incisor or a canine."""
    return anatomy.tooth_class(number) in ("central", "lateral", "canine")


def norm_crown_to_root(number: int) -> float:
    """Return the handbook crown-to-root ratio of a tooth with a healthy crest, (C + g) / (R - g)."""
    size = anatomy.dimensions(number)
    crest = value("plan.norm_crest_below_cej_mm")
    return (size.crown_length_mm + crest) / (size.root_length_mm - crest)


def _crown_to_root(tooth: Tooth) -> Rule:
    """Return the rule of the crown-to-root ratio: the usual limit, or the tooth's own norm with something over it."""
    usual = _rule(tooth, "crown_to_root", "plan.limit.crown_to_root", "plan.confidence", "ratio")
    wish = wish_for(tooth, "crown_to_root")
    if wish is not None and wish.limit is not None:
        return usual
    norm = norm_crown_to_root(tooth.number) * value("plan.crown_to_root_over_norm")
    return Rule(
        limit=max(usual.limit, norm),
        confidence=usual.confidence,
        evidence=(*usual.evidence, "plan.crown_to_root_over_norm"),
        unit="ratio",
    )


def _keys(tooth: Tooth, requirement: str) -> tuple[str, str]:
    limit_key, confidence_key = _LIMITS[requirement]
    if requirement == "preparation_height" and anatomy.tooth_class(tooth.number) == "molar":
        limit_key = "plan.limit.preparation_height_molar_mm"
    if requirement == "ferrule" and needs_sound_wall_only(tooth):
        limit_key = "plan.limit.sound_wall_mm"
    finish = tooth.restoration.finish
    if requirement == "keratinised_tissue_left" and finish is not None and finish.position == "in the sulcus":
        limit_key = "plan.limit.keratinised_tissue_in_sulcus_mm"
    return limit_key, confidence_key


def _rule(tooth: Tooth, requirement: str, limit_key: str, confidence_key: str, unit: Unit = "mm") -> Rule:
    wish = wish_for(tooth, requirement)
    limit = wish.limit if wish is not None and wish.limit is not None else value(limit_key)
    return Rule(
        limit=limit,
        confidence=_confidence(tooth, requirement, confidence_key),
        evidence=(limit_key, confidence_key),
        unit=unit,
    )


def _unlimited(tooth: Tooth, requirement: str, evidence: tuple[str, ...]) -> Rule:
    """Return the rule of a requirement that asks for room, not for a length of its own."""
    key = "plan.confidence"
    return Rule(limit=0, confidence=_confidence(tooth, requirement, key), evidence=(*evidence, key))


def _confidence(tooth: Tooth, requirement: str, key: str) -> float:
    wish = wish_for(tooth, requirement)
    return wish.confidence if wish is not None and wish.confidence is not None else value(key)


def _shown(tooth: Tooth) -> np.ndarray:
    near = angular_distance_deg(STATIONS_DEG, 0) <= value("plan.visible_half_width_deg")
    return near & bool(tooth.restoration.visible_zone)


def _or(entered: float | None, key: str) -> float:
    return entered if entered is not None else value(key)

"""Limits, confidence and place of the finish line of one tooth: the registry's, or the dentist's own with a reason."""

from dataclasses import dataclass

import numpy as np
from scipy.special import ndtri

from collum.case.model import Tooth
from collum.core import tooth as anatomy
from collum.core.ring import ORAL_DEG, STATIONS_DEG, Floats, angular_distance_deg
from collum.evidence.handed import PlanLimits
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


def needs_sound_wall_only(tooth: Tooth) -> bool:
    """Return whether a sound axial wall stands in for the ferrule: a vital tooth without a core."""
    core = tooth.facts.core
    return tooth.vital is True and not (core is not None and core.expected)


def loaded_sectors(tooth: Tooth, limits: PlanLimits) -> np.ndarray:
    """Return (36,) bool: palatal for upper front teeth, facial and oral elsewhere; the side next to a pontic too."""
    half = limits.loaded_half_width_deg
    centres = [ORAL_DEG] if anatomy.is_upper(tooth.number) and is_front(tooth.number) else [0, ORAL_DEG]
    centres += [90] * (tooth.contact_mesial == "pontic") + [270] * (tooth.contact_distal == "pontic")
    return np.asarray(np.any([angular_distance_deg(STATIONS_DEG, centre) <= half for centre in centres], axis=0))


def is_front(number: int) -> bool:
    """Return whether the tooth is an incisor or a canine."""
    return anatomy.tooth_class(number) in ("central", "lateral", "canine")


def norm_crown_to_root(number: int, limits: PlanLimits) -> float:
    """Return the handbook crown-to-root ratio of a tooth with a healthy crest, (C + g) / (R - g)."""
    size = anatomy.dimensions(number)
    crest = limits.norm_crest_below_cej_mm
    return (size.crown_length_mm + crest) / (size.root_length_mm - crest)

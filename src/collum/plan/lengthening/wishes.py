"""Limits, confidence and place of the finish line of one tooth: the registry's, or the dentist's own with a reason."""

from collections.abc import Mapping
from dataclasses import dataclass
from typing import Literal

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


UnknownWish = Literal["mirror_state", "wished_cej"]  # what has to be known before a wish counts
UncountedWish = Literal["mirror_not_healthy", "mirror_recessed"]


@dataclass(frozen=True, slots=True, kw_only=True)
class WishedMargin:
    """The wish by station, above the margin of today; empty if no wish counts. [mm]

    `limit_mm`: a difference as large is seen. `drawn`: by the dentist, else that of the mirror tooth. `at_cej`: the wish was
    raised to the junction. `unknown`: what is missing for a wish to count; `uncounted`: why one never does. `cut_for_looks`:
    False where nothing is cut for looks alone. `eased_mm`: by how much less the cut aims at.
    """

    limit_mm: float
    above_margin_mm: Mapping[int, float]
    drawn: bool = False
    at_cej: bool = False
    unknown: UnknownWish | None = None
    uncounted: UncountedWish | None = None
    cut_for_looks: bool = True
    eased_mm: float = 0

    @property
    def aims_mm(self) -> Mapping[int, float]:
        """The heights that a cut aims at, by station: where the tooth looks shorter, by as much as is seen."""
        if not self.cut_for_looks:
            return {}
        return {station: min(mm + self.eased_mm, 0) for station, mm in self.above_margin_mm.items() if -mm >= self.limit_mm}


@dataclass(frozen=True, slots=True, kw_only=True)
class Wishes:
    """What the plan of one tooth has to keep.

    `low_mm`, `high_mm`: allowed place of the definitive finish line relative to the settled margin (high None: open);
    `shown` (36,) bool: stations where `high_mm` binds because they show. `loaded` (36,) bool: sectors that carry the load.
    `sound_wall`: a vital tooth without core needs a sound axial wall, no ferrule. `base_mm`: what the crown would roll over,
    from facial to oral and from mesial to distal. `margin`: where the settled margin is wished, None where nothing is.
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
    margin: WishedMargin | None = None

    @property
    def aims_mm(self) -> Mapping[int, float]:
        """The heights that a cut aims at for the look, by station; none where nothing is wished or seen."""
        return {} if self.margin is None else self.margin.aims_mm

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

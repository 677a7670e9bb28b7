"""What every procedure answers for itself, and the treatment of one tooth by a procedure.

Heights stay relative to the gingival margin of the station. Where the tooth is extruded that margin moves with it, so that
seen from the margin only what belongs to the tooth alone rises: sound edge and cemento-enamel junction. The planned edge
does not: the tooth is trimmed back to where its opponent is.
"""

from abc import ABC, abstractmethod
from dataclasses import dataclass, field
from typing import TYPE_CHECKING, ClassVar, Literal

import numpy as np

from collum.case.model import Held, Tooth
from collum.core.healing import mean_regrowth_mm, phenotype_shift_mm, return_share_bone, settled_margin_mm
from collum.core.ring import STATIONS, STATIONS_DEG, Floats
from collum.evidence.handed import Evidence, HealingLaw, PlanLimits
from collum.evidence.patient_rows import Act
from collum.evidence.safety_rules import Procedure as SafetyProcedure
from collum.plan.lengthening.grounds import AS_WISHED, Closing, Concessions, Doubt, Way
from collum.plan.lengthening.levels.prepared import Prepared, whole_means
from collum.plan.lengthening.wishes import Wishes
from collum.plan.sentence import Sentence, say
from collum.vocabulary import RequirementId, RouteName

if TYPE_CHECKING:
    from collum.plan.lengthening.procedures.lines import RoutePlan

Step = Literal["extrusion_and_holding", "definitive_finish_line", "definitive_finish_line_visible"]


@dataclass(frozen=True, slots=True, kw_only=True)
class Timing:
    """The earliest time of a step, in weeks after the operation, the rule and the constant it rests on."""

    step: Step
    weeks: float
    reason: Sentence
    evidence: str


@dataclass(frozen=True, slots=True, kw_only=True)
class Concession:
    """Wishes after giving up something, and what is given up."""

    wishes: Wishes
    given_up: Concessions


@dataclass(frozen=True, slots=True, kw_only=True)
class SettledBound:
    """A forecast of the settled margin as the solver takes it: mean + on_cut c - on_bone b, each (36,), with its spread.

    c is the margin as cut or sutured, b the bone taken. [mm]
    """

    mean_mm: Floats
    sd_mm: Floats
    on_cut: Floats
    on_bone: Floats


class Procedure(ABC):
    """A way of treating the tooth. Everything that differs between the routes is asked here; names are never compared."""

    id: ClassVar[RouteName]
    option: ClassVar[str]  # its name on the command line
    safety_procedures: ClassVar[tuple[SafetyProcedure, ...]] = ()  # whose questions open a paper of it, the usual one first
    acts: ClassVar[tuple[Act, ...]] = ()  # what is done to the patient, all of it
    instruments: ClassVar[tuple[Act, ...]] = ()  # by which gum is cut; either will do
    needs_instrument: ClassVar[bool] = False  # nothing is left of the route where no gum may be cut
    burden: ClassVar[int]  # the order in which routes are planned and recommended
    lengthens: ClassVar[bool] = True
    cuts_by_current: ClassVar[bool] = False
    takes_bone: ClassVar[bool] = False  # under a flap, whose margin is sutured
    raises_tooth: ClassVar[bool] = False
    raises_margin: ClassVar[bool] = False  # where it is deep, with composite, which is never ferrule
    bonds: ClassVar[bool] = False  # the restoration holds by bonding to enamel: it asks for no ferrule and no form that resists
    thinnest: ClassVar[Literal["thinner", "metal_cover"]] = "thinner"  # what it is made of where there is little height
    meets_wished_margin: ClassVar[bool] = False  # its cut aims at the margin that is wished where it shows
    keeps_held_lines: ClassVar[bool] = False  # lines that the dentist holds by hand are lines of this procedure
    goes_first: ClassVar[bool] = False  # where it may do, greater procedures wait for the margin it leaves
    reads_nothing_for: ClassVar[frozenset[RequirementId]] = frozenset()  # these requirements ask for no reading on it
    steps: ClassVar[tuple[str, ...]]
    way: ClassVar[Way | None] = None  # how it gives height between crest and sound edge, as part of a key of sentences
    survival: ClassVar[Literal["with_bone", "elevation", "unknown"]] = "unknown"  # what is known of it, as part of a key
    survival_figures: ClassVar[tuple[str, ...]] = ()  # keys of the evidence that this rests on
    visits: ClassVar[str]  # the key of how many visits it takes up to the finished restoration

    @property
    def key(self) -> str:
        """Name of the procedure as part of a key of sentences."""
        return self.id.replace(" ", "_")

    @property
    def safety_procedure(self) -> SafetyProcedure | None:
        """The usual one of its operations; None where nothing is operated."""
        return next(iter(self.safety_procedures), None)

    @property
    def taken(self) -> str:
        """What it takes away or does of which less may be asked, as part of a key of sentences."""
        return "bone" if self.takes_bone else "movement"

    @property
    def moves_crest(self) -> bool:
        """Whether the crest ends up further apical along the root."""
        return self.takes_bone or self.raises_tooth

    @abstractmethod
    def plan(self, prepared: Prepared, wishes: Wishes, *, returns_whole: bool, arc_mm: float) -> "RoutePlan":
        """Return the least burdensome lines and their verdicts; `prepared` is the neck before."""

    def conceded(self, prepared: Prepared, wishes: Wishes, *, arc_mm: float) -> Concession:
        """Return what the restoration gives up on this procedure."""
        return Concession(wishes=wishes, given_up=AS_WISHED)

    def raised_at(self, prepared: Prepared, wishes: Wishes) -> np.ndarray:
        """Return (36,) bool: stations at which the margin is raised with composite."""
        return np.zeros(STATIONS, dtype=bool)

    def closed_by(self, prepared: Prepared, wishes: Wishes) -> Closing | None:
        """Return what of the tooth closes this procedure alone, once its levels are known."""
        return None

    def doubts(self, prepared: Prepared, treatment: "Treatment", cut_mm: Floats) -> tuple[Doubt, ...]:
        """Return what leaves this procedure at best in doubt with a cut (36,), beside the findings of the tooth."""
        return ()

    def steps_of(self, treatment: "Treatment") -> tuple[str, ...]:
        """Return the steps of a treatment, in order."""
        return self.steps

    def visits_of(self, treatment: "Treatment", evidence: Evidence) -> int:
        """Return how many visits it takes up to the finished restoration."""
        return round(evidence.values[self.visits])

    def after(self, prepared: Prepared, treatment: "Treatment") -> Prepared:
        """Return the neck as the treatment leaves it."""
        return prepared

    def sutured_mm(self, prepared: Prepared, cut_mm: Floats) -> Floats:
        """Return the fresh margin: the cut (36, 1), or (36, n) where it is sutured in every draw."""
        return cut_mm[:, None]

    def forecasts_mm(self, prepared: Prepared, cut_mm: Floats, treatment: "Treatment") -> tuple[Floats, ...]:
        """Return the forecasts (36, n) of the settled margin that must all hold, the decisive one for support last."""
        if not self.cuts_by_current:
            return (np.zeros_like(prepared.crest_depth_mm),)
        if treatment.returns_whole:
            return np.zeros_like(prepared.crest_depth_mm), np.zeros_like(prepared.crest_depth_mm)
        return settled_after_cut_mm(prepared, cut_mm, full=False), settled_after_cut_mm(prepared, cut_mm, full=True)

    def rest_mm(self, prepared: Prepared, treatment: "Treatment") -> Floats:
        """Return (36, n) where a margin that is cut low enough comes to rest: the old one where nothing is cut."""
        if treatment.returns_whole or not self.cuts_by_current:
            return np.zeros_like(prepared.crest_depth_mm)
        return np.minimum(prepared.own_height_mm - prepared.crest_depth_mm, 0)

    def settled_bounds(self, prepared: Prepared, treatment: "Treatment") -> tuple[SettledBound, ...]:
        """Return the bounds on the settled margin for the solver: where it rests, and the fresh cut."""
        rest = self.rest_mm(prepared, treatment) - line_moves_mm(prepared)
        still, whole = np.zeros(STATIONS), np.ones(STATIONS)
        residual = np.full(STATIONS, prepared.evidence.healing.residual_mm)
        return (
            SettledBound(mean_mm=rest.mean(axis=1), sd_mm=rest.std(axis=1), on_cut=still, on_bone=still),
            SettledBound(mean_mm=still, sd_mm=residual, on_cut=whole, on_bone=still),
        )

    def mean_forecasts_mm(self, prepared: Prepared, cut_mm: Floats, treatment: "Treatment") -> tuple[Floats, Floats]:
        """Return the settled margin (36,) at the means: with full return, and with the share known from bone surgery."""
        if treatment.returns_whole:
            return np.zeros(STATIONS), np.zeros(STATIONS)
        law, crest_depth = prepared.evidence.healing, prepared.crest_depth_mm.mean(axis=1)
        own_height = prepared.own_height_mm.mean(axis=1)
        full = np.maximum(cut_mm, np.minimum(own_height - crest_depth, 0))
        movement = mean_regrowth_mm(
            cut_mm + crest_depth,
            law,
            return_share=return_share_bone(STATIONS_DEG, law),
            own_height_mm=own_height,
            phenotype_shift_mm=phenotype_shift_mm(prepared.inputs.phenotype, law),
        )
        return full, np.minimum(cut_mm + self._faded(movement, cut_mm, law), 0)

    def _faded(self, movement_mm: Floats, cut_mm: Floats, law: HealingLaw) -> Floats:
        """Return a movement that fades out where next to nothing is cut."""
        fade = np.minimum(-cut_mm / law.fade_in_mm, 1)
        return np.where(movement_mm < 0, movement_mm * fade, movement_mm)

    def held(self, tooth: Tooth) -> Held:
        """Return the lines of this procedure that the dentist holds by hand."""
        return tooth.held if self.keeps_held_lines else Held()

    def timing(self, tooth: Tooth, treatment: "Treatment", evidence: Evidence) -> tuple[Timing, ...]:
        """Return the earliest times of the procedure, in order."""
        return ()

    def operations(self, *, trimmed: bool) -> int:
        """Return how many operations the procedure takes before the restoration; `trimmed`: gum is cut."""
        return 1


def _nothing() -> Floats:
    return np.zeros(STATIONS)


def _nowhere() -> np.ndarray:
    return np.zeros(STATIONS, dtype=bool)


def _everywhere() -> np.ndarray:
    return np.ones(STATIONS, dtype=bool)


@dataclass(frozen=True, slots=True, kw_only=True)
class Treatment:
    """One tooth treated by a procedure: bone taken (36,), movement, grooves in the preparation. [mm]

    `returns_whole`: the cause of an overgrowth still acts, so that the forecast is the old margin. `loaded` (36,) bool: sectors
    by which a movement is measured. `raised` (36,) bool: where the margin is raised with composite.
    """

    procedure: Procedure
    returns_whole: bool = False
    bone_mm: Floats = field(default_factory=_nothing)
    extruded_mm: float = 0
    loaded: np.ndarray = field(default_factory=_everywhere)
    grooves: bool = False
    raised: np.ndarray = field(default_factory=_nowhere)

    @property
    def lowered_mm(self) -> Floats:
        """How far the crest ends up apical of its place along the root, (36,)."""
        return np.asarray(self.bone_mm + self.extruded_mm)


def after(prepared: Prepared, treatment: Treatment) -> Prepared:
    """Return the neck as the treatment leaves it."""
    return treatment.procedure.after(prepared, treatment)


def is_cut(cut_mm: Floats, limits: PlanLimits) -> np.ndarray:
    """Return (36,) bool: the stations where gum is cut; a shallower cut is no cut."""
    return np.asarray(cut_mm < -limits.least_cut_mm)


def line_moves_mm(prepared: Prepared) -> Floats:
    """Return by how much the finish line is off its plan in every draw: with the sound edge it is placed from."""
    if prepared.sound_edge_mm is None:
        return np.zeros((1, 1))
    if prepared.whole is not None:
        return np.asarray(prepared.sound_edge_mm - prepared.whole.sound_edge_mm)
    return np.asarray(prepared.sound_edge_mm - prepared.sound_edge_mm.mean(axis=1, keepdims=True))


def room_found_mm(prepared: Prepared) -> Floats:
    """Return (36, n) by how much more sound edge there is over the crest than on the mean; nothing where it was not read."""
    means = whole_means(prepared)
    if means is None or prepared.sound_edge_mm is None:
        return np.zeros((1, 1))
    return np.asarray(prepared.sound_edge_mm + prepared.crest_depth_mm - means.room_mm)


def settled_after_cut_mm(prepared: Prepared, cut_mm: Floats, *, full: bool) -> Floats:
    """Return (36, n) the settled margin for a cut (36,): with full return, or with the spread of the return."""
    law = prepared.evidence.healing
    return settled_margin_mm(
        cut_mm[:, None],
        law,
        crest_depth_mm=prepared.crest_depth_mm,
        own_height_mm=prepared.own_height_mm,
        return_share=1 if full else prepared.regrowth.return_share,
        phenotype_shift_mm=0 if full else phenotype_shift_mm(prepared.inputs.phenotype, law),
        noise=prepared.regrowth.noise,
        recedes=not full,
    )


def wait(step: Step, key: str, reason: str, evidence: Evidence) -> Timing:
    """Return the earliest time of a step that waits as long as one constant says."""
    weeks = evidence.values[key]
    return Timing(step=step, weeks=weeks, reason=say(f"plan.timing.{reason}", weeks=weeks), evidence=key)

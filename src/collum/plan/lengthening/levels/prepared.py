"""The neck of one tooth as every route takes it: its draws, what was recorded of it, and the evidence both rest on.

Arrays are (36, n), relative to the gingival margin of the station, coronal positive. [mm]
"""

from collections.abc import Callable
from dataclasses import dataclass, field, fields, replace

import numpy as np

from collum.case.model import Case
from collum.core.draws import NOT_DRAWN, mean_draw, thinned_draws
from collum.core.ring import Floats
from collum.evidence.handed import Evidence, PlanLimits
from collum.plan.lengthening.levels.draws import LevelDraws, LevelTask, draw_levels
from collum.plan.lengthening.levels.inputs import Inputs, inputs_of

_FEW_DRAWS = 1000


@dataclass(frozen=True, slots=True, kw_only=True)
class WholeMeans:
    """Means (36, 1) over all the draws that some were taken from: what is planned is planned on these, not on those of a part.

    `room_mm`: how far the sound edge stands above the crest. [mm]
    """

    sound_edge_mm: Floats
    room_mm: Floats


@dataclass(frozen=True, slots=True, kw_only=True)
class Prepared(LevelDraws):
    """The draws of one tooth with what they were made from.

    `lowered_mm` (36, n) or (1, n): how far a treatment has moved the crest apical along the tooth. `seat_mm`: the sound edge
    under a margin that is raised with composite, else None. `whole`: None where these are all the draws there are.
    """

    inputs: Inputs = field(metadata=NOT_DRAWN)
    evidence: Evidence = field(metadata=NOT_DRAWN)
    lowered_mm: Floats
    seat_mm: Floats | None = None
    whole: WholeMeans | None = field(default=None, metadata=NOT_DRAWN)

    @property
    def limits(self) -> PlanLimits:
        """The limits and weights that the plan works with."""
        return self.evidence.limits


def prepare(
    case: Case,
    position: int,
    evidence: Evidence,
    *,
    seed: int,
    draws: int,
    draw: Callable[[LevelTask], LevelDraws] = draw_levels,
) -> Prepared:
    """Return the neck of the tooth at `position` of the case. `draw`: where its draws come from; perhaps kept from before."""
    inputs = inputs_of(case, position, evidence)
    task = LevelTask(inputs=inputs.levels, priors=evidence.neck, law=evidence.healing, seed=seed, stream=position, draws=draws)
    drawn = draw(task)
    return Prepared(
        inputs=inputs,
        evidence=evidence,
        lowered_mm=np.zeros((1, draws)),
        **{one.name: getattr(drawn, one.name) for one in fields(drawn)},
    )


def thinned(prepared: Prepared, every: int) -> Prepared:
    """Return `prepared` with one draw in `every`, where there are enough of them to spare."""
    if prepared.draws < _FEW_DRAWS * every:
        return prepared
    return replace(thinned_draws(prepared, every), draws=len(range(0, prepared.draws, every)), whole=whole_means(prepared))


def whole_means(prepared: Prepared) -> WholeMeans | None:
    """Return the means that lines and movements are planned on; None where the sound edge was not read."""
    if prepared.whole is not None or prepared.sound_edge_mm is None:
        return prepared.whole
    room = prepared.sound_edge_mm + prepared.crest_depth_mm
    return WholeMeans(
        sound_edge_mm=prepared.sound_edge_mm.mean(axis=1, keepdims=True), room_mm=room.mean(axis=1, keepdims=True)
    )


def at_means(prepared: Prepared) -> Prepared:
    """Return the best estimate: one draw with every level at its mean and nothing left to chance."""
    return replace(mean_draw(prepared), draws=1, whole=None)

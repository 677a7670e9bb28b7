"""The verdict of a route on looks, beside the one on function, and what would bring the margin nearer to where it is wished.

A margin coronal of the wish makes the tooth look shorter, so that it is lengthened; one apical of it makes it look longer: the
root is covered, the tooth extruded with its gum, or the mirror tooth lengthened, if its root is covered far enough.
"""

from collections.abc import Collection
from dataclasses import dataclass

import numpy as np

from collum.plan.lengthening.grounds import Ease, LeastChange
from collum.plan.lengthening.procedures.bone_surgery import BONE_SURGERY
from collum.plan.lengthening.procedures.extrusion import EXTRUSION
from collum.plan.lengthening.procedures.lines import RoutePlan
from collum.plan.lengthening.procedures.soft_tissue import SOFT_TISSUE
from collum.plan.lengthening.requirements.verdict import Graded
from collum.plan.lengthening.requirements.visible_zone import VISIBLE_ZONE
from collum.plan.lengthening.wishes import UncountedWish, UnknownWish, WishedMargin
from collum.vocabulary import Likelihood, RouteName, Verdict


@dataclass(frozen=True, slots=True, kw_only=True)
class Looks:
    """Whether the settled margin is where it is wished. None in the figures where no wish counts.

    `settled_above_wish_mm`: the median where it is worst, positive where the tooth looks shorter. `station`: that place.
    `seen_mm`: a difference as large is seen. `change`: what would help, None where nothing has to.
    """

    verdict: Verdict
    seen_mm: float
    drawn: bool
    at_cej: bool
    chance: float | None = None
    likelihood: Likelihood | None = None
    station: int | None = None
    settled_above_wish_mm: float | None = None
    unknown: UnknownWish | None = None
    uncounted: UncountedWish | None = None
    change: LeastChange | None = None

    @property
    def looks_shorter(self) -> bool:
        """Whether the settled margin is coronal of the wish."""
        return self.settled_above_wish_mm is not None and self.settled_above_wish_mm > 0


def looks_of(plan: RoutePlan, closed: Collection[RouteName]) -> Looks | None:
    """Return the verdict on looks of a route's lines; None where nothing shows or nothing is wished.

    `closed`: the routes that a finding or the patient closes.
    """
    wished, graded = plan.wishes.margin, plan.assessment.graded.get(VISIBLE_ZONE.id)
    if wished is None:
        return None
    seen_mm = plan.wishes.rule(VISIBLE_ZONE.id).limit
    if graded is None:
        verdict: Verdict = "not assessed" if wished.unknown is not None else "not needed"
        return Looks(
            verdict=verdict,
            seen_mm=seen_mm,
            drawn=wished.drawn,
            at_cej=False,
            unknown=wished.unknown,
            uncounted=wished.uncounted,
        )
    above_mm = _above_wish_mm(plan, wished, graded)
    return Looks(
        verdict=graded.verdict,
        seen_mm=seen_mm,
        drawn=wished.drawn,
        at_cej=wished.at_cej,
        chance=graded.probability,
        likelihood=graded.likelihood,
        station=graded.worst_station,
        settled_above_wish_mm=above_mm,
        change=None if graded.verdict == "kept" else _change(plan, wished, above_mm, closed),
    )


def _above_wish_mm(plan: RoutePlan, wished: WishedMargin, graded: Graded) -> float:
    station = graded.worst_station
    assert station is not None
    settled = float(np.median(plan.assessment.settled_full_mm[station]))
    return settled - wished.above_margin_mm[station]


def _change(plan: RoutePlan, wished: WishedMargin, above_mm: float, closed: Collection[RouteName]) -> LeastChange:
    """Return what would bring the margin nearer to the wish; nothing is named that is closed."""
    procedure = plan.treatment.procedure
    if above_mm > 0:
        cut = procedure.takes_bone or procedure.cuts_by_current
        shorter: dict[Ease, bool] = {
            "cut": wished.cut_for_looks and not cut and SOFT_TISSUE.id not in closed,
            "bone": wished.cut_for_looks and not procedure.takes_bone and BONE_SURGERY.id not in closed,
        }
        return LeastChange(id="look", asked=tuple(name for name, open_ in shorter.items() if open_))
    above_cej_mm = plan.prepared.inputs.tooth.facts.mirror_above_cej_mm
    covered = not wished.drawn and above_cej_mm is not None and above_cej_mm >= plan.limits.mirror_margin_above_cej_mm
    longer: dict[Ease, bool] = {
        "cover": BONE_SURGERY.id not in closed,
        "extrude": not procedure.raises_tooth and EXTRUSION.id not in closed,
        "mirror": covered and wished.cut_for_looks and SOFT_TISSUE.id not in closed,
    }
    return LeastChange(id="look", asked=tuple(name for name, open_ in longer.items() if open_))

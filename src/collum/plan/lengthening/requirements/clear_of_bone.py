"""The cut, and the margin of a flap, keep their distance to bone at every single station.

This requirement is hard: its bound keeps its full reserve, and where the draws still show it missed, the bound is made strict
enough to hold all round.
"""

from dataclasses import replace

import numpy as np

from collum.core.ring import STATIONS, Floats
from collum.plan.lengthening.levels.prepared import Prepared
from collum.plan.lengthening.procedures.procedure import line_moves_mm
from collum.plan.lengthening.requirements.bound import Bound, bound_of
from collum.plan.lengthening.requirements.requirement import Change, Requirement
from collum.plan.lengthening.requirements.situation import Conditions, Situation
from collum.plan.lengthening.requirements.verdict import Reserve
from collum.plan.lengthening.wishes import Wishes


class ClearOfBone(Requirement):
    """Tissue is left over bone: under the outer start of the bevel, or under the sutured margin."""

    id = "clear_of_bone"
    place = 20
    remedy = "less_cut_or_bone"
    hard = True
    rests_on = ("bone_sounding",)
    limit = "plan.limit.clear_of_bone_mm"
    confidence = "plan.confidence.clear_of_bone"
    helps = (Change(input="cut", way="less"),)

    def applies(self, situation: Situation) -> bool:
        return bool(situation.cut_stations.any())

    def reserves(self, situation: Situation) -> tuple[Reserve, ...]:
        rule = situation.wishes.rule(self.id)
        flap = situation.procedure.takes_bone
        outer = situation.fresh_margin_mm if flap else situation.outer_cut_mm
        return (
            Reserve(
                rule=rule,
                amount=outer + situation.prepared.crest_depth_mm - rule.limit,
                stations=situation.cut_stations,
                smooth=False,
                step_mm=situation.step_mm,
            ),
        )

    def rows(self, conditions: Conditions) -> tuple[Bound, ...]:
        crest, rule = -conditions.prepared.crest_depth_mm, conditions.wishes.rule(self.id)
        if conditions.procedure.takes_bone:
            measured = np.full(STATIONS, conditions.limits.surgery_measuring_sd_mm)
            guard = bound_of(self.id, "cut", "below", crest, rule.limit, rule)
            return (replace(guard, sd_mm=measured, on_bone=1, widened=False, hard=True),)
        if conditions.procedure.cuts_by_current:
            guard = bound_of(self.id, "cut", "below", crest, rule.limit + conditions.wishes.bevel_mm, rule)
            return (replace(guard, widened=False, hard=True),)
        return ()


CLEAR_OF_BONE = ClearOfBone()


def is_clear_of_bone(situation: Situation) -> bool:
    """Return whether a cut keeps its distance to bone all round in the share of draws that the confidence asks."""
    found = CLEAR_OF_BONE.worst(situation)
    return found is None or float(np.mean(found[1] >= 0)) >= found[0].rule.confidence


def near_bone(prepared: Prepared, wishes: Wishes, cut_mm: Floats) -> np.ndarray:
    """Return (36,) bool: the stations whose cut could come too near to bone, by the doubt of the crest."""
    crest = -prepared.crest_depth_mm
    room = cut_mm - wishes.bevel_mm - wishes.rule(CLEAR_OF_BONE.id).limit - crest.mean(axis=1)
    return np.asarray(room < prepared.limits.near_bone_spreads * crest.std(axis=1))


def strict_guard(guard: Bound, prepared: Prepared, wishes: Wishes, near: np.ndarray) -> Bound:
    """Return the bound of bone strict enough to hold at all of the stations `near` (36,) at once.

    A cut that keeps it at every one of them keeps its distance at all of them in the share of draws that the confidence asks.
    The margin of a flap is sutured from the sound edge, so that it is off its plan as far as that is.
    """
    crest = -prepared.crest_depth_mm - (line_moves_mm(prepared) if np.any(guard.on_bone) else 0)
    return replace(
        guard,
        mean_mm=guard.mean_mm + 2 * prepared.limits.solver_slack_room_mm,
        sd_mm=crest.std(axis=1),
        quantile=_quantile_all_round(crest[near], wishes.rule(CLEAR_OF_BONE.id).confidence),
    )


def _quantile_all_round(draws_mm: Floats, confidence: float) -> float:
    """Return how many spreads over its mean the highest station of a draw (36, n) stays under in the share asked."""
    mean = draws_mm.mean(axis=1, keepdims=True)
    spread = np.maximum(draws_mm.std(axis=1, keepdims=True), np.finfo(float).eps)
    highest = ((draws_mm - mean) / spread).max(axis=0)
    return float(np.quantile(highest, confidence, method="higher"))

"""The crown is not too long for the root left in bone. It changes only where the crest moves along the root."""

from dataclasses import dataclass
from typing import Literal

import numpy as np

from collum.case.model import Tooth
from collum.core.ring import STATIONS, Floats
from collum.evidence.handed import Evidence, PlanLimits
from collum.plan.lengthening.levels.inputs import wish_for
from collum.plan.lengthening.levels.prepared import Prepared
from collum.plan.lengthening.requirements.bound import Bound
from collum.plan.lengthening.requirements.places import PROXIMAL, reserve_of_whole, station_of
from collum.plan.lengthening.requirements.requirement import Change, Requirement
from collum.plan.lengthening.requirements.root import junction_mm, root_length_mm
from collum.plan.lengthening.requirements.situation import Conditions, Situation
from collum.plan.lengthening.requirements.verdict import Reserve
from collum.plan.lengthening.wishes import Rule, Wishes, norm_crown_to_root

Support = Literal["usual", "less", "little", "rising"]


class CrownToRoot(Requirement):
    """The ratio on the proximal crest, at most the usual limit or the tooth's own norm with something over it."""

    id = "crown_to_root"
    place = 100
    remedy = "less_taken"
    at_most = True
    idle = "crest_stays"
    steers = False
    rests_on = ("crown_height",)
    limit = "plan.limit.crown_to_root"
    unit = "ratio"
    helps = (Change(input="bone", way="less"), Change(input="movement", way="less"))

    def missing(self, conditions: Conditions) -> str | None:
        return super().missing(conditions) if conditions.procedure.moves_crest else None

    def applies(self, situation: Situation) -> bool:
        return situation.procedure.moves_crest and situation.prepared.occlusal_edge_mm is not None

    def reserves(self, situation: Situation) -> tuple[Reserve, ...]:
        ratios = crown_to_root_draws(situation.prepared, situation.wishes)
        assert ratios is not None
        rule, mean = situation.wishes.rule(self.id), np.mean(list(ratios.values()), axis=0)
        return (reserve_of_whole(situation.prepared, rule, rule.limit - mean, at_most=True),)

    def rows(self, conditions: Conditions) -> tuple[Bound, ...]:
        """Bone between the teeth goes only until the ratio at the means reaches its limit."""
        prepared, wishes = conditions.prepared, conditions.wishes
        ratios = crown_to_root_draws(prepared, wishes) if conditions.procedure.takes_bone else None
        if ratios is None:
            return ()
        limit = wishes.rule(self.id).limit
        ratio = float(np.mean([np.median(r) for r in ratios.values()]))
        if ratio <= 0:
            return ()
        crown = float(np.mean(_outside_mm(prepared, wishes)))
        most = (limit * crown / ratio - crown) / (1 + limit)
        return (
            Bound(
                rule=self.id,
                line="bone",
                side="above",
                mean_mm=np.full(STATIONS, most),
                sd_mm=np.zeros(STATIONS),
                quantile=0,
                supports=True,
                between_teeth=True,
            ),
        )

    def rule(self, tooth: Tooth, evidence: Evidence, *, deep_sulcus: bool) -> Rule:
        usual = super().rule(tooth, evidence, deep_sulcus=deep_sulcus)
        wish = wish_for(tooth, self.id)
        if wish is not None and wish.limit is not None:
            return usual
        over = "plan.crown_to_root_over_norm"
        norm = norm_crown_to_root(tooth.number, evidence.limits) * evidence.limits.crown_to_root_over_norm
        return Rule(limit=max(usual.limit, norm), confidence=usual.confidence, evidence=(*usual.evidence, over), unit=self.unit)


CROWN_TO_ROOT = CrownToRoot()


@dataclass(frozen=True, slots=True, kw_only=True)
class CrownToRootRatio:
    """Medians of the ratio on the proximal crest before and after a treatment; `norm` is the handbook ratio of the tooth."""

    before: float
    after: float
    after_worse_side: float
    norm: float


def crown_to_root_ratio(before: Prepared, after: Prepared, wishes: Wishes) -> CrownToRootRatio | None:
    """Return the ratio before and after a treatment; None without crown heights."""
    ratios = crown_to_root_draws(before, wishes), crown_to_root_draws(after, wishes)
    if ratios[0] is None or ratios[1] is None:
        return None
    medians = [[float(np.median(draws)) for draws in by_side.values()] for by_side in ratios if by_side is not None]
    return CrownToRootRatio(
        before=float(np.mean(medians[0])),
        after=float(np.mean(medians[1])),
        after_worse_side=max(medians[1]),
        norm=norm_crown_to_root(before.inputs.tooth.number, before.limits),
    )


def support_of(ratio: CrownToRootRatio | None, tooth: Tooth, limits: PlanLimits) -> Support:
    """Return how much root holds the tooth after a treatment, against the norm of the tooth; "rising" by its mobility."""
    if tooth.facts.mobility_rising:
        return "rising"
    if ratio is None:
        return "usual"
    over = ratio.after - ratio.norm
    if over > limits.support_little_over_norm or ratio.after > limits.support_little_ratio:
        return "little"
    return "less" if over > limits.support_less_over_norm else "usual"


def crown_to_root_draws(prepared: Prepared, wishes: Wishes) -> dict[str, Floats] | None:
    """Return (n,) crown-to-root ratios on the proximal crest, by side; None without crown heights.

    `prepared` is the neck after the treatment. The planned edge is the edge; an extruded tooth is trimmed back to it.
    """
    if prepared.occlusal_edge_mm is None:
        return None
    edge = prepared.occlusal_edge_mm + wishes.top_mm + wishes.reduction_mm
    root, most = root_length_mm(prepared), prepared.limits.crown_to_root_said_up_to
    ratios = {}
    for side in PROXIMAL:
        station = station_of(side)
        outside = edge[station] + prepared.crest_depth_mm[station]
        below = junction_mm(prepared, station) + prepared.crest_depth_mm[station]
        least = prepared.limits.solver_slack_room_mm
        ratios[side] = np.asarray(np.minimum(np.maximum(outside, 0) / np.maximum(root - below, least), most))
    return ratios


def _outside_mm(prepared: Prepared, wishes: Wishes) -> Floats:
    """Return (2,) at the means how much of the tooth is outside of bone between the teeth."""
    assert prepared.occlusal_edge_mm is not None
    edge = prepared.occlusal_edge_mm.mean(axis=1) + wishes.top_mm + wishes.reduction_mm
    between = [station_of(side) for side in PROXIMAL]
    return np.asarray((edge + prepared.crest_depth_mm.mean(axis=1))[between])

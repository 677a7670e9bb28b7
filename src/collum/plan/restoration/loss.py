"""Why the old crown came off: grounds for and against, from the stump as it was found, or as it stands today."""

from collections.abc import Mapping
from dataclasses import dataclass

import numpy as np

from collum.case.facts import OldCrown as RecordedCrown
from collum.case.facts import OldStump
from collum.case.model import Patient
from collum.core.crown.old_crown import Grounds, OldCrown, grounds_for_loss
from collum.plan.lengthening.planned import PlannedTooth
from collum.plan.restoration.basis import neck_of
from collum.plan.restoration.ferrule import wall_mm
from collum.plan.restoration.posts import Post

_MOLAR_FROM = 6
_BRUXISM: Mapping[object, bool] = {"certain": True, "none": False}


@dataclass(frozen=True, slots=True, kw_only=True)
class Loss:
    """The grounds, and how often a crown failed. `height_from_today`: the stump above today's gum stands in."""

    grounds: Grounds
    failures: int | None
    height_from_today: bool
    height_mm: float | None


def loss_of(patient: Patient, planned: PlannedTooth, posts: tuple[Post, ...]) -> Loss | None:
    """Return the grounds; None where the case tells of no old crown. `posts`: the windows on the line that is shown."""
    tooth = planned.tooth
    crown, stump = tooth.facts.old_crown or RecordedCrown(), tooth.facts.old_stump or OldStump()
    if (crown, stump) == (RecordedCrown(), OldStump()):
        return None
    height, from_today = _height(planned, stump)
    neck = neck_of(tooth)
    wall = wall_mm(tooth)
    found = grounds_for_loss(
        OldCrown(
            molar=tooth.number % 10 >= _MOLAR_FROM,
            height_mm=height,
            base_mm=max(neck.facial_oral_mm, neck.mesiodistal_mm),
            width_mm=neck.facial_oral_mm,
            convergence_deg=stump.convergence_deg,
            ferrule_mm=stump.ferrule_mm,
            wall_left_mm=None if np.isnan(wall).any() else float(wall.min()),
            post_present=False if tooth.vital is True else stump.post,
            post_mm=stump.post_mm,
            post_wanted_mm=next((p.window.low_mm for p in posts if p.window.status != "no post"), None),
            caries=stump.caries,
            cement=stump.cement,
            bruxism=_BRUXISM.get(patient.facts.bruxism),
        )
    )
    return Loss(grounds=found, failures=crown.failures, height_from_today=from_today, height_mm=height)


def _height(planned: PlannedTooth, stump: OldStump) -> tuple[float | None, bool]:
    """Return the height the old crown had, and whether today's stump above the gum stands in for it."""
    if stump.height_mm is not None:
        return stump.height_mm, False
    edge = planned.draws.levels.get("occlusal_edge")  # above the margin
    if edge is None or planned.tooth.state != "healthy":  # overgrown gum hides how far down the crown went
        return None, False
    return max(0.0, float(edge.mean.mean())), True

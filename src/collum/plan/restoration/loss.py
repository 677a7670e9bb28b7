"""Why the old crown came off: grounds for and against, from the stump as it was found, or as it stands today."""

from collections.abc import Mapping
from dataclasses import dataclass
from typing import Any

import numpy as np

from collum.case.model import Patient, Tooth
from collum.core.crown.old_crown import Grounds, OldCrown, grounds_for_loss
from collum.core.crown.retention import CEMENTS, Cement
from collum.plan.document import ToothDocument
from collum.plan.restoration.ferrule import wall_mm
from collum.plan.restoration.ground import neck_of
from collum.plan.restoration.posts import Post

Recorded = Mapping[str, Any]

_MOLAR_FROM = 6
_BRUXISM: Mapping[object, bool] = {"certain": True, "none": False}


@dataclass(frozen=True, slots=True, kw_only=True)
class Loss:
    """The grounds, and how often a crown failed. `height_from_today`: the stump above today's gum stands in."""

    grounds: Grounds
    failures: int | None
    height_from_today: bool
    height_mm: float | None


def loss_of(tooth: Tooth, patient: Patient, planned: ToothDocument, posts: tuple[Post, ...]) -> Loss | None:
    """Return the grounds; None where the case tells of no old crown. `posts`: the windows on the line that is shown."""
    crown, stump = (_table(tooth, key) for key in ("old_crown", "old_stump"))
    if not (crown or stump):
        return None
    height, from_today = _height(tooth, stump, planned)
    neck = neck_of(tooth)
    wall = wall_mm(tooth)
    found = grounds_for_loss(
        OldCrown(
            molar=tooth.number % 10 >= _MOLAR_FROM,
            height_mm=height,
            base_mm=max(neck.facial_oral_mm, neck.mesiodistal_mm),
            width_mm=neck.facial_oral_mm,
            convergence_deg=stump.get("convergence_deg"),
            ferrule_mm=stump.get("ferrule_mm"),
            wall_left_mm=None if np.isnan(wall).any() else float(wall.min()),
            post_present=False if tooth.vital is True else stump.get("post"),
            post_mm=stump.get("post_mm"),
            post_wanted_mm=next((p.window.low_mm for p in posts if p.window.status != "no post"), None),
            caries=stump.get("caries"),
            cement=_cement(stump.get("cement")),
            bruxism=_BRUXISM.get(patient.recorded.get("bruxism")),
        )
    )
    return Loss(grounds=found, failures=crown.get("failures"), height_from_today=from_today, height_mm=height)


def _height(tooth: Tooth, stump: Recorded, planned: ToothDocument) -> tuple[float | None, bool]:
    """Return the height the old crown had, and whether today's stump above the gum stands in for it."""
    if "height_mm" in stump:
        return float(stump["height_mm"]), False
    edge, margin = planned.levels.occlusal_edge, planned.levels.gingival_margin
    if edge is None or margin is None or tooth.state != "healthy":  # overgrown gum hides how far down the crown went
        return None, False
    return max(0.0, float(np.mean(edge.mean) - np.mean(margin.mean))), True


def _cement(recorded: object) -> Cement | None:
    return next((cement for cement in CEMENTS if cement == recorded), None)


def _table(tooth: Tooth, key: str) -> Recorded:
    recorded = tooth.recorded.get(key)
    return recorded if isinstance(recorded, Mapping) else {}

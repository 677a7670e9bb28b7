"""Why did the old crown come off: grounds for and against each cause, in order, from what was measured on the tooth.

A ground is a key with its figures and the evidence it rests on; sentences are made elsewhere. Most castings that came loose
lacked resistance form, so form comes first, then what holds the crown to sound tooth, then the rest. A cause whose figures
are missing is neither for nor against: it is listed as not assessed.

Not covered: the workmanship of the old crown, and whether causes add up. The order is ours.
"""

from collections.abc import Callable, Mapping
from dataclasses import dataclass
from typing import Literal

import numpy as np

from collum.core.crown.form import HALF, resistive_share
from collum.core.crown.guidance import convergence_band, least_height_mm
from collum.core.crown.retention import Cement
from collum.evidence import value

Cause = Literal["resistance", "height", "height_to_width", "convergence", "ferrule", "wall", "post", "caries", "cement", "load"]
Side = Literal["for", "against", "not assessed"]


@dataclass(frozen=True, slots=True, kw_only=True)
class OldCrown:
    """What is known of the tooth and the crown that came off; None is not known. Lengths of the preparation as found. [mm]

    `width_mm` is the facial-oral width, `base_mm` the distance from one finish line to the opposite wall; `ferrule_mm` the
    least that counts on the loaded sides; `post_wanted_mm` the shortest post the rules allow, None where it was not
    worked out.
    """

    molar: bool
    height_mm: float | None = None
    base_mm: float | None = None
    width_mm: float | None = None
    convergence_deg: float | None = None
    ferrule_mm: float | None = None
    wall_left_mm: float | None = None
    post_present: bool | None = None
    post_mm: float | None = None
    post_wanted_mm: float | None = None
    caries: bool | None = None
    cement: Cement | None = None
    bruxism: bool | None = None


@dataclass(frozen=True, slots=True, kw_only=True)
class Ground:
    """One cause: for, against or not assessed; the figures it was judged by, and the keys of the evidence."""

    cause: Cause
    side: Side
    figures: Mapping[str, float]
    evidence: tuple[str, ...]


@dataclass(frozen=True, slots=True, kw_only=True)
class Grounds:
    """The causes by side, each in order of weight."""

    speaking_for: tuple[Ground, ...]
    speaking_against: tuple[Ground, ...]
    not_assessed: tuple[Ground, ...]


def grounds_for_loss(crown: OldCrown) -> Grounds:
    """Return the grounds for and against each cause. Raises ValueError where a length or an angle is impossible."""
    found = [judge(crown) for judge in _JUDGES]
    sides: tuple[Side, ...] = ("for", "against", "not assessed")
    speaking_for, against, unknown = (tuple(ground for ground in found if ground.side == side) for side in sides)
    return Grounds(speaking_for=speaking_for, speaking_against=against, not_assessed=unknown)


def _resistance(crown: OldCrown) -> Ground:
    evidence = ("retention.lost_without_resistance_share",)
    if crown.height_mm is None or crown.base_mm is None or crown.convergence_deg is None:
        return _ground("resistance", None, {}, evidence)
    share = float(resistive_share(crown.height_mm, crown.base_mm, crown.convergence_deg))
    return _ground("resistance", share < HALF, {"share": share}, evidence)


def _height(crown: OldCrown) -> Ground:
    key = "plan.limit.preparation_height_molar_mm" if crown.molar else "plan.limit.preparation_height_mm"
    return _below("height", "height_mm", crown.height_mm, least_height_mm(crown.molar), key)


def _height_to_width(crown: OldCrown) -> Ground:
    key = "restoration.height_to_width_least"
    ratio = None
    if crown.height_mm is not None and crown.width_mm is not None:
        ratio = crown.height_mm / crown.width_mm
    return _below("height_to_width", "ratio", ratio, value(key), key)


def _convergence(crown: OldCrown) -> Ground:
    key = "restoration.convergence_most_deg"
    band = convergence_band(crown.convergence_deg)
    figures = {} if crown.convergence_deg is None else {"convergence_deg": crown.convergence_deg, "limit": value(key)}
    return _ground("convergence", None if band is None else band == "over", figures, (key,))


def _ferrule(crown: OldCrown) -> Ground:
    key = "plan.limit.ferrule_mm"
    return _below("ferrule", "ferrule_mm", crown.ferrule_mm, value(key), key)


def _wall(crown: OldCrown) -> Ground:
    key = "plan.limit.wall_thickness_mm"
    return _below("wall", "wall_left_mm", crown.wall_left_mm, value(key), key)


def _post(crown: OldCrown) -> Ground:
    key = "post.crown_height_share"
    if crown.post_present is False:
        return _ground("post", False, {}, (key,))
    if crown.post_present is None or crown.post_wanted_mm is None:
        return _ground("post", None, {}, (key,))
    return _below("post", "post_mm", crown.post_mm, crown.post_wanted_mm, key)


def _caries(crown: OldCrown) -> Ground:
    return _ground("caries", crown.caries, {}, ())


def _cement(crown: OldCrown) -> Ground:
    """A temporary cement is a ground; any other is none against the preparation."""
    judged = None if crown.cement is None else crown.cement == "temporary"
    evidence = () if crown.cement is None else (f"retention.{crown.cement}.mpa",)
    return _ground("cement", judged, {}, evidence)


def _load(crown: OldCrown) -> Ground:
    return _ground("load", crown.bruxism, {}, ())


def _below(cause: Cause, name: str, found: float | None, least: float, key: str) -> Ground:
    if found is None or np.isnan(found):
        return _ground(cause, None, {"limit": least}, (key,))
    return _ground(cause, found < least, {name: found, "limit": least}, (key,))


def _ground(cause: Cause, speaks_for: bool | None, figures: Mapping[str, float], evidence: tuple[str, ...]) -> Ground:
    side: Side = "not assessed" if speaks_for is None else "for" if speaks_for else "against"
    return Ground(cause=cause, side=side, figures=figures, evidence=evidence)


_JUDGES: tuple[Callable[[OldCrown], Ground], ...] = (
    _resistance,
    _height,
    _height_to_width,
    _convergence,
    _ferrule,
    _wall,
    _post,
    _caries,
    _cement,
    _load,
)

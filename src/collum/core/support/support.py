"""What holds the tooth: crown-to-root ratio, lever, attached area and the room to the furcation, before and after a route.

Lengths run along the root from the cemento-enamel junction: the crown coronal of it, the root and the crest of the bone apical
of it. A gum that is cut moves none of these levels, so no function here asks for it.

Every function takes numbers or arrays and broadcasts; an unknown (nan) gives an unknown. Not covered: roots that curve or
fuse, bone that is lower on one side (ask once a side), the mobility of the tooth.
"""

from collections.abc import Mapping
from typing import Literal

import numpy as np
from numpy.typing import ArrayLike, NDArray

from collum.evidence import value
from collum.vocabulary import Jaw, Opposing

Floats = NDArray[np.float64]
RatioGrade = Literal["optimum", "acceptable", "with weak opposing only", "beyond", "not assessed"]

_WITH_FACIAL_ROOTS = ("upper6", "upper7")


def crown_to_root(
    crown_mm: ArrayLike,
    root_mm: ArrayLike,
    crest_below_cej_mm: ArrayLike,
    *,
    bone_removed_mm: ArrayLike = 0,
    extruded_mm: ArrayLike = 0,
) -> Floats:
    """Return the part of the tooth out of bone over the part in bone; inf where no root is left in bone. [1]

    `crown_mm` reaches from the junction to the planned edge. Bone taken away lengthens one part and shortens the other; an
    extruded tooth is trimmed back to its old edge, so only the part in bone gets shorter. Raises ValueError where bone
    removed or extrusion is negative. Source of the definition: [grossmann_sadan2005]; the formulas are derived.
    """
    removed, extruded = _not_negative(bone_removed_mm, "bone removed"), _not_negative(extruded_mm, "extrusion")
    crest = np.asarray(crest_below_cej_mm, dtype=float)
    outside = np.asarray(crown_mm, dtype=float) + crest + removed
    inside = np.asarray(root_mm, dtype=float) - crest - removed - extruded
    ratio = outside / np.where(inside > 0, inside, 1)
    return np.asarray(np.where(inside > 0, ratio, np.where(np.isnan(outside + inside), np.nan, np.inf)))


def most_bone_to_remove_mm(crown_mm: ArrayLike, root_mm: ArrayLike, crest_below_cej_mm: ArrayLike, limit: ArrayLike) -> Floats:
    """Return how much bone may go before crown to root passes `limit`, (k(R - g) - (C + g)) / (1 + k). [mm]

    Negative where the ratio is past the limit already: none may go, and that much bone is lacking.
    """
    k = np.asarray(limit, dtype=float)
    crest = np.asarray(crest_below_cej_mm, dtype=float)
    inside = np.asarray(root_mm, dtype=float) - crest
    outside = np.asarray(crown_mm, dtype=float) + crest
    return np.asarray((k * inside - outside) / (1 + k))


def lever_mm(
    crown_mm: ArrayLike, root_mm: ArrayLike, crest_below_cej_mm: ArrayLike, *, bone_removed_mm: ArrayLike = 0
) -> Floats:
    """Return the arm from the edge to the middle of the root in bone, about which the tooth turns. [mm]

    Source: [grossmann_sadan2005]. Raises ValueError where bone removed is negative.
    """
    crest = np.asarray(crest_below_cej_mm, dtype=float) + _not_negative(bone_removed_mm, "bone removed")
    return np.asarray(np.asarray(crown_mm, dtype=float) + crest + (np.asarray(root_mm, dtype=float) - crest) / 2)


def grade_crown_to_root(ratio: float | None, opposing: Opposing | None) -> RatioGrade:
    """Return the grade of a ratio by the textbook: optimum 2:3, 1:1 the greatest otherwise, more only against a weak opponent.

    A weak opponent is a denture or none. Many healthy front teeth are past 1:1 by nature, so this grade never stands alone:
    what is usual for the tooth belongs beside it. Source: [shillingburg].
    """
    if ratio is None or np.isnan(ratio):
        return "not assessed"
    if ratio <= value("support.crown_to_root.optimum"):
        return "optimum"
    if ratio <= value("plan.limit.crown_to_root"):
        return "acceptable"
    return "with weak opposing only" if opposing in ("denture", "none") else "beyond"


def root_length_mm(jaw: Jaw, position: int, measured_mm: float | None, *, facial: bool = False) -> tuple[float, bool]:
    """Return the length of a root and whether it is a handbook average because none was measured. [mm]

    `facial`: the facial roots, which are shorter in upper molars. Raises KeyError where no permanent tooth has this position.
    """
    if measured_mm is not None:
        return measured_mm, False
    kind = f"{jaw}{position}"
    name = "facial_root_length_mm" if facial and kind in _WITH_FACIAL_ROOTS else "root_length_mm"
    return value(f"tooth.{kind}.{name}"), True


def opposing_force_n(opposing: Opposing | None) -> float | None:
    """Return the force the opposing teeth close with, by the textbook; None where it is unknown or not given there. [N]"""
    return value(_FORCE_KEYS[opposing]) if opposing in _FORCE_KEYS else None


def attached_area_share(lost_share: ArrayLike, multirooted: bool) -> Floats:
    """Return the share of the root's surface still attached once a share x of its length is lost: (1 - x)^p, 0 to 1. [1]

    A crest at or coronal of the junction counts as nothing lost. Source: fitted to [hong2018] for one root and to
    [dunlap_gher1985] for several.
    """
    lost = np.clip(np.asarray(lost_share, dtype=float), 0, 1)
    exponent = value("support.area_exponent.several_roots") if multirooted else value("support.area_exponent.one_root")
    return np.asarray((1 - lost) ** exponent)


def furcation_room_mm(
    trunk_mm: ArrayLike, level_below_cej_mm: ArrayLike, *, bone_removed_mm: ArrayLike = 0, extruded_mm: ArrayLike = 0
) -> Floats:
    """Return the root left between a level and the entrance of the furcation; negative where the entrance lies bare. [mm]

    The level is the crest, or a finish line that keeps its height above the crest: bone taken away moves it apically along the
    root, and so does extrusion, which lifts the furcation past it. Raises ValueError where either of the two is negative.
    """
    removed, extruded = _not_negative(bone_removed_mm, "bone removed"), _not_negative(extruded_mm, "extrusion")
    level = np.asarray(level_below_cej_mm, dtype=float) + removed + extruded
    return np.asarray(np.asarray(trunk_mm, dtype=float) - level)


def _not_negative(length_mm: ArrayLike, name: str) -> Floats:
    length = np.asarray(length_mm, dtype=float)
    if np.any(length < 0):
        raise ValueError(f"{name} {np.nanmin(length)} mm: cannot be negative")
    return length


_FORCE_KEYS: Mapping[str | None, str] = {
    "natural": "support.opposing.natural_n",
    "bridge": "support.opposing.bridge_n",
    "denture": "support.opposing.denture_n",
}

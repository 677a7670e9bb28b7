"""What a hand can do to bone: how steep the new crest may be, how wide a change of it; where given bone work breaks that.

Where today's crest is steeper than the bound, today's is the bound. Bone taken is positive, at 36 stations. [mm]
"""

import numpy as np

from collum.core.ring import STATIONS, Floats
from collum.evidence.handed import PlanLimits
from collum.plan.lengthening.solver.hand import PAPILLAE, HandFault, Neck, shallow_site, steps_of, worst_fault

_SIDES = (0, STATIONS // 2)  # facial and oral


def bone_steps_mm(crest_mm: Floats, arc_mm: Floats, limits: PlanLimits) -> tuple[Floats, Floats]:
    """Return bounds (36,) on how much more bone is taken at the next station: by its own slope and by the new crest's."""
    own, crest, today = limits.bone_slope * arc_mm, limits.hand_crest_slope * arc_mm, steps_of(crest_mm)
    return np.maximum(-own, np.minimum(today - crest, 0)), np.minimum(own, np.maximum(today + crest, 0))


def most_between_mm(crest_mm: Floats) -> dict[tuple[int, int], float]:
    """Return how much more bone may be taken between the teeth than facial or oral, by pairs of stations.

    The new crest between the teeth is no more apical than facial or oral, or than it was.
    """
    return {(one, side): max(float(crest_mm[one] - crest_mm[side]), 0) for one in PAPILLAE for side in _SIDES}


def changes_of(taken: np.ndarray) -> list[np.ndarray]:
    """Return the stations of every change of the crest, in order round the neck; `taken` (36,) bool."""
    if taken.all():
        return [np.arange(STATIONS)]
    begins = np.flatnonzero(taken & ~np.roll(taken, 1))
    ends = np.flatnonzero(taken & ~np.roll(taken, -1))
    return [(one + np.arange((ends[ends >= one].min(initial=STATIONS + ends[0]) - one) + 1)) % STATIONS for one in begins]


def width_mm(stations: np.ndarray, arc_mm: Floats) -> float:
    """Return the width along the neck of a run of stations, each with half the way to the next on both sides."""
    return float(((arc_mm + np.roll(arc_mm, 1)) / 2)[stations].sum())


def bone_faults(neck: Neck, crest_mm: Floats, bone_mm: Floats, most_mm: Floats) -> tuple[HandFault, ...]:
    """Return where bone work is not what a hand can do: for each bound that is broken its worst place.

    `crest_mm` (36,) today's in the tooth frame; `most_mm` (36,): how much may be taken.
    """
    limits, today = neck.limits, steps_of(crest_mm) / neck.arc_mm
    slope, most = steps_of(crest_mm - bone_mm) / neck.arc_mm, limits.hand_crest_slope
    over_slope = np.maximum(slope - np.maximum(today, most), np.minimum(today, -most) - slope)
    found = [
        shallow_site(neck, -bone_mm, "shallow_bone", limits.least_bone_mm),
        worst_fault("crest_slope", over_slope, np.abs(slope), most, check=limits.hand_check),
        worst_fault("neighbour_bone", bone_mm - most_mm, bone_mm, float(most_mm.min()), check=limits.hand_check),
        _narrow(neck, bone_mm),
        _low_between(neck, crest_mm, bone_mm),
    ]
    return tuple(fault for fault in found if fault is not None)


def _narrow(neck: Neck, bone_mm: Floats) -> HandFault | None:
    """Return the narrowest change of the crest."""
    widths, least = np.full(STATIONS, np.inf), neck.limits.hand_bone_width_mm
    for change in changes_of(bone_mm >= neck.limits.least_bone_mm):
        widths[change[len(change) // 2]] = width_mm(change, neck.arc_mm)
    return worst_fault("narrow_bone", least - widths, widths, least, check=neck.limits.hand_check)


def _low_between(neck: Neck, crest_mm: Floats, bone_mm: Floats) -> HandFault | None:
    """Return where the new crest between the teeth is more apical than facial or oral, and than it was."""
    over = np.zeros(STATIONS)
    for (between, side), most in most_between_mm(crest_mm).items():
        over[between] = max(over[between], float(bone_mm[between] - bone_mm[side]) - most)
    return worst_fault("low_between", over, over, 0.0, check=neck.limits.hand_check)

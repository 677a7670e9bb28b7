"""What carries the tooth before and after a route: crown to root, attached area, and the root left above the furcation.

Gum that is cut moves none of these but the finish line. The ratio is the plan's own; the area comes from the mean crest.
"""

from dataclasses import dataclass

import numpy as np

from collum.core.ring import STATIONS
from collum.core.support.support import RatioGrade, attached_area_share, furcation_room_mm, grade_crown_to_root, root_length_mm
from collum.core.tooth import furcation_trunks_mm
from collum.plan.lengthening.requirements.crown_to_root import CrownToRootRatio, crown_to_root_ratio
from collum.plan.restoration.basis import RestorationBasis


@dataclass(frozen=True, slots=True, kw_only=True)
class Furcation:
    """One entrance: root left between it and the crest before and after, and the finish line; negative lies past it. [mm]"""

    at_deg: float
    crest_before_mm: float
    crest_after_mm: float
    finish_mm: float


@dataclass(frozen=True, slots=True, kw_only=True)
class Support:
    """Support of the tooth on one route. Shares are of the attachment of the same tooth in health.

    `ratio` is None where no edge was read. `root_read`, `cej_read`: else handbook and usual height stand in.
    """

    ratio: CrownToRootRatio | None
    grade_before: RatioGrade
    grade_after: RatioGrade
    attached_before: float
    attached_after: float
    furcations: tuple[Furcation, ...]
    root_read: bool
    trunk_read: bool
    cej_read: bool


def support_of(basis: RestorationBasis) -> Support:
    """Return the support before and after the route."""
    ratio = _ratio(basis)
    opposing = basis.tooth.facts.opposing
    return Support(
        ratio=ratio,
        grade_before=grade_crown_to_root(None if ratio is None else ratio.before, opposing),
        grade_after=grade_crown_to_root(None if ratio is None else ratio.after, opposing),
        attached_before=_attached(basis, 0),
        attached_after=_attached(basis, float(basis.lowered_mm.mean())),
        furcations=_furcations(basis),
        root_read=basis.tooth.root.length_mm is not None,
        trunk_read=basis.tooth.root.trunk_mm is not None,
        cej_read=basis.cej_read,
    )


def _ratio(basis: RestorationBasis) -> CrownToRootRatio | None:
    planned, lines = basis.planned, basis.route.lines
    assert lines is not None
    return crown_to_root_ratio(planned.draws, planned.after(lines), planned.wishes)


def _attached(basis: RestorationBasis, lowered_mm: float) -> float:
    root, _ = root_length_mm(basis.jaw, basis.position, basis.tooth.root.length_mm)
    several = bool(furcation_trunks_mm(basis.tooth.number))
    below = float((basis.cej_mm - basis.crest_mm).mean()) + lowered_mm
    healthy = attached_area_share(basis.limits.healthy_crest_below_cej_mm / root, several)
    return float(np.minimum(attached_area_share(below / root, several) / healthy, 1))


def _furcations(basis: RestorationBasis) -> tuple[Furcation, ...]:
    entered = basis.tooth.root.trunk_mm
    found = []
    for angle, handbook in furcation_trunks_mm(basis.tooth.number).items():
        at = int(angle / (360 / STATIONS))
        trunk = handbook if entered is None else entered
        crest = float(basis.cej_mm[at] - basis.crest_mm[at])
        found.append(
            Furcation(
                at_deg=float(angle),
                crest_before_mm=float(furcation_room_mm(trunk, crest)),
                crest_after_mm=float(
                    furcation_room_mm(trunk, crest, bone_removed_mm=basis.bone_mm[at], extruded_mm=basis.extruded_mm)
                ),
                finish_mm=float(furcation_room_mm(trunk, basis.cej_mm[at] - basis.finish_mm[at])),
            )
        )
    return tuple(found)

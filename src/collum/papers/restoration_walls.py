"""The dentine walls that were read, as the restoration sheet draws them: what is left of each after the reduction."""

from collections.abc import Mapping
from dataclasses import dataclass, field

import numpy as np

from collum.case import from_document
from collum.evidence import value
from collum.papers.head import Plan, mm
from collum.plan.restoration.ferrule import wall_mm
from collum.wording import side_name, text

_SIDES = ("facial", "mesial", "oral", "distal")  # in the order of the stations


@dataclass(frozen=True, slots=True, kw_only=True)
class Walls:
    """`left_mm`: by side, after the reduction; without a side near which none was read.

    `whole`: all round a wall was read that is thick enough, and none is missing, so that a core needs no post.
    """

    left_mm: Mapping[str, float] = field(default_factory=dict)
    reduction_mm: float = 0.0
    whole: bool = False


NOT_READ = Walls()


def walls_of(case: Plan, number: int) -> Walls:
    """Return the walls of a tooth of the case that a plan was made from."""
    tooth = next(one for one in from_document(case).teeth if one.number == number)
    stated = tooth.restoration.axial_reduction_mm
    reduction = value("plan.axial_reduction_mm") if stated is None else stated
    left = wall_mm(tooth) - reduction
    enough = left >= value("plan.limit.wall_thickness_mm")
    quarter = len(left) // len(_SIDES)
    at_sides = {side: float(left[i * quarter]) for i, side in enumerate(_SIDES)}
    return Walls(
        left_mm={side: max(wall, 0.0) for side, wall in at_sides.items() if not np.isnan(wall)},
        reduction_mm=reduction,
        whole=bool(enough.all()) and not tooth.facts.missing_walls,
    )


def walls_said(walls: Walls, number: int, *, post: bool) -> list[str]:
    """Return what is said of the walls under the sections. `post`: the tooth may carry one."""
    if not walls.left_mm:
        return [text("paper.restoration.walls_not_read")]
    named = ", ".join(
        text("paper.restoration.wall", {"side": side_name(side, number), "wall": mm(wall)})
        for side, wall in walls.left_mm.items()
    )
    without = [side_name(side, number) for side in _SIDES if side not in walls.left_mm]
    least = value("plan.limit.wall_thickness_mm")
    return [
        text("paper.restoration.walls_read", {"walls": named, "reduction_mm": walls.reduction_mm}),
        *([text("paper.restoration.walls_open", {"sides": ", ".join(without)})] if without else []),
        *([text("paper.restoration.no_post_needed", {"least_mm": least})] if walls.whole and post else []),
    ]

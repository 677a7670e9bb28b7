"""How thick a post may be, and what dentine it leaves: the textbook's greatest by tooth, a third of the root, a wall all round.

The width that counts is the least of the root at the tip of the post. Where it was not measured there, it comes from the width
at the neck and a straight narrowing, of low trust, and that is said. In molars the neck is no root: there only a measured
width counts.
"""

from dataclasses import dataclass
from typing import Literal

import numpy as np

from collum.evidence import value
from collum.vocabulary import Jaw

WidthFrom = Literal["measured at the tip", "measured at the neck", "handbook", "not known"]

_FIRST_MOLAR = 6


@dataclass(frozen=True, slots=True, kw_only=True)
class PostDiameter:
    """The thickest post and which bound sets it; dentine left round it, and round the canal as it is. None: not known. [mm]

    `assessed` only where the width was measured: then table, third and wall were all asked.
    """

    most_mm: float
    by: Literal["table", "third_of_root", "wall"]
    width_at_tip_mm: float | None
    width_from: WidthFrom
    dentine_left_mm: float | None
    dentine_round_canal_mm: float | None
    assessed: bool


def post_diameter(
    jaw: Jaw,
    position: int,
    *,
    tip_depth_mm: float | None,
    root_mm: float,
    width_at_tip_mm: float | None = None,
    width_at_neck_mm: float | None = None,
    canal_mm: float | None = None,
) -> PostDiameter:
    """Return the thickest post. `tip_depth_mm` is the tip apical of the cemento-enamel junction, widths are the least ones.

    A bound of 0 says that no post leaves its wall. Raises KeyError where no permanent tooth has this position.
    """
    width, source = _width_at_tip(jaw, position, tip_depth_mm, root_mm, width_at_tip_mm, width_at_neck_mm)
    bounds: dict[Literal["table", "third_of_root", "wall"], float] = {
        "table": value(f"post.most_diameter.{jaw}{position}_mm"),
    }
    if width is not None:
        bounds["third_of_root"] = value("post.width_share") * width
        bounds["wall"] = max(0, width - 2 * value("post.dentine_mm"))
    by = min(bounds, key=lambda name: bounds[name])
    return PostDiameter(
        most_mm=bounds[by],
        by=by,
        width_at_tip_mm=width,
        width_from=source,
        dentine_left_mm=None if width is None else dentine_left_mm(width, bounds[by]),
        dentine_round_canal_mm=None if width is None or canal_mm is None else dentine_left_mm(width, canal_mm),
        assessed=source in ("measured at the tip", "measured at the neck"),
    )


def dentine_left_mm(width_mm: float, hole_mm: float) -> float:
    """Return the dentine on each side of a hole in the middle of a root. [mm]"""
    return (width_mm - hole_mm) / 2


def width_along_root_mm(neck_mm: float, depth_mm: float, root_mm: float) -> float:
    """Return the width of a root at a depth below the cemento-enamel junction, narrowing straight to the apex. [mm]"""
    return float(neck_mm * (1 - value("post.root_narrowing") * np.clip(depth_mm / root_mm, 0, 1)))


def _width_at_tip(
    jaw: Jaw,
    position: int,
    tip_depth_mm: float | None,
    root_mm: float,
    at_tip_mm: float | None,
    at_neck_mm: float | None,
) -> tuple[float | None, WidthFrom]:
    if at_tip_mm is not None:
        return at_tip_mm, "measured at the tip"
    if tip_depth_mm is None:
        return None, "not known"
    if at_neck_mm is not None:
        return width_along_root_mm(at_neck_mm, tip_depth_mm, root_mm), "measured at the neck"
    if position >= _FIRST_MOLAR:
        return None, "not known"
    tooth = f"tooth.{jaw}{position}"
    neck = min(value(f"{tooth}.md_cervix_mm"), value(f"{tooth}.bl_cervix_mm"))
    return width_along_root_mm(neck, tip_depth_mm, root_mm), "handbook"

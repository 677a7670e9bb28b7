"""Will it hold: resistance and retention form, support by the root, ferrule, post and pins."""

from collum.core.restoration.form import (
    blind_height_mm,
    frustum_top_mm2,
    frustum_wall_mm2,
    height_for_half_wall_mm,
    limiting_convergence_deg,
    limiting_taper_deg,
    resistive_share,
)
from collum.core.restoration.support import attached_area_share, crown_to_root, furcation_room_mm, most_bone_to_remove_mm

__all__ = [
    "attached_area_share",
    "blind_height_mm",
    "crown_to_root",
    "frustum_top_mm2",
    "frustum_wall_mm2",
    "furcation_room_mm",
    "height_for_half_wall_mm",
    "limiting_convergence_deg",
    "limiting_taper_deg",
    "most_bone_to_remove_mm",
    "resistive_share",
]

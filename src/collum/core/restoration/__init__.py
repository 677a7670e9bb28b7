"""Will it hold: resistance and retention, ferrule, post and pins, support by the root, what a material takes from the tooth."""

from collum.core.restoration.ferrule import (
    FerruleMap,
    Sector,
    counted_height_mm,
    ferrule_map,
    sound_tooth_above_crest_mm,
    sound_tooth_with_post_mm,
    wall_left_mm,
)
from collum.core.restoration.form import (
    apex_height_mm,
    blind_height_mm,
    frustum_top_mm2,
    frustum_wall_mm2,
    height_for_half_wall_mm,
    limiting_convergence_deg,
    limiting_taper_deg,
    resistive_share,
)
from collum.core.restoration.guidance import convergence_band, least_height_mm, meets_height, meets_height_to_width
from collum.core.restoration.laboratory import MATERIALS, MaterialFit, Neck, handbook_neck, material_fits
from collum.core.restoration.old_crown import Ground, Grounds, OldCrown, grounds_for_loss
from collum.core.restoration.pins import (
    PinDistances,
    PinVerdict,
    least_spacing_mm,
    pin_distances,
    pin_lengths,
    pin_verdicts,
    pins_wanted,
)
from collum.core.restoration.post import PostSite, PostWindow, allowed_root, post_window
from collum.core.restoration.post_diameter import PostDiameter, post_diameter
from collum.core.restoration.remedies import Remedies, recut_depth_mm, remedies
from collum.core.restoration.retention import CEMENTS, RetentionRange, retention_range
from collum.core.restoration.support import (
    attached_area_share,
    crown_to_root,
    furcation_room_mm,
    grade_crown_to_root,
    lever_mm,
    most_bone_to_remove_mm,
    opposing_force_n,
    root_length_mm,
)
from collum.core.restoration.trade_off import Optimum, best_gain, fracture_strength_kn

__all__ = [
    "CEMENTS",
    "MATERIALS",
    "FerruleMap",
    "Ground",
    "Grounds",
    "MaterialFit",
    "Neck",
    "OldCrown",
    "Optimum",
    "PinDistances",
    "PinVerdict",
    "PostDiameter",
    "PostSite",
    "PostWindow",
    "Remedies",
    "RetentionRange",
    "Sector",
    "allowed_root",
    "apex_height_mm",
    "attached_area_share",
    "best_gain",
    "blind_height_mm",
    "convergence_band",
    "counted_height_mm",
    "crown_to_root",
    "ferrule_map",
    "fracture_strength_kn",
    "frustum_top_mm2",
    "frustum_wall_mm2",
    "furcation_room_mm",
    "grade_crown_to_root",
    "grounds_for_loss",
    "handbook_neck",
    "height_for_half_wall_mm",
    "least_height_mm",
    "least_spacing_mm",
    "lever_mm",
    "limiting_convergence_deg",
    "limiting_taper_deg",
    "material_fits",
    "meets_height",
    "meets_height_to_width",
    "most_bone_to_remove_mm",
    "opposing_force_n",
    "pin_distances",
    "pin_lengths",
    "pin_verdicts",
    "pins_wanted",
    "post_diameter",
    "post_window",
    "recut_depth_mm",
    "remedies",
    "resistive_share",
    "retention_range",
    "root_length_mm",
    "sound_tooth_above_crest_mm",
    "sound_tooth_with_post_mm",
    "wall_left_mm",
]

"""Necks of teeth for the tests of heat: invented curves, no patient."""

from typing import Any

import numpy as np


def neck_curves(*, crest_mm: float = 3.0, gum_mm: float = 1.2, plate_mm: float = 1.0, cut_mm: float = 0.0) -> dict[str, Any]:
    """Return the fields of a neck: an oval root, the margin 2 mm above a level cut, bone below it."""
    angle = np.arange(0, 360, 10.0)
    level = np.ones(angle.size)
    wave = np.cos(np.deg2rad(2 * angle))
    return {
        "angle_deg": angle,
        "root_radius_mm": 3.3 + 0.3 * wave,
        "margin_mm": cut_mm - 2 - 0.3 * wave,
        "crest_mm": crest_mm - 0.3 * wave,
        "cut_mm": cut_mm * level,
        "junction_mm": (cut_mm - 0.5) * level,
        "gum_mm": gum_mm * level,
        "plate_mm": plate_mm * level,
        "bevel_deg": 45 * level,
        "pulp_radius_mm": 0.9,
        "enamel_mm": 0.0,
    }

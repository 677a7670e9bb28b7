"""The root of the tooth over the draws: its length, the junction and where the crest was before the treatment.

What was not read never counts as kept: a root length or a junction from the handbook leaves its requirement at best in doubt.
"""

import numpy as np

from collum.core import tooth as anatomy
from collum.core.ring import Floats
from collum.plan.lengthening.levels.prepared import Prepared


def junction_mm(prepared: Prepared, station: int) -> Floats:
    """Return (n,) the cemento-enamel junction at a station relative to the margin.

    As read; else as far above the crest before the treatment as is usual.
    """
    if prepared.cej_mm is not None:
        return np.asarray(prepared.cej_mm[station])
    usual, spread = prepared.limits.healthy_crest_below_cej_mm, prepared.limits.healthy_crest_below_cej_sd_mm
    return np.asarray(crest_before_mm(prepared, station) + usual + spread * prepared.root.junction)


def crest_before_mm(prepared: Prepared, station: int) -> Floats:
    """Return (n,) where on the tooth the crest was before the treatment, relative to the margin now."""
    lowered = np.broadcast_to(prepared.lowered_mm, prepared.crest_depth_mm.shape)
    return np.asarray(lowered[station] - prepared.crest_depth_mm[station])


def root_length_mm(prepared: Prepared) -> Floats:
    """Return (n,) the length of the root from the junction: as entered, or the handbook's with its spread. [mm]"""
    entered = prepared.inputs.tooth.root.length_mm
    if entered is not None:
        return np.asarray(entered + prepared.limits.root_measured_sd_mm * prepared.root.length)
    handbook = anatomy.dimensions(prepared.inputs.tooth.number).root_length_mm
    return np.asarray(handbook * (1 + prepared.limits.root_handbook_sd_share * prepared.root.length))


def root_is_read(prepared: Prepared) -> bool:
    """Return whether root length and junction were read: else the figures of support rest on the handbook."""
    return prepared.inputs.tooth.root.length_mm is not None and prepared.cej_mm is not None

"""What a route does to the tooth, and the neck as it leaves it.

Heights stay relative to the gingival margin of the station. Where the tooth is extruded that margin moves with it, so that
seen from the margin only what belongs to the tooth alone rises: sound edge and cemento-enamel junction. The planned edge
does not: the tooth is trimmed back to where its opponent is.
"""

from dataclasses import dataclass, field, replace

import numpy as np

from collum.core.ring import STATIONS, Floats
from collum.plan.document import RouteName
from collum.plan.prepared import Prepared


def _nothing() -> Floats:
    return np.zeros(STATIONS)


@dataclass(frozen=True, slots=True, kw_only=True)
class Act:
    """One way of treating the tooth: bone taken (36,), movement, grooves in the preparation. [mm]

    `returns_whole`: the cause of an overgrowth still acts, so that the forecast is the old margin.
    """

    route: RouteName
    returns_whole: bool = False
    bone_mm: Floats = field(default_factory=_nothing)
    extruded_mm: float = 0
    grooves: bool = False

    @property
    def cuts(self) -> bool:
        """Whether tissue is cut by current; a flap is none, and where nothing is lengthened nothing is cut."""
        return self.route in ("soft tissue only", "extrusion first")

    @property
    def moves_crest(self) -> bool:
        """Whether the crest comes to lie further apical along the root."""
        return self.route in ("soft tissue and bone", "extrusion first")

    @property
    def lowered_mm(self) -> Floats:
        """How far the crest comes to lie apical of its place along the root, (36,)."""
        return np.asarray(self.bone_mm + self.extruded_mm)


def after(prepared: Prepared, act: Act) -> Prepared:
    """Return the neck as the act leaves it. The attachment forms anew over lowered bone as wide as it was."""
    if act.route == "soft tissue and bone":
        lowered = act.bone_mm[:, None]
        return replace(prepared, crest_depth_mm=prepared.crest_depth_mm + lowered, sulcus_mm=prepared.sulcus_mm + lowered)
    if act.extruded_mm == 0:
        return prepared
    return replace(
        prepared,
        sound_edge_mm=None if prepared.sound_edge_mm is None else prepared.sound_edge_mm + act.extruded_mm,
        cej_mm=None if prepared.cej_mm is None else prepared.cej_mm + act.extruded_mm,
    )

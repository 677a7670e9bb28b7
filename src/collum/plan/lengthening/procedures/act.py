"""What a route does to the tooth, and the neck as it leaves it.

Heights stay relative to the gingival margin of the station. Where the tooth is extruded that margin moves with it, so that
seen from the margin only what belongs to the tooth alone rises: sound edge and cemento-enamel junction. The planned edge
does not: the tooth is trimmed back to where its opponent is.
"""

from dataclasses import dataclass, field, replace

import numpy as np

from collum.core.ring import STATIONS, Floats
from collum.evidence import value
from collum.plan.lengthening.levels.prepared import Prepared, whole_means
from collum.vocabulary import RouteName


def _nothing() -> Floats:
    return np.zeros(STATIONS)


def _everywhere() -> np.ndarray:
    return np.ones(STATIONS, dtype=bool)


@dataclass(frozen=True, slots=True, kw_only=True)
class Act:
    """One way of treating the tooth: bone taken (36,), movement, grooves in the preparation. [mm]

    `returns_whole`: the cause of an overgrowth still acts, so that the forecast is the old margin. `loaded` (36,) bool: sectors
    by which a movement is measured.
    """

    route: RouteName
    returns_whole: bool = False
    bone_mm: Floats = field(default_factory=_nothing)
    extruded_mm: float = 0
    loaded: np.ndarray = field(default_factory=_everywhere)
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
    """Return the neck as the act leaves it.

    Bone is not taken by the plan's figure but down to the planned distance from the sound edge, which is seen and measured at
    the open flap; a tooth is raised until its sound edge stands as planned above the crest where the load is. So what is taken
    differs from draw to draw, and the distance is left with the error of measuring it. The attachment forms anew over lowered
    bone as wide as it was.
    """
    if act.route == "soft tissue and bone":
        lowered = _bone_taken_mm(prepared, act)
        return replace(
            prepared,
            crest_depth_mm=prepared.crest_depth_mm + lowered,
            sulcus_mm=prepared.sulcus_mm + lowered,
            lowered_mm=lowered,
        )
    if act.extruded_mm == 0:
        return prepared
    raised, whole = _raised_mm(prepared, act), prepared.whole
    return replace(
        prepared,
        sound_edge_mm=None if prepared.sound_edge_mm is None else prepared.sound_edge_mm + raised,
        cej_mm=None if prepared.cej_mm is None else prepared.cej_mm + raised,
        lowered_mm=raised[None, :],
        whole=None if whole is None else replace(whole, sound_edge_mm=whole.sound_edge_mm + raised.mean()),
    )


def _bone_taken_mm(prepared: Prepared, act: Act) -> Floats:
    """Return (36, n) the bone taken in every draw; none where the plan takes none."""
    planned = act.bone_mm[:, None]
    error = value("plan.surgery.measuring_sd_mm") * prepared.root.surgery
    return np.asarray(np.where(planned > 0, np.maximum(planned - _room_found_mm(prepared) + error, 0), 0))


def _raised_mm(prepared: Prepared, act: Act) -> Floats:
    """Return (n,) how far the tooth is raised in every draw: by what the loaded sectors are found to need, on their mean."""
    found = _room_found_mm(prepared)
    if found.size == 1:
        return np.full(prepared.draws, act.extruded_mm)
    error = value("plan.extrusion.measuring_sd_mm") * prepared.root.surgery
    return np.asarray(np.maximum(act.extruded_mm - found[act.loaded].mean(axis=0) + error, 0))


def _room_found_mm(prepared: Prepared) -> Floats:
    """Return (36, n) by how much more sound edge stands over the crest than on the mean; nothing where it was not read."""
    means = whole_means(prepared)
    if means is None or prepared.sound_edge_mm is None:
        return np.zeros((1, 1))
    return np.asarray(prepared.sound_edge_mm + prepared.crest_depth_mm - means.room_mm)

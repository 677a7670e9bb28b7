"""What depends on readings and constants alone: levels, draws and the deviates of healing.

Made once for a set of readings and kept; every route, every held handle and every moved line uses the same draws. Arrays
are (36, n), relative to the gingival margin of the station, coronal positive. [mm]
"""

from collections.abc import Callable
from dataclasses import dataclass, field, replace
from functools import partial

import numpy as np
from numpy.random import Generator

from collum.case.model import Case, site_angle_deg
from collum.core.draws import DEVIATE, NOT_DRAWN, draws_bytes, mean_draw, thinned_draws
from collum.core.healing import (
    HeightKnown,
    RegrowthDraws,
    draw_own_height_mm,
    draw_regrowth,
)
from collum.core.neck import LineReading, NeckDraws, draw_neck, line_posterior, neck_posterior, neck_prior
from collum.core.ring import STATIONS_DEG, Floats
from collum.evidence import value
from collum.plan.lengthening.both import Both, one_by_one
from collum.plan.lengthening.levels.inputs import Inputs, inputs_of, margin_height_mm

LEVELS, LINES, HEALING, ROOT = 1, 2, 3, 4
_FEW_DRAWS = 1000
GeneratorOf = Callable[[int], Generator]


@dataclass(frozen=True, slots=True, kw_only=True)
class Level:
    """Statistics of a level over the draws, (36,) each, relative to the margin. [mm]"""

    mean: Floats
    sd: Floats
    p05: Floats
    p95: Floats


@dataclass(frozen=True, slots=True, kw_only=True)
class RootDraws:
    """Standard deviates (n,) of what is not read round the neck: length of the root and of its trunk, place of the junction,
    error of measuring at the operation.
    """

    length: Floats = field(metadata=DEVIATE)
    trunk: Floats = field(metadata=DEVIATE)
    junction: Floats = field(metadata=DEVIATE)
    surgery: Floats = field(metadata=DEVIATE)


@dataclass(frozen=True, slots=True, kw_only=True)
class WholeMeans:
    """Means (36, 1) over all the draws that some were taken from: what is planned is planned on these, not on those of a part.

    `room_mm`: how far the sound edge stands above the crest. [mm]
    """

    sound_edge_mm: Floats
    room_mm: Floats


@dataclass(frozen=True, slots=True, kw_only=True)
class Prepared:
    """The neck of one tooth in draws. `sulcus` and `crest_depth` are depths (positive apically), the lines are heights.

    `lowered_mm` (36, n) or (1, n): how far an act has brought the crest apical along the tooth. `whole`: None where these are
    all the draws there are.
    """

    inputs: Inputs = field(metadata=NOT_DRAWN)
    draws: int = field(metadata=NOT_DRAWN)
    margin_mm: Floats = field(metadata=NOT_DRAWN)
    sulcus_mm: Floats
    crest_depth_mm: Floats
    own_height_mm: Floats
    regrowth: RegrowthDraws
    sound_edge_mm: Floats | None
    occlusal_edge_mm: Floats | None
    mucogingival_mm: Floats | None
    cej_mm: Floats | None
    root: RootDraws
    lowered_mm: Floats
    levels: dict[str, Level] = field(metadata=NOT_DRAWN)
    far_off: Floats = field(metadata=NOT_DRAWN)
    clamped_share: float = field(metadata=NOT_DRAWN)
    dropped_mass: float = field(metadata=NOT_DRAWN)
    whole: WholeMeans | None = field(default=None, metadata=NOT_DRAWN)

    @property
    def attachment_mm(self) -> Floats:
        """Supracrestal tissue attachment, (36, n)."""
        return np.asarray(self.crest_depth_mm - self.sulcus_mm)

    @property
    def bytes(self) -> int:
        """Memory the draws take."""
        return draws_bytes(self)


def prepare(case: Case, position: int, generator_of: GeneratorOf, draws: int, both: Both = one_by_one) -> Prepared:
    """Return the levels and draws of the tooth at `position`. `generator_of(purpose)` makes one seeded generator a purpose.

    Tissue and hard edges do not wait for each other: they are handed to `both`.
    """
    inputs = inputs_of(case, position)
    margin = margin_height_mm(inputs.tooth)
    tissue, lines = both(partial(_tissue, inputs, generator_of, draws), partial(_lines, inputs, margin, generator_of, draws))
    neck, edges = tissue.neck, lines.heights_mm
    return Prepared(
        inputs=inputs,
        draws=draws,
        margin_mm=margin,
        sulcus_mm=neck.sulcus_mm,
        crest_depth_mm=neck.crest_depth_mm,
        own_height_mm=tissue.own_height_mm,
        regrowth=tissue.regrowth,
        sound_edge_mm=edges.get("sound_edge"),
        occlusal_edge_mm=edges.get("occlusal_edge"),
        mucogingival_mm=edges.get("mucogingival_junction"),
        cej_mm=edges.get("cej"),
        root=lines.root,
        lowered_mm=np.zeros((1, draws)),
        levels=tissue.levels | lines.levels,
        far_off=neck.far_off,
        clamped_share=neck.clamped_share,
        dropped_mass=neck.dropped_mass,
    )


@dataclass(frozen=True, slots=True, kw_only=True)
class _Tissue:
    """Draws of what is soft or stands on bone, with the statistics of its levels."""

    neck: NeckDraws
    own_height_mm: Floats
    regrowth: RegrowthDraws
    levels: dict[str, Level]


@dataclass(frozen=True, slots=True, kw_only=True)
class _Lines:
    """Draws of the lines that were read, relative to the margin, with their statistics, and what is not read of the root."""

    heights_mm: dict[str, Floats]
    root: RootDraws
    levels: dict[str, Level]


def _tissue(inputs: Inputs, generator_of: GeneratorOf, draws: int) -> _Tissue:
    posterior = neck_posterior(inputs.probing, inputs.soundings, inputs.state)
    neck = draw_neck(posterior, neck_prior(STATIONS_DEG, inputs.state), draws, generator_of(LEVELS))
    rng = generator_of(HEALING)
    own_height = draw_own_height_mm(STATIONS_DEG, _known_heights(inputs, neck), inputs.neighbours, draws, rng)
    own_height = np.maximum(own_height, neck.attachment_mm + value("healing.own_height.above_attachment_mm"))
    heights = {
        "probe_tip": -(neck.sulcus_mm + neck.tip_beyond_mm),
        "sulcus_base": -neck.sulcus_mm,
        "crest": -neck.crest_depth_mm,
        "own_height": own_height - neck.crest_depth_mm,
    }
    return _Tissue(
        neck=neck,
        own_height_mm=own_height,
        regrowth=draw_regrowth(STATIONS_DEG, draws, rng),
        levels={name: level_of(drawn) for name, drawn in heights.items()},
    )


def _lines(inputs: Inputs, margin_mm: Floats, generator_of: GeneratorOf, draws: int) -> _Lines:
    rng = generator_of(LINES)
    read = {
        "occlusal_edge": (inputs.occlusal_edge, inputs.edge_between_sd_mm),
        "sound_edge": (inputs.sound_edge, value("neck.between_sites.sound_edge_sd_mm")),
        "mucogingival_junction": (inputs.mucogingival, value("neck.between_sites.mucogingival_sd_mm")),
        "cej": (inputs.cej, value("neck.between_sites.cej_sd_mm")),
    }
    heights = {
        name: _line_draws(readings, between_sd, margin_mm, draws, rng)
        for name, (readings, between_sd) in read.items()
        if readings
    }
    length, trunk, junction, surgery = generator_of(ROOT).standard_normal((4, draws))
    return _Lines(
        heights_mm=heights,
        root=RootDraws(length=length, trunk=trunk, junction=junction, surgery=surgery),
        levels={name: level_of(drawn) for name, drawn in heights.items()},
    )


def thinned(prepared: Prepared, every: int) -> Prepared:
    """Return `prepared` with one draw in `every`, where there are enough of them to spare."""
    if prepared.draws < _FEW_DRAWS * every:
        return prepared
    return replace(thinned_draws(prepared, every), draws=len(range(0, prepared.draws, every)), whole=whole_means(prepared))


def whole_means(prepared: Prepared) -> WholeMeans | None:
    """Return the means that lines and movements are planned on; None where the sound edge was not read."""
    if prepared.whole is not None or prepared.sound_edge_mm is None:
        return prepared.whole
    room = prepared.sound_edge_mm + prepared.crest_depth_mm
    return WholeMeans(
        sound_edge_mm=prepared.sound_edge_mm.mean(axis=1, keepdims=True), room_mm=room.mean(axis=1, keepdims=True)
    )


def at_means(prepared: Prepared) -> Prepared:
    """Return the best estimate: one draw with every level at its mean and nothing left to chance."""
    return replace(mean_draw(prepared), draws=1, whole=None)


def level_of(draws_mm: Floats) -> Level:
    """Return the statistics of (36, n) draws."""
    count = draws_mm.shape[1]
    low, high = count // 20, count - 1 - count // 20
    ordered = np.sort(draws_mm, axis=1)  # four times as fast here as a partition at two places
    p05, p95 = ordered[:, low].copy(), ordered[:, high].copy()  # a view would keep all that was ordered
    return Level(mean=draws_mm.mean(axis=1), sd=draws_mm.std(axis=1), p05=p05, p95=p95)


def _line_draws(
    readings: tuple[LineReading, ...], between_sd_mm: float, margin_mm: Floats, draws: int, rng: Generator
) -> Floats:
    """Return (36, n) draws of a line relative to the margin; smooth in the tooth frame, so joined there."""
    in_frame = tuple(
        replace(r, height_mm=r.height_mm + float(np.interp(r.theta_deg, STATIONS_DEG, margin_mm, period=360))) for r in readings
    )
    return line_posterior(in_frame, between_sd_mm).draws_mm(STATIONS_DEG, draws, rng) - margin_mm[:, None]


def _known_heights(inputs: Inputs, neck: NeckDraws) -> HeightKnown:
    """Return what tells the own height: healthy sites of this tooth in each draw, and heights read at other teeth."""
    here = np.array(inputs.healthy_sites_deg)
    nearest = np.rint(here / (360 / STATIONS_DEG.size)).astype(int) % STATIONS_DEG.size
    others = inputs.tooth.own_height_from
    elsewhere = np.array([o.margin_to_crest_mm for o in others])
    count = neck.sulcus_mm.shape[1]
    return HeightKnown(
        theta_deg=np.concatenate([here, [site_angle_deg(o.site) for o in others]]),
        height_mm=np.concatenate([neck.crest_depth_mm[nearest], np.repeat(elsewhere[:, None], count, axis=1)]),
        error_mm=np.concatenate(
            [
                np.full(here.size, value("healing.own_height.healthy_site_error_mm")),
                [o.error_mm or value("healing.own_height.other_tooth_error_mm") for o in others],
            ]
        ),
    )

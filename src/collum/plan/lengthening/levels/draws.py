"""From readings to levels with doubt, draws, and the deviates of healing.

Made once for a task and kept; every route, every held handle and every moved line uses the same draws. Arrays are (36, n),
relative to the gingival margin of the station, coronal positive. [mm]
"""

from dataclasses import dataclass, field, replace
from functools import partial

import numpy as np
from numpy.random import Generator

from collum.core.draws import DEVIATE, NOT_DRAWN, draws_bytes
from collum.core.healing import HeightKnown, RegrowthDraws, draw_own_height_mm, draw_regrowth
from collum.core.neck import LineReading, NeckDraws, draw_neck, line_posterior, neck_posterior, neck_prior, stepped_mm
from collum.core.ring import STATIONS_DEG, Floats
from collum.evidence.handed import HealingLaw, NeckPriors
from collum.plan.lengthening.both import Both, one_by_one
from collum.plan.lengthening.levels.inputs import LevelInputs

LEVELS, LINES, HEALING, ROOT = 1, 2, 3, 4


@dataclass(frozen=True, slots=True, kw_only=True)
class LevelTask:
    """Everything that levels and draws depend on. It is its own key: equal tasks have equal draws, to the last bit.

    `stream`: parts the draws of the teeth of a case from each other; its position, never its number.
    """

    inputs: LevelInputs
    priors: NeckPriors
    law: HealingLaw
    seed: int
    stream: int
    draws: int

    def generator(self, purpose: int) -> Generator:
        """Return a generator of its own for a purpose, so that none takes numbers from another."""
        return np.random.default_rng(np.random.SeedSequence(self.seed, spawn_key=(purpose, self.stream)))


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
class LevelDraws:
    """The neck of one tooth in draws. `sulcus` and `crest_depth` are depths (positive apically), the lines are heights.

    `margin_mm` (36,): the margin in the tooth frame. A line that was not read is None.
    """

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
    levels: dict[str, Level] = field(metadata=NOT_DRAWN)
    far_off: Floats = field(metadata=NOT_DRAWN)
    clamped_share: float = field(metadata=NOT_DRAWN)
    dropped_mass: float = field(metadata=NOT_DRAWN)

    @property
    def attachment_mm(self) -> Floats:
        """Supracrestal tissue attachment, (36, n)."""
        return np.asarray(self.crest_depth_mm - self.sulcus_mm)

    @property
    def bytes(self) -> int:
        """Memory the draws take."""
        return draws_bytes(self)


def draw_levels(task: LevelTask, both: Both = one_by_one) -> LevelDraws:
    """Return the levels and draws of a task. Tissue and hard edges do not wait for each other: they are handed to `both`."""
    tissue, lines = both(partial(_tissue, task), partial(_lines, task))
    neck, edges = tissue.neck, lines.heights_mm
    return LevelDraws(
        draws=task.draws,
        margin_mm=np.array(task.inputs.margin_mm),
        sulcus_mm=neck.sulcus_mm,
        crest_depth_mm=neck.crest_depth_mm,
        own_height_mm=tissue.own_height_mm,
        regrowth=tissue.regrowth,
        sound_edge_mm=edges.get("sound_edge"),
        occlusal_edge_mm=edges.get("occlusal_edge"),
        mucogingival_mm=edges.get("mucogingival_junction"),
        cej_mm=edges.get("cej"),
        root=lines.root,
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


def _tissue(task: LevelTask) -> _Tissue:
    inputs, priors, law, draws = task.inputs, task.priors, task.law, task.draws
    posterior = neck_posterior(inputs.probing, inputs.soundings, inputs.state, priors)
    prior = neck_prior(STATIONS_DEG, inputs.state, priors)
    neck = draw_neck(posterior, prior, priors, draws, task.generator(LEVELS))
    rng = task.generator(HEALING)
    own_height = draw_own_height_mm(STATIONS_DEG, _known_heights(inputs, law, neck), inputs.neighbours, law, draws, rng)
    own_height = np.maximum(own_height, neck.attachment_mm + law.above_attachment_mm)
    heights = {
        "probe_tip": -(neck.sulcus_mm + neck.tip_beyond_mm),
        "sulcus_base": -neck.sulcus_mm,
        "crest": -neck.crest_depth_mm,
        "own_height": own_height - neck.crest_depth_mm,
    }
    return _Tissue(
        neck=neck,
        own_height_mm=own_height,
        regrowth=draw_regrowth(STATIONS_DEG, law, draws, rng),
        levels={name: level_of(drawn) for name, drawn in heights.items()},
    )


def _lines(task: LevelTask) -> _Lines:
    inputs, priors, rng = task.inputs, task.priors, task.generator(LINES)
    edge_sd = priors.level_edge_between_sd_mm if inputs.edge_is_level else priors.occlusal_edge_between_sd_mm
    read = {
        "occlusal_edge": (inputs.occlusal_edge, edge_sd),
        "sound_edge": (inputs.sound_edge, priors.sound_edge_between_sd_mm),
        "mucogingival_junction": (inputs.mucogingival, priors.mucogingival_between_sd_mm),
        "cej": (inputs.cej, priors.cej_between_sd_mm),
    }
    margin_mm = np.array(inputs.margin_mm)
    heights = {}
    for name, (relative, between_sd) in read.items():
        if relative:
            readings = _in_frame(relative, margin_mm)
            drawn = line_posterior(readings, between_sd, priors).draws_mm(STATIONS_DEG, task.draws, rng)
            heights[name] = (stepped_mm(drawn, readings) if name == "sound_edge" else drawn) - margin_mm[:, None]
    length, trunk, junction, surgery = task.generator(ROOT).standard_normal((4, task.draws))
    return _Lines(
        heights_mm=heights,
        root=RootDraws(length=length, trunk=trunk, junction=junction, surgery=surgery),
        levels={name: level_of(drawn) for name, drawn in heights.items()},
    )


def level_of(draws_mm: Floats) -> Level:
    """Return the statistics of (36, n) draws."""
    p05, p95 = ends_of(np.sort(draws_mm, axis=1))  # four times as fast here as a partition at two places
    return Level(mean=draws_mm.mean(axis=1), sd=draws_mm.std(axis=1), p05=p05, p95=p95)


def ends_of(ordered_mm: Floats) -> tuple[Floats, Floats]:
    """Return the 5th and the 95th percentile (36,) of draws (36, n) that are in order."""
    count = ordered_mm.shape[1]
    low, high = count // 20, count - 1 - count // 20
    return ordered_mm[:, low].copy(), ordered_mm[:, high].copy()  # a view would keep all that was ordered


def _in_frame(readings: tuple[LineReading, ...], margin_mm: Floats) -> tuple[LineReading, ...]:
    """Return readings in the frame of the tooth, where lines are smooth and the floor of a box is level."""
    margins = np.interp([r.theta_deg for r in readings], STATIONS_DEG, margin_mm, period=360)
    return tuple(replace(r, height_mm=r.height_mm + float(mm)) for r, mm in zip(readings, margins, strict=True))


def _known_heights(inputs: LevelInputs, law: HealingLaw, neck: NeckDraws) -> HeightKnown:
    """Return what tells the own height: healthy sites of this tooth in each draw, and heights read at other teeth."""
    here = np.array(inputs.healthy_sites_deg)
    nearest = np.rint(here / (360 / STATIONS_DEG.size)).astype(int) % STATIONS_DEG.size
    others = inputs.heights_elsewhere
    elsewhere = np.array([o.height_mm for o in others])
    count = neck.sulcus_mm.shape[1]
    return HeightKnown(
        theta_deg=np.concatenate([here, [o.theta_deg for o in others]]),
        height_mm=np.concatenate([neck.crest_depth_mm[nearest], np.repeat(elsewhere[:, None], count, axis=1)]),
        error_mm=np.concatenate(
            [
                np.full(here.size, law.healthy_site_error_mm),
                [o.error_mm for o in others],
            ]
        ),
    )

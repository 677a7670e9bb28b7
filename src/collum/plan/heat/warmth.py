"""From the plan of a tooth to the neck as a body of heat, and to what one stroke over each sector leaves in its organs.

The crest is taken where it may be nearest (5 in 100 lie nearer still). The first stroke at a place meets all its tissue, each
later one tissue that is carved away round the whole neck: the sum of both lies above a round run at once, stroke by stroke.
"""

from collections.abc import Sequence
from dataclasses import dataclass, replace

import numpy as np

from collum.case.facts import Widths
from collum.case.model import Tooth
from collum.core.heat import (
    HeatCourse,
    NeckShape,
    NeckStroke,
    Organ,
    OrganVerdict,
    Sector,
    StrokeResponse,
    all_bands,
    judge_course,
    middle_band,
    neck_strokes,
)
from collum.core.heat.pacing_task import ElectrodeForm, PacingTask, Stroke
from collum.core.ring import STATIONS_DEG, Floats
from collum.evidence import get, value
from collum.plan.heat.neck import CutNeck
from collum.plan.heat.sectors import StrokeSector

_TURN_DEG = 360


@dataclass(frozen=True, slots=True, kw_only=True)
class SectorStroke:
    """How one sector is stroked: its form and speed."""

    sector: StrokeSector
    form: ElectrodeForm
    speed_mm_s: float


@dataclass(frozen=True, slots=True, kw_only=True)
class BandCourses:
    """The rise at the watched points over a round in the gentlest, the middle and the worst band."""

    low: HeatCourse
    middle: HeatCourse
    high: HeatCourse


@dataclass(frozen=True, slots=True, kw_only=True)
class OrganBand:
    """The verdicts on one organ in the gentlest, the middle and the worst band; `worst_deg`: where it is warmest there."""

    low: OrganVerdict
    middle: OrganVerdict
    high: OrganVerdict
    worst_deg: float


def neck_shape(neck: CutNeck, *, more_bone_mm: float = 0) -> NeckShape:
    """Return the neck in the order margin, cut, crest; `more_bone_mm` moves the crest away from the cut.

    Where nothing is cut the cut is a hair under the margin.
    """
    least = value("plan.least_cut_mm")
    margin = -neck.margin_mm
    cut = np.maximum(-neck.cut_mm, margin + least)
    crest = np.maximum(-neck.crest_mm, cut + least) + more_bone_mm
    whole = np.ones(STATIONS_DEG.size)
    return NeckShape(
        angle_deg=STATIONS_DEG,
        root_radius_mm=neck.radius_mm,
        margin_mm=margin,
        crest_mm=crest,
        cut_mm=cut,
        junction_mm=margin,
        gum_mm=neck.gum_mm,
        plate_mm=value("pacing.bone_plate_mm") * whole,
        bevel_deg=value("plan.bevel_deg") * whole,
        pulp_radius_mm=pulp_radius_mm(neck.tooth, neck.radius_mm),
        enamel_mm=0,
    )


def pulp_radius_mm(tooth: Tooth, root_radius_mm: Floats) -> float:
    """Return the radius of the pulp that leaves as little dentine at the narrowest radius (36,) as there is anywhere.

    From the widths of the pulp where the case has them, else a usual share of the root.
    """
    narrowest = float(root_radius_mm.min())
    pulp = tooth.facts.pulp_width_mm or Widths()
    if pulp == Widths():
        return narrowest * value("pacing.pulp_share")
    facial, mesial = float(root_radius_mm[0]), float(root_radius_mm[STATIONS_DEG.size // 4])
    across = ((facial, pulp.facial_oral), (mesial, pulp.mesiodistal))
    dentine = min(radius - width / 2 for radius, width in across if width is not None)
    return float(np.clip(narrowest - dentine, 0, narrowest))


def strokes_of(shape: NeckShape, strokes: Sequence[SectorStroke], *, carved: bool, pulp: bool) -> tuple[NeckStroke, ...]:
    """Return what a unit stroke over each sector leaves without blood flow, at the watched points and in the sections.

    `carved`: the gum above the cut is gone already, as it is for every pass after the first; without `pulp` the points of
    the pulp are not watched.
    """
    return _watching(neck_strokes(shape, _sectors(strokes), perfusion_share=0, carved=carved), pulp=pulp)


def gentle_strokes_of(shape: NeckShape, strokes: Sequence[SectorStroke], *, pulp: bool) -> tuple[NeckStroke, ...]:
    """Return the same with all blood flow and all tissue in place, for the gentlest band; by its figures nothing is decided."""
    flow, step = get("heat.band.perfusion").high, value("heat.grid.gentle_step_mm")
    return _watching(neck_strokes(shape, _sectors(strokes), perfusion_share=flow, carved=False, step_mm=step), pulp=pulp)


def band_courses(
    task: PacingTask, perfused: tuple[StrokeResponse, ...], strokes: Sequence[Stroke], speed_mm_s: float
) -> BandCourses:
    """Return the courses of a round of the task, which stands in the worst band.

    `perfused`: the responses with all blood flow and all tissue in place, for the gentlest one.
    """
    worst = task.course(strokes)
    gentle = replace(task, responses=perfused, later_responses=(), strength=gentlest_factor(speed_mm_s))
    middle = middle_band().factor(speed_mm_s) / task.strength
    return BandCourses(low=gentle.course(strokes), middle=worst.scaled(middle), high=worst)


def organ_bands(courses: BandCourses) -> tuple[OrganBand, ...]:
    """Return what each organ uses of its limits over a round."""
    found = zip(judge_course(courses.low), judge_course(courses.middle), judge_course(courses.high), strict=True)
    return tuple(OrganBand(low=low, middle=mid, high=high, worst_deg=_angle_of(high)) for low, mid, high in found)


def gentlest_factor(speed_mm_s: float) -> float:
    """Return by how much a unit response is multiplied in the band that leaves least heat at this speed."""
    return min(band.factor(speed_mm_s) for band in all_bands())


def tissue_over_bone_mm(neck: CutNeck, sector: StrokeSector) -> float:
    """Return the least tissue a sector leaves between its cut and the bone where that may be nearest. [mm]"""
    left = neck.outer_cut_mm - neck.crest_mm
    return float(left[sector.stretch.stations()].min())


def _sectors(strokes: Sequence[SectorStroke]) -> list[Sector]:
    return [
        Sector(
            from_deg=one.sector.stretch.from_deg,
            to_deg=one.sector.stretch.to_deg,
            speed_mm_s=one.speed_mm_s,
            loop_mm=value("pacing.loop_width_mm") if one.form == "loop" else None,
        )
        for one in strokes
    ]


def _watching(found: tuple[NeckStroke, ...], *, pulp: bool) -> tuple[NeckStroke, ...]:
    return found if pulp else tuple(replace(one, watched=_without(one.watched, "pulp")) for one in found)


def _without(response: StrokeResponse, organ: Organ) -> StrokeResponse:
    rows = [row for row, name in enumerate(response.organs) if name != organ]
    organs = tuple(response.organs[row] for row in rows)
    return replace(response, rise_degC=response.rise_degC[rows], organs=organs)


def _angle_of(verdict: OrganVerdict) -> float:
    """Return the angle of a watched point: each organ is watched at even angles round the neck, once or more over. [deg]"""
    every_deg = value("heat.watch.every_deg")
    return float(verdict.point % round(_TURN_DEG / every_deg)) * every_deg

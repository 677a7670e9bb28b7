"""Heat and pacing of one tooth: its plan in, the round out, or why there is none.

Sectors that are free of keep-outs, one stroke each; the shortest order and pauses that keep every rest and, in the worst band,
every limit; where no pause does, how many passes would, and how much more distance from bone.
"""

from collections.abc import Sequence
from dataclasses import dataclass, replace
from typing import Literal

import numpy as np

from collum.case.model import Tooth
from collum.core.heat import NeckShape, NeckStroke, Organ, middle_band, worst_band
from collum.core.heat.pacing import NoPacing, Pacing, plan_pacing, shortest_round, worst_of_longest_waits
from collum.core.heat.pacing_task import (
    ElectrodeForm,
    HandTimes,
    PacingTask,
    Place,
    hand_rules,
    pause_s,
    usual_hands,
)
from collum.evidence import get, value
from collum.plan.heat.neck import CutNeck, cut_neck
from collum.plan.heat.round_warmth import RoundWarmth, round_warmth
from collum.plan.heat.sectors import (
    KeptOut,
    StrokeSector,
    keep_outs,
    kept_out_stretches,
    stroke_sectors,
)
from collum.plan.heat.warmth import (
    OrganBand,
    SectorStroke,
    band_courses,
    gentle_strokes_of,
    neck_shape,
    organ_bands,
    strokes_of,
    tissue_over_bone_mm,
)
from collum.plan.lengthening.planned import PlannedRoute, PlannedTooth
from collum.plan.lengthening.procedures.soft_tissue import SOFT_TISSUE

NoStrokes = Literal["implant_beside", "no_route", "no_cut", "all_kept_out"]

_OFFERED = ("kept", "in doubt")
_MOST_PASSES_SHOWN = 3


@dataclass(frozen=True, slots=True, kw_only=True)
class HeatWishes:
    """What the dentist may ask for: passes at each place, speed, the loop instead of the wire, what the hands take.

    None leaves it to the plan.

    Raises ValueError where the speed lies below its floor or above its range, or the passes are none.
    """

    passes: int | None = None
    speed_mm_s: float | None = None
    loop: bool = False
    hands: HandTimes | None = None

    def __post_init__(self) -> None:
        reference = get("heat.speed.reference_mm_s")
        if self.speed_mm_s is not None and not reference.low <= self.speed_mm_s <= reference.high:
            raise ValueError(f"{self.speed_mm_s:g} mm/s is not within {reference.low:g} to {reference.high:g}")
        if self.passes is not None and self.passes < 1:
            raise ValueError("at least one pass is asked for")


@dataclass(frozen=True, slots=True, kw_only=True)
class PassesFigures:
    """What a number of passes at every place would ask for; `pacing` is None where no round keeps the limits.

    `in_middle`: the round that keeps them in the middle band, to compare with; never the one that is offered.
    """

    passes: int
    pacing: Pacing | None
    in_middle: Pacing | None
    worst_organ: Organ
    worst_share: float


@dataclass(frozen=True, slots=True, kw_only=True)
class ToothHeat:
    """Heat and pacing of one tooth. `none`: why no strokes are planned at all, None where some are.

    `found`: the round, or the proof that none with the passes asked for keeps the limits. `more_distance_mm`: how much
    further from bone the cut would have to stay for that, None where distance to bone is not what is lacking. `warmth`: the
    round that is offered on the sections of the tooth.
    """

    none: NoStrokes | None
    kept_out: tuple[KeptOut, ...]
    strokes: tuple[SectorStroke, ...]
    over_bone_mm: tuple[float, ...]
    passes: int
    task: PacingTask | None
    found: Pacing | NoPacing | None
    organs: tuple[OrganBand, ...]
    warmth: RoundWarmth | None
    by_passes: tuple[PassesFigures, ...]
    more_distance_mm: float | None

    @property
    def round(self) -> Pacing | None:
        """Return the round that is offered: as asked for, or with as many passes as hold."""
        return self.found.with_fewer if isinstance(self.found, NoPacing) else self.found


def heat_of_tooth(planned: PlannedTooth, wishes: HeatWishes) -> ToothHeat:
    """Return heat and pacing of a planned tooth."""
    route = planned.route(SOFT_TISSUE.id)
    closed = _closed(planned.tooth, route)
    if closed is not None or route is None or route.lines is None:
        return _nothing(closed or "no_route", ())
    neck = cut_neck(planned, route.lines)
    kept_out = keep_outs(neck)
    sectors = stroke_sectors(neck, kept_out)
    stretches = kept_out_stretches(kept_out)
    if not sectors:
        return _nothing("all_kept_out" if neck.cut.any() else "no_cut", stretches)
    return _with_strokes(neck, sectors, stretches, wishes)


def _closed(tooth: Tooth, route: PlannedRoute | None) -> NoStrokes | None:
    """Return what closes the way of current for the whole tooth, None where nothing does."""
    if tooth.facts.implant_beside is True:
        return "implant_beside"
    if route is None or route.verdict not in (*_OFFERED, "not needed") or route.lines is None:
        return "no_route"
    return "no_cut" if route.verdict == "not needed" else None


def _nothing(why: NoStrokes, kept_out: tuple[KeptOut, ...]) -> ToothHeat:
    return ToothHeat(
        none=why,
        kept_out=kept_out,
        strokes=(),
        over_bone_mm=(),
        passes=0,
        task=None,
        found=None,
        organs=(),
        warmth=None,
        by_passes=(),
        more_distance_mm=None,
    )


def _with_strokes(
    neck: CutNeck,
    sectors: tuple[StrokeSector, ...],
    kept_out: tuple[KeptOut, ...],
    wishes: HeatWishes,
) -> ToothHeat:
    over_bone = tuple(tissue_over_bone_mm(neck, sector) for sector in sectors)
    speed = wishes.speed_mm_s or value("heat.speed.reference_mm_s")
    strokes = tuple(
        SectorStroke(sector=sector, form=_form(neck.tooth, sector, left_mm, wishes), speed_mm_s=speed)
        for sector, left_mm in zip(sectors, over_bone, strict=True)
    )
    passes = wishes.passes or _passes_of(neck)
    hands = wishes.hands or usual_hands()
    warmed = _warmed(neck.tooth, neck_shape(neck), strokes, passes, hands)
    task = warmed.task
    found = plan_pacing(task)
    offered = found.with_fewer if isinstance(found, NoPacing) else found
    organs, warmth = ((), None) if offered is None else _over_the_round(warmed, strokes, offered)
    return ToothHeat(
        none=None,
        kept_out=kept_out,
        strokes=strokes,
        over_bone_mm=over_bone,
        passes=passes,
        task=task,
        found=found,
        organs=organs,
        warmth=warmth,
        by_passes=tuple(_figures(task, count) for count in range(1, max(passes, _MOST_PASSES_SHOWN) + 1)),
        more_distance_mm=_more_distance_mm(neck, strokes, passes, hands, found),
    )


def _form(tooth: Tooth, sector: StrokeSector, left_mm: float, wishes: HeatWishes) -> ElectrodeForm:
    """Return the form for a sector: wire to incise, bent where it has to reach; the loop only if asked and far from bone."""
    if wishes.loop and left_mm >= value("pacing.loop_to_bone_mm"):
        return "loop"
    oral = sector.hand_position == "oral"
    hard_to_reach = tooth.facts.access in ("limited", "poor")
    return "angled wire" if oral or hard_to_reach else "straight wire"


def _passes_of(neck: CutNeck) -> int:
    """Return how many passes the face of the cut takes: the wire in the tissue is as long as the bevel makes it."""
    face_mm = neck.gum_mm.max() / np.sin(np.deg2rad(value("plan.bevel_deg")))
    return int(np.ceil(face_mm / value("pacing.depth_per_pass_mm")))


@dataclass(frozen=True, slots=True, kw_only=True)
class _Warmed:
    """The round to plan, in the worst band, and the strokes it is made of: the first at each place and every later one."""

    task: PacingTask
    shape: NeckShape
    pulp: bool
    first: tuple[NeckStroke, ...]
    later: tuple[NeckStroke, ...]


def _warmed(tooth: Tooth, shape: NeckShape, strokes: Sequence[SectorStroke], passes: int, hands: HandTimes) -> _Warmed:
    """Return the round to plan, in the worst band: no blood flow, the strongest source."""
    alive = tooth.may_have_pulp
    first = strokes_of(shape, strokes, carved=False, pulp=alive)
    later = strokes_of(shape, strokes, carved=True, pulp=alive)
    places = tuple(
        Place(
            length_mm=one.watched.stroke_s * stroke.speed_mm_s,
            speed_mm_s=stroke.speed_mm_s,
            passes=passes,
            pause_s=pause_s(stroke.form),
            neighbours=stroke.sector.neighbours,
            form=stroke.form,
            hand_position=stroke.sector.hand_position,
        )
        for stroke, one in zip(strokes, first, strict=True)
    )
    speed = strokes[0].speed_mm_s
    task = PacingTask(
        places=places,
        rules=hand_rules(hands),
        responses=tuple(one.watched for one in first),
        later_responses=tuple(one.watched for one in later),
        strength=worst_band(speed).factor(speed),
    )
    return _Warmed(task=task, shape=shape, pulp=alive, first=first, later=later)


def _over_the_round(
    warmed: _Warmed, strokes: Sequence[SectorStroke], offered: Pacing
) -> tuple[tuple[OrganBand, ...], RoundWarmth]:
    """Return what the round that is offered leaves in the organs and on the sections, in every band."""
    perfused = gentle_strokes_of(warmed.shape, strokes, pulp=warmed.pulp)
    gentle = tuple(one.watched for one in perfused)
    courses = band_courses(warmed.task, gentle, offered.strokes, strokes[0].speed_mm_s)
    warmth = round_warmth(
        warmed.shape, warmed.task, offered.strokes, courses, first=warmed.first, later=warmed.later, perfused=perfused
    )
    return organ_bands(courses), warmth


def _figures(task: PacingTask, passes: int) -> PassesFigures:
    """Return the figures of a number of passes at every place."""
    task = replace(task, places=tuple(replace(place, passes=passes) for place in task.places))
    pacing = shortest_round(task)
    verdicts = (worst_of_longest_waits(task),) if pacing is None else pacing.organs
    worst = max(verdicts, key=lambda verdict: verdict.share)
    return PassesFigures(
        passes=passes,
        pacing=pacing,
        in_middle=shortest_round(replace(task, strength=middle_band().factor(task.places[0].speed_mm_s))),
        worst_organ=worst.organ,
        worst_share=worst.share,
    )


def _more_distance_mm(
    neck: CutNeck,
    strokes: Sequence[SectorStroke],
    passes: int,
    hands: HandTimes,
    found: Pacing | NoPacing,
) -> float | None:
    """Return the least further distance from bone, in steps of the probe, with which the passes asked for hold."""
    if not isinstance(found, NoPacing) or found.worst.organ not in ("bone", "ligament"):
        return None
    step_mm = value("case.range.step_mm")
    for count in range(1, round(get("plan.limit.clear_of_bone_mm").high / step_mm) + 1):
        shape = neck_shape(neck, more_bone_mm=count * step_mm)
        if isinstance(plan_pacing(_warmed(neck.tooth, shape, strokes, passes, hands).task), Pacing):
            return count * step_mm
    return None

"""What is said of a round: the answer with its figures, where the stroke runs, what hand and assistant keep in mind."""

from collections.abc import Sequence
from math import ceil

from collum.case.model import Tooth
from collum.core import tooth as anatomy
from collum.core.heat.pacing import NoPacing, Pacing
from collum.core.heat.pacing_task import ElectrodeForm, HandPosition
from collum.core.ring import ORAL_DEG, QUARTER_DEG
from collum.evidence import get, value
from collum.plan.heat.sectors import StrokeSector
from collum.plan.heat.tooth_heat import ToothHeat
from collum.plan.heat.warmth import SectorStroke
from collum.plan.sentence import Sentence, say

_DECIMALS = 1
_MESIAL_DEG = 90
_TURN_DEG = 360
_PERCENT = 100
_DUST_DECIMALS = 6


def answer(heat: ToothHeat) -> tuple[Sentence, ...]:
    """Return the answer of a tooth, the decisive sentence first."""
    if heat.none is not None or heat.found is None:
        return () if heat.none is None else (say(f"heat.closed.{heat.none}"),)
    if isinstance(heat.found, Pacing):
        return _paced(heat.found, as_wanted=heat.task is None or heat.found.together == heat.task.ways_together()[0])
    return _no_pause_helps(heat, heat.found)


def _paced(pacing: Pacing, *, as_wanted: bool) -> tuple[Sentence, ...]:
    """Return what to do and the longest wait; and, unless groups come together `as_wanted`, what heat asks for instead."""
    if len(pacing.strokes) == 1:
        return (say("heat.answer.one_stroke", duration_s=seconds(pacing.duration_s)),)
    passes = max(stroke.number for stroke in pacing.strokes)
    figures: dict[str, int | float] = {
        "places": len({stroke.place for stroke in pacing.strokes}),
        "duration_s": round(pacing.duration_s),
    }
    if passes > 1:
        figures["passes"] = passes
    work = "once" if passes == 1 else "often"
    if pacing.longest_wait_s < value("pacing.tolerance_s"):
        said = [say(f"heat.answer.{work}_without_wait", **figures)]
    else:
        said = [say(f"heat.answer.{work}_with_wait", longest_s=whole_s(pacing.longest_wait_s), **figures)]
    if passes > 1:
        said.append(say("heat.answer.several_passes", depth_mm=value("pacing.depth_per_pass_mm")))
    if not as_wanted:
        said.append(say(f"heat.answer.{pacing.together.replace(' ', '_')}"))
    return tuple(said)


def group(side: HandPosition, form: ElectrodeForm, sectors: Sequence[int]) -> Sentence:
    """Return where hand and wire are for some sectors, by their numbers."""
    places = ", ".join(str(sector + 1) for sector in sectors)
    name = f"heat.group.{side}.{form.replace(' ', '_')}"
    return say(name, places=places, oral_deg=ORAL_DEG) if side == "oral" else say(name, places=places)


def _no_pause_helps(heat: ToothHeat, found: NoPacing) -> tuple[Sentence, ...]:
    figures: dict[str, int | float] = {"wait_s": seconds(found.longest_wait_s), "percent": percent(found.worst.share)}
    if found.passes_asked == 1:
        said = [say(f"heat.answer.no_pause_once_{found.worst.organ}", **figures)]
    else:
        said = [say(f"heat.answer.no_pause_often_{found.worst.organ}", passes=found.passes_asked, **figures)]
    if found.with_fewer is None:
        said.append(say("heat.answer.one_is_too_many"))
    elif found.left_out:
        places = len(heat.strokes) - len(found.left_out)
        duration_s = seconds(found.with_fewer.duration_s)
        said.append(say("heat.answer.fewer_places_hold", places=places, all_places=len(heat.strokes), duration_s=duration_s))
    elif found.passes_that_hold == 1:
        said.append(say("heat.answer.one_pass_holds", duration_s=seconds(found.with_fewer.duration_s)))
    else:
        duration_s, waiting_s = seconds(found.with_fewer.duration_s), seconds(found.with_fewer.waiting_s)
        said.append(
            say("heat.answer.fewer_passes_hold", passes=found.passes_that_hold, duration_s=duration_s, waiting_s=waiting_s)
        )
    if heat.more_distance_mm is not None:
        said.append(say("heat.answer.more_distance", distance_mm=heat.more_distance_mm, passes=found.passes_asked))
    return tuple(said)


def direction_deg(sector: StrokeSector) -> tuple[float, float]:
    """Return where the stroke begins and ends, 0 to 360: away from a keep-out at one end, else towards mesial. [deg]"""
    begin, end = sector.stretch.from_deg % _TURN_DEG, sector.stretch.to_deg % _TURN_DEG
    if sector.open_before != sector.open_after:
        return (begin, end) if sector.open_before else (end, begin)
    to_mesial = (_MESIAL_DEG - sector.stretch.centre_deg + _TURN_DEG / 2) % _TURN_DEG - _TURN_DEG / 2
    return (begin, end) if to_mesial >= 0 else (end, begin)


def remarks(one: SectorStroke, tooth: Tooth) -> tuple[Sentence, ...]:
    """Return what is to be kept in mind at one sector."""
    said = [say(f"heat.form.{one.form.replace(' ', '_')}")]
    if one.sector.open_before or one.sector.open_after:
        said.append(say("heat.remark.away_from_keep_out"))
    oral = abs(one.sector.stretch.centre_deg - ORAL_DEG) < QUARTER_DEG
    if oral and not anatomy.is_upper(tooth.number):
        said.append(say("heat.remark.tongue"))
    return tuple(said)


def reminders(heat: ToothHeat) -> tuple[Sentence, ...]:
    """Return what hand and assistant keep in mind over the round; none where nothing is stroked."""
    if not heat.strokes:
        return ()
    speed = min(one.speed_mm_s for one in heat.strokes)
    said = [
        say("heat.reminder.speed", speed_mm_s=speed),
        say("heat.reminder.rest", pause_s=value("pacing.pause_s"), pause_high_s=get("pacing.pause_s").high),
        *(say(f"heat.reminder.{name}") for name in ("no_touch", "mirror", "suction", "moist", "clean_tip", "plate", "unit")),
    ]
    if any(one.form == "loop" for one in heat.strokes):
        said.insert(2, say("heat.reminder.loop", pause_s=value("pacing.loop_pause_s")))
    return tuple(said)


def whole_s(time_s: float) -> int:
    """Return a wait in whole seconds, never rounded down: what has to pass never reads as if it had."""
    return ceil(round(time_s, _DUST_DECIMALS))


def percent(share: float) -> int:
    """Return a part of a limit in whole percent, never rounded down: what passes its limit never reads as if it kept it."""
    return ceil(round(_PERCENT * share, _DUST_DECIMALS))


def seconds(time_s: float) -> float:
    """Return a time as it is said: to a tenth of a second."""
    return round(time_s, _DECIMALS) + 0.0

"""How much room there is to mend a rule that a route misses: in the lines, the preparation, and by other treatments."""

from collections.abc import Collection
from dataclasses import dataclass, replace

import numpy as np

from collum.evidence import value
from collum.plan.lengthening.levels.prepared import Prepared, at_means
from collum.plan.lengthening.procedures.lines import RoutePlan
from collum.plan.lengthening.procedures.procedure import Treatment, after
from collum.plan.lengthening.requirements.assessment import assess, least_of
from collum.plan.lengthening.requirements.definitive_finish_line import DEFINITIVE_FINISH_LINE
from collum.plan.lengthening.requirements.preparation_height import highest_line_mm
from collum.plan.lengthening.requirements.situation import HEIGHT_STATIONS, Situation, lowest_top_mm
from collum.plan.lengthening.requirements.table import requirement_of
from collum.plan.lengthening.requirements.verdict import Graded
from collum.plan.lengthening.wishes import Wishes
from collum.vocabulary import RouteName


@dataclass(frozen=True, slots=True, kw_only=True)
class Missed:
    """A rule that a route misses, with what advice on it may rest on.

    `before`: the neck before the treatment. `closed`: the routes that a finding or the patient closes.
    """

    name: str
    graded: Graded
    plan: RoutePlan
    before: Prepared
    closed: Collection[RouteName]

    @property
    def short_by(self) -> float:
        return self.graded.short_by or 0

    @property
    def station(self) -> int:
        """The worst station, of a rule that is judged by station."""
        assert self.graded.worst_station is not None
        return self.graded.worst_station

    @property
    def situation(self) -> Situation:
        """The lines of the route in all draws."""
        return Situation(
            prepared=self.plan.prepared,
            wishes=self.plan.wishes,
            treatment=self.plan.treatment,
            cut_mm=self.plan.cut_mm,
            finish_mm=self.plan.finish_mm,
        )

    @property
    def height_lacking_mm(self) -> float:
        """What is lacking between crest and sound edge: of a line that has no place several rules share the lack."""
        room = self.plan.assessment.graded.get(DEFINITIVE_FINISH_LINE.id)
        return max(self.short_by, 0 if room is None else room.short_by or 0)

    @property
    def preparation_lacking_mm(self) -> float:
        """What is lacking between the lowest place a line may have and the top of the preparation, each at its worst."""
        plan = self.plan
        situation = self.situation
        sure, moves = plan.wishes.rule(self.name).confidence, situation.line_moves_mm
        highest = np.quantile(highest_line_mm(plan.prepared, plan.wishes) - moves, 1 - sure, axis=1)
        lowest = np.max([np.quantile(low - moves, sure, axis=1) for low in situation.lowest_lines_mm], axis=0)
        return max(self.short_by, float((lowest - highest)[HEIGHT_STATIONS].max()))

    @property
    def lacking_there_mm(self) -> float:
        """What is lacking at the worst station itself, which a mean with its neighbours shows less of."""
        found = requirement_of(self.name).worst(self.situation)
        if found is None:
            return self.short_by
        at_station = found[0].amount[self.station]
        return max(self.short_by, -float(np.quantile(at_station, 1 - found[0].rule.confidence)))

    def lacking_with(self, *, treatment: Treatment | None = None, wishes: Wishes | None = None, higher_mm: float = 0) -> float:
        """Return what the rule lacks under another treatment, with other wishes, or with a finish line that much higher."""
        plan = self.plan
        done, asked = treatment or plan.treatment, wishes or plan.wishes
        neck = after(self.before, done)
        graded = assess(neck, asked, plan.cut_mm, plan.finish_mm + higher_mm, done).graded.get(self.name)
        return 0 if graded is None else graded.short_by or 0


def spare_reduction_mm(wishes: Wishes) -> float:
    """Return by how much the occlusal reduction can fall: down to what the thinnest surface needs. [mm]"""
    return max(wishes.reduction_mm - value("restoration.monolithic_zirconia.occlusal_mm"), 0)


def freely_placed(plan: RoutePlan) -> Wishes | None:
    """Return the wishes with a finish line that may lie wherever the sulcus allows; None where no place was wished, or where
    a margin that is bonded has its own.
    """
    prepared, wishes = plan.prepared, plan.wishes
    if prepared.inputs.tooth.restoration.finish is None or plan.treatment.procedure.bonds:
        return None
    sulcus_key = wishes.rule("definitive_finish_line").evidence[0]
    return replace(wishes, low_mm=-prepared.evidence.values[sulcus_key], high_mm=None)


def held_too_high(missed: Missed) -> bool:
    """Return whether the finish line is held by hand where, as much lower as the rule lacks, it would still be allowed."""
    plan, tooth = missed.plan, missed.plan.prepared.inputs.tooth
    held = plan.treatment.procedure.held(tooth).finish
    if not held:
        return False
    lowest = max(float(np.median(low[missed.station])) for low in missed.situation.lowest_lines_mm)
    return float(plan.finish_mm[missed.station]) - missed.short_by >= lowest


def raising_gives_mm(missed: Missed) -> float:
    """Return how much room a raised sound edge gives at the worst place before the top of the preparation bounds it. [mm]"""
    plan, station = missed.plan, missed.graded.worst_station
    means, wishes = at_means(plan.prepared), plan.wishes
    if requirement_of(missed.name).remedy in ("reduction", "walls") or station is None or means.sound_edge_mm is None:
        return 0
    if requirement_of(missed.name).remedy == "place" and wishes.high_mm is not None and wishes.shown[station]:
        return 0  # the line is to be hidden: it may not follow the sound edge
    if means.occlusal_edge_mm is None:
        return float("inf")
    top = float(means.occlusal_edge_mm[station, 0]) + wishes.top_mm
    if HEIGHT_STATIONS[station]:
        top = min(top, float(highest_line_mm(means, wishes)[station, 0] + wishes.ferrule_mm[station]))
    return max(top - float(means.sound_edge_mm[station, 0]), 0)


def gained_by_another_place(plan: RoutePlan) -> float:
    """Return how much room a finish line gains that may lie wherever the sulcus allows, at the best estimate. [mm]"""
    free = freely_placed(plan)
    return 0 if free is None else max(gained(plan, "definitive_finish_line", free), 0)


def gained(plan: RoutePlan, missed: str, other: Wishes) -> float:
    """Return what a rule gains by other wishes with the lines of the route, at the best estimate."""
    means = at_means(plan.prepared)
    now, then = (
        float(least_of(means, wishes, plan.cut_mm, plan.finish_mm, plan.treatment)[missed][0])
        for wishes in (plan.wishes, other)
    )
    return then - now


def room_above_line_mm(plan: RoutePlan, station: int) -> float:
    """Return by how much the finish line could lie more coronal at a station before it costs ferrule. [mm]"""
    means = at_means(plan.prepared)
    if means.sound_edge_mm is None:
        return 0
    highest = float(lowest_top_mm(means, plan.wishes)[station, 0]) - float(plan.wishes.ferrule_mm[station])
    return max(highest - float(plan.finish_mm[station]), 0)

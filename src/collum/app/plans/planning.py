"""Use case: make the plan of a case, or judge moved lines.

Levels and draws depend on their task alone: readings, evidence, seed and number. They are kept in a bounded cache by it, so
that a wish, a hold or a moved line is answered from the same draws at once.
"""

import hashlib
from collections import OrderedDict
from collections.abc import Callable, Iterator, Sequence
from dataclasses import dataclass
from threading import Lock

import numpy as np

import collum
from collum.app.memory import keep_freed_memory, memory_at_rest
from collum.app.plans.side_by_side import side_by_side
from collum.app.speaking import words
from collum.case import Case, canonical_json, readings_form, to_document
from collum.evidence import all_constants
from collum.evidence.handed import Evidence, evidence_of
from collum.plan import (
    LevelDraws,
    LevelTask,
    MovedLines,
    Note,
    PlannedTooth,
    Prepared,
    ToothPlan,
    draw_levels,
    judge_tooth,
    plan_tooth,
    planned_tooth,
    prepare,
    raised,
)
from collum.plan.lengthening.procedures.soft_tissue import SOFT_TISSUE
from collum.plan.safety import screen, state_of
from collum.vocabulary import RouteName
from collum.wire.plan.document import PlanDocument, RouteDocument, ToothDocument
from collum.wire.plan.standing_cautions import standing_cautions
from collum.wire.plan.to_document import told_plan, tooth_document
from collum.wire.sources import constant_document, constants_used
from collum.wire.speaking import speaker

DRAWS = 10_000
_SEED_BITS = 53  # a seed has to survive JSON in a browser
_spoken = speaker(words)
_CACHE_ENTRIES = 32
_CACHE_BYTES = 145_000_000  # six teeth with every level read: a bridge and its neighbours


@dataclass(frozen=True, slots=True, kw_only=True)
class Hold:
    """A handle in the hand: the line is bent smoothly through a height in the tooth frame at a station."""

    line: str
    station_deg: float
    height_mm: float


@dataclass(frozen=True, slots=True, kw_only=True)
class PlannedCase:
    """The plan of a case as it leaves the program, and beside each of its teeth what restoration, bridge and heat take."""

    document: PlanDocument
    teeth: tuple[PlannedTooth, ...]

    def of_tooth(self, number: int) -> "PlannedCase":
        """Return the plan with one tooth alone; with none where the case does not plan it."""
        teeth = tuple(tooth for tooth in self.teeth if tooth.tooth.number == number)
        return PlannedCase(document=self.document.of_tooth(number), teeth=teeth)


class Cancelled(RuntimeError):
    """A newer request has taken the place of this one."""


class Planner:
    """Makes plans; keeps levels and draws of recent readings. Safe to call from several threads."""

    def __init__(self, draws: int = DRAWS, note: Note = raised, evidence: Evidence | None = None) -> None:
        """`note` notes a fault of our own by which one route failed, and gives its id; else it ends the plan.

        `evidence`: what every plan is made under; the registry's where none is handed in.
        """
        keep_freed_memory()
        self._note = note
        self._draws = draws
        self._evidence = evidence_of(all_constants()) if evidence is None else evidence
        self._kept: OrderedDict[LevelTask, LevelDraws] = OrderedDict()
        self._lock = Lock()

    @property
    def draws(self) -> int:
        """How many draws a plan is made with where nothing else is asked for."""
        return self._draws

    @memory_at_rest.work()
    def plan(
        self,
        case: Case,
        *,
        seed: int | None = None,
        draws: int | None = None,
        cancelled: Callable[[], bool] = lambda: False,
    ) -> PlanDocument:
        """Return the plan of every tooth of the case that is to be restored. Raises Cancelled between teeth when asked."""
        seed, draws = self._named(case, seed, draws)
        teeth = [document for _, document in self._teeth(case, seed, draws, None, cancelled)]
        return self._document(case, teeth, seed, draws)

    @memory_at_rest.work()
    def planned(
        self,
        case: Case,
        *,
        only: int | None = None,
        seed: int | None = None,
        draws: int | None = None,
        cancelled: Callable[[], bool] = lambda: False,
    ) -> PlannedCase:
        """Return the plan of a case with what restoration, bridge and heat take of it. Raises Cancelled between teeth.

        `only`: the number of the one tooth that is asked for.
        """
        seed, draws = self._named(case, seed, draws)
        found = [(planned_tooth(plan), one) for plan, one in self._teeth(case, seed, draws, only, cancelled)]
        document = self._document(case, [one for _, one in found], seed, draws)
        return PlannedCase(document=document, teeth=tuple(planned for planned, _ in found))

    def _named(self, case: Case, seed: int | None, draws: int | None) -> tuple[int, int]:
        """Return what names the draws of a plan: as asked for, else what belongs to the readings and to this planner."""
        return seed if seed is not None else readings_seed(case), draws or self._draws

    def _document(self, case: Case, teeth: Sequence[ToothDocument], seed: int, draws: int) -> PlanDocument:
        numbers = tuple(t.number for t in case.teeth)
        screening = screen(case)  # without a clock: a card asks the gate again, at its own moment
        return PlanDocument(
            format="collum-plan/2",
            program_version=collum.__version__,
            units={"length": "mm", "angle": "deg"},
            case_reference=case.patient.reference,
            invented=case.invented,
            teeth=list(teeth),
            cautions=[_spoken(sentence) for sentence in standing_cautions(teeth, screening)],
            constants=[constant_document(c) for c in self._evidence.as_planned(constants_used(numbers))],
            safety_cleared=screening.cleared,
            safety_reason=_spoken(state_of(screening)),
            seed=seed,
            draws=draws,
            input_sha256=hashlib.sha256(canonical_json(to_document(case))).hexdigest(),
        )

    @memory_at_rest.work()
    def judge(
        self,
        case: Case,
        *,
        tooth: int,
        route: RouteName = SOFT_TISSUE.id,
        cut_line_mm: list[float],
        finish_line_mm: list[float],
        bone_reduction_mm: list[float] | None = None,
        extrusion_mm: float = 0,
        hold: Hold | None = None,
        seed: int | None = None,
        draws: int | None = None,
    ) -> RouteDocument:
        """Return the route for given lines in the tooth frame, from the same draws as the plan, without the solver.

        `bone_reduction_mm`, `extrusion_mm`: what the route does, where it lowers bone or raises the tooth.
        """
        prepared = self._prepared(case, tooth, *self._named(case, seed, draws))
        moved = MovedLines(
            route=route,
            cut_mm=np.array(cut_line_mm),
            finish_mm=np.array(finish_line_mm),
            bone_mm=np.zeros(len(cut_line_mm)) if bone_reduction_mm is None else np.array(bone_reduction_mm),
            extruded_mm=extrusion_mm,
            hold=None if hold is None else (hold.line, hold.station_deg, hold.height_mm),
        )
        judged = judge_tooth(case, tooth, prepared, moved)
        return tooth_document(judged, words).routes[0]

    def _teeth(
        self, case: Case, seed: int, draws: int, only: int | None, cancelled: Callable[[], bool]
    ) -> Iterator[tuple[ToothPlan, ToothDocument]]:
        """Yield the plan of each tooth that is to be restored, with its wire form."""
        for position, tooth in enumerate(case.teeth):
            if tooth.role == "neighbour" or only not in (None, tooth.number):
                continue
            if cancelled():
                raise Cancelled
            prepared = self._prepared(case, position, seed, draws)
            yield told_plan(plan_tooth(case, position, prepared, side_by_side, self._note), words, self._note)

    def _prepared(self, case: Case, position: int, seed: int, draws: int) -> Prepared:
        return prepare(case, position, self._evidence, seed=seed, draws=draws, draw=self._drawn)

    def _drawn(self, task: LevelTask) -> LevelDraws:
        with self._lock:
            if task in self._kept:
                self._kept.move_to_end(task)
                return self._kept[task]
        made = draw_levels(task, side_by_side)
        with self._lock:
            self._kept[task] = made
            while len(self._kept) > 1 and self._too_much():
                self._kept.popitem(last=False)
        return made

    def _too_much(self) -> bool:
        return len(self._kept) > _CACHE_ENTRIES or sum(kept.bytes for kept in self._kept.values()) > _CACHE_BYTES


def readings_seed(case: Case) -> int:
    """Return the seed that belongs to the readings: the first bits of the SHA-256 of their frozen form.

    Same readings, same numbers, no flicker. Two versions of the constants share their random numbers, so that a difference
    between their plans is the constants' alone.
    """
    digest = hashlib.sha256(readings_form(case)).digest()
    return int.from_bytes(digest[:8], "big") >> (64 - _SEED_BITS)

"""Use case: make the plan of a case, or judge moved lines.

Levels and draws depend on readings and constants alone. They are kept in a bounded cache by the hash of both, so that a wish, a hold or
a moved line is answered from the same draws at once.
"""

import hashlib
import json
from collections import OrderedDict
from collections.abc import Callable
from dataclasses import dataclass
from threading import Lock

import numpy as np
from numpy.random import Generator

import collum
from collum.app.speaking import words
from collum.case import Case, canonical_json, from_document, to_document
from collum.case.model import Tooth
from collum.plan import (
    Prepared,
    Sentence,
    constant_document,
    constants_used,
    judge_tooth,
    plan_tooth,
    prepare,
    say,
    tooth_document,
)
from collum.plan.document import PLAN_FORMAT, PlanDocument, RouteDocument, SentenceDocument

DRAWS = 10_000
_SEED_BITS = 53  # a seed has to survive JSON in a browser
_CACHE_ENTRIES = 32
_CACHE_BYTES = 64_000_000
_CAUTIONS = (
    "clinician_decides",
    "bone_distance",
    "no_metal",
    "no_data_soft_tissue",
    "no_data_oral",
    "model_not_survival",
)


@dataclass(frozen=True, slots=True, kw_only=True)
class Hold:
    """A handle in the hand: the line is bent smoothly through a height in the tooth frame at a station."""

    line: str
    station_deg: float
    height_mm: float


class Cancelled(RuntimeError):
    """A newer request has taken the place of this one."""


class Planner:
    """Makes plans; keeps levels and draws of recent readings. Safe to call from several threads."""

    def __init__(self) -> None:
        self._kept: OrderedDict[str, Prepared] = OrderedDict()
        self._lock = Lock()

    def plan(
        self,
        case: Case,
        *,
        seed: int | None = None,
        draws: int = DRAWS,
        cancelled: Callable[[], bool] = lambda: False,
    ) -> PlanDocument:
        """Return the plan of every tooth of the case that is to be restored. Raises Cancelled between teeth when asked."""
        seed = seed if seed is not None else readings_seed(case)
        teeth = []
        for position, tooth in enumerate(case.teeth):
            if tooth.role == "neighbour":
                continue
            if cancelled():
                raise Cancelled
            teeth.append(tooth_document(plan_tooth(case, position, self._prepared(case, position, seed, draws)), words))
        numbers = tuple(t.number for t in case.teeth)
        return PlanDocument(
            format=PLAN_FORMAT,
            program_version=collum.__version__,
            units={"length": "mm", "angle": "deg"},
            case_reference=case.patient.reference,
            invented=case.invented,
            teeth=teeth,
            cautions=[_spoken(say(f"plan.caution.{key}")) for key in _CAUTIONS],
            constants=[constant_document(c) for c in constants_used(numbers)],
            safety_cleared=False,
            safety_reason=_spoken(say("plan.safety.unanswered")),
            seed=seed,
            draws=draws,
            input_sha256=hashlib.sha256(canonical_json(to_document(case))).hexdigest(),
        )

    def judge(
        self,
        case: Case,
        *,
        tooth: int,
        cut_line_mm: list[float],
        finish_line_mm: list[float],
        hold: Hold | None = None,
        seed: int | None = None,
        draws: int = DRAWS,
    ) -> RouteDocument:
        """Return the route for given lines in the tooth frame, from the same draws as the plan, without the solver."""
        seed = seed if seed is not None else readings_seed(case)
        prepared = self._prepared(case, tooth, seed, draws)
        judged = judge_tooth(
            case,
            tooth,
            prepared,
            cut_mm=np.array(cut_line_mm),
            finish_mm=np.array(finish_line_mm),
            hold=None if hold is None else (hold.line, hold.station_deg, hold.height_mm),
        )
        return tooth_document(judged, words).routes[0]

    def _prepared(self, case: Case, position: int, seed: int, draws: int) -> Prepared:
        mark = _readings_mark(case, case.teeth[position])
        key = hashlib.sha256(json.dumps([mark, position, seed, draws, collum.__version__]).encode()).hexdigest()
        with self._lock:
            if key in self._kept:
                self._kept.move_to_end(key)
                return self._kept[key]
        made = prepare(case, position, _generators(seed, position), draws)
        with self._lock:
            self._kept[key] = made
            while len(self._kept) > _CACHE_ENTRIES or sum(p.bytes for p in self._kept.values()) > _CACHE_BYTES:
                if len(self._kept) == 1:
                    break
                self._kept.popitem(last=False)
        return made


def plan_document(planner: Planner, document: object, *, seed: int | None = None) -> PlanDocument:
    """Return the plan of a plain case document. Raises CaseFaults."""
    return planner.plan(from_document(document), seed=seed)


def readings_seed(case: Case) -> int:
    """Return the seed that belongs to the readings and the constants: same readings, same numbers, no flicker.

    Tooth number, reference, wishes and holds play no part.
    """
    marks = [_readings_mark(case, tooth) for tooth in case.teeth]
    constants = [[c.key, c.value] for c in constants_used(())]
    digest = hashlib.sha256(json.dumps([_without_numbers(marks), constants]).encode()).digest()
    return int.from_bytes(digest[:8], "big") >> (64 - _SEED_BITS)


def _readings_mark(case: Case, tooth: Tooth) -> list[object]:
    """Return what levels and draws depend on, as plain values."""
    readings = [
        [kind, site, [[r.value_mm, r.step_mm, r.error_mm, r.outcome] for r in found]]
        for kind, by_site in sorted(tooth.readings.items())
        for site, found in sorted(by_site.items())
    ]
    own = [[o.tooth, o.site, o.margin_to_crest_mm, o.error_mm] for o in tooth.own_height_from]
    return [
        tooth.number,
        tooth.role == "neighbour",
        tooth.state,
        sorted(tooth.site_state.items()),
        sorted(tooth.bleeding),
        sorted(tooth.sites),
        [tooth.contact_mesial, tooth.contact_distal, tooth.edge_is_level],
        case.patient.phenotype,
        readings,
        own,
    ]


def _without_numbers(marks: list[list[object]]) -> list[list[object]]:
    return [mark[1:] for mark in marks]


def _generators(seed: int, position: int) -> Callable[[int], Generator]:
    def make(purpose: int) -> Generator:
        return np.random.default_rng(np.random.SeedSequence(seed, spawn_key=(purpose, position)))

    return make


def _spoken(sentence: Sentence) -> SentenceDocument:
    return SentenceDocument(key=sentence.key, parameters=dict(sentence.parameters), text=words(sentence))

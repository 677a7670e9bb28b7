"""Use case of heat for whoever asks again and again: the page that is looked at, the card, the round at the chair.

Heat takes seconds; the last answers are kept, so that the round that was looked at is on the card, or starts, at once.
"""

import hashlib
from collections import OrderedDict
from collections.abc import Callable
from functools import partial
from threading import Lock
from typing import Any

from collum.app.memory import memory_at_rest
from collum.app.plans.heat import heat_of_plan
from collum.app.plans.planning import Cancelled, PlannedCase, Planner, readings_seed
from collum.app.speaking import words
from collum.case import Case, canonical_json, planned_on, to_document
from collum.plan.heat import HeatWishes
from collum.plan.safety import screen, state_of
from collum.wire.heat.document import HeatDocument
from collum.wire.plan.document import PlanDocument
from collum.wire.speaking import speaker

_MOST_KEPT = 16


class HeatDesk:
    """Paces teeth and keeps the last answers. For several threads."""

    def __init__(self, planner: Planner) -> None:
        self._planner = planner
        self._kept: OrderedDict[bytes, HeatDocument] = OrderedDict()
        self._lock = Lock()

    def of_case(
        self, case: Case, position: int, wishes: HeatWishes, *, cancelled: Callable[[], bool] = lambda: False
    ) -> HeatDocument:
        """Return heat and pacing of the planned tooth at a position of the case. Raises Cancelled, IndexError."""

        def plan(number: int) -> PlannedCase:
            made = self._planner.planned(case, only=number, cancelled=cancelled)
            if cancelled():
                raise Cancelled
            return made

        named = (readings_seed(case), self._planner.draws)
        return self._paced(case, planned_number(case, position), wishes, named, plan)

    def of_plan(self, case: Case, plan: PlanDocument, number: int, wishes: HeatWishes) -> HeatDocument:
        """Return heat and pacing of a tooth as a plan of this version has it: planned again from the same draws.

        Raises IndexError.
        """
        if all(tooth.number != number for tooth in plan.teeth):
            raise IndexError(number)
        named = (plan.seed, plan.draws)
        return self._paced(case, number, wishes, named, partial(self._again, case, plan))

    def _again(self, case: Case, plan: PlanDocument, number: int) -> PlannedCase:
        return self._planner.planned(case, only=number, seed=plan.seed, draws=plan.draws)

    def _paced(
        self, case: Case, number: int, wishes: HeatWishes, named: tuple[int, int], plan: Callable[[int], PlannedCase]
    ) -> HeatDocument:
        key = _key(case, number, wishes, named)
        with self._lock:
            kept = self._kept.get(key)
        if kept is None:
            with memory_at_rest.work():
                kept = heat_of_plan(plan(number), wishes)
            with self._lock:
                self._kept[key] = kept
                while len(self._kept) > _MOST_KEPT:
                    self._kept.popitem(last=False)
        return kept.model_copy(update=_state(case))


def planned_number(case: Case, position: int) -> int:
    """Return the number of the tooth at a position. Raises IndexError where no planned tooth has that position."""
    tooth = case.teeth[position]
    if tooth.role == "neighbour":
        raise IndexError(position)
    return tooth.number


def _key(case: Case, number: int, wishes: HeatWishes, named: tuple[int, int]) -> bytes:
    return hashlib.sha256(repr((canonical_json(planned_on(case)), number, wishes, named)).encode()).digest()


def _state(case: Case) -> dict[str, Any]:
    """Return what an answer says of the case beside its figures, as the case is now."""
    screening = screen(case)  # without a clock: the round asks the gate again, at its own moment
    return {
        "safety_cleared": screening.cleared,
        "safety_reason": speaker(words)(state_of(screening)),
        "input_sha256": hashlib.sha256(canonical_json(to_document(case))).hexdigest(),
    }

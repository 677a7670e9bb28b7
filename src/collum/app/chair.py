"""Use cases of heat and of the round at the chair: pace a tooth, start its round behind the gate, keep what was done.

While a round runs nothing is counted and nothing is pressed: where it stands follows from the instant it began and from the
monotonic clock. A running round lives as long as the program; what was done is kept with the case, in its visit.
"""

import hashlib
import json
from collections import OrderedDict
from collections.abc import Callable, Mapping, Sequence
from dataclasses import dataclass
from threading import Lock
from typing import Any

from collum.app.case_store import CaseStore
from collum.app.environment import Environment, utc_text
from collum.app.gate import NotCleared, moment_of
from collum.app.heat import heat_of_plan, round_at_the_chair
from collum.app.planning import Cancelled, Planner
from collum.app.speaking import words
from collum.case import Case, canonical_json, from_document, to_document
from collum.plan import say
from collum.plan.document import SentenceDocument
from collum.plan.heat import HeatDocument, HeatWishes, RoundEventDocument, RoundStateDocument, ToothHeatDocument, round_now
from collum.plan.safety import Screening, screen, state_of
from collum.records import Revision, StaleRevision, Stamp

AUTHOR = "workbench"
_BESIDE = ("visits", "note", "expected", "format")  # what no figure of heat rests on
_MOST_KEPT = 16
_BEGAN = RoundEventDocument(kind="began", at_s=0)


class NoRound(ValueError):
    """No round is planned for this tooth; `why` says so in words."""

    def __init__(self, why: str) -> None:
        self.why = why
        super().__init__(why)


class WrongLog(ValueError):
    """What was sent cannot be the log of the round."""


class NothingRuns(LookupError):
    """No round of this case was started since the program was."""


class HeatDesk:
    """Paces teeth; keeps the last answers, so that the round that was looked at starts at once. For several threads."""

    def __init__(self, planner: Planner) -> None:
        self._planner = planner
        self._kept: OrderedDict[bytes, HeatDocument] = OrderedDict()
        self._lock = Lock()

    def of_case(
        self, case: Case, position: int, wishes: HeatWishes, *, cancelled: Callable[[], bool] = lambda: False
    ) -> HeatDocument:
        """Return heat and pacing of the planned tooth at a position of the case. Raises Cancelled, IndexError."""
        number = _planned_number(case, position)
        key = _key(case, position, wishes)
        with self._lock:
            kept = self._kept.get(key)
        if kept is None:
            plan = self._planner.plan(case, cancelled=cancelled)
            if cancelled():
                raise Cancelled
            alone = plan.model_copy(update={"teeth": [tooth for tooth in plan.teeth if tooth.number == number]})
            kept = heat_of_plan(case, alone, wishes)
            with self._lock:
                self._kept[key] = kept
                while len(self._kept) > _MOST_KEPT:
                    self._kept.popitem(last=False)
        return kept.model_copy(update=_state(case))


@dataclass(frozen=True, slots=True, kw_only=True)
class RunningRound:
    """A round that was started. `origin_s`: the instant of its first stroke on the monotonic clock. [s]"""

    revision: int
    began_at: str
    origin_s: float
    heat: ToothHeatDocument
    screening: Screening


class RoundDesk:
    """Starts rounds, says where they stand, keeps their log. For several threads."""

    def __init__(self, environment: Environment, store: CaseStore, heat: HeatDesk) -> None:
        self._environment = environment
        self._store = store
        self._heat = heat
        self._running: dict[str, RunningRound] = {}

    def start(
        self,
        case_id: str,
        *,
        revision: int,
        position: int,
        wishes: HeatWishes,
        lead_s: float,
    ) -> RunningRound:
        """Start the round of a tooth, its first stroke `lead_s` from now, decided from the newest record alone.

        Raises NotCleared, NoRound, StaleRevision where `revision` is not the newest, UnknownRecord, IndexError.
        """
        case = self._cleared(case_id, revision, position)[0]
        heat = self._heat.of_case(case, position, wishes).teeth[0]
        if heat.round is None:
            raise NoRound(" ".join(sentence.text for sentence in heat.answer))
        case, screening = self._cleared(case_id, revision, position)  # computing took its time: ask again, now
        now = self._environment.now()
        begun = RunningRound(
            revision=revision,
            began_at=utc_text(now),
            origin_s=self._environment.monotonic_s() + lead_s,
            heat=heat,
            screening=screening,
        )
        self._running[case_id] = begun
        return begun

    def now(self, case_id: str) -> tuple[RunningRound, float, RoundStateDocument]:
        """Return the round of a case, its instant (seconds since its first stroke was due) and where it stands.

        Strokes count as taken when their time is over. Raises UnknownRecord, NothingRuns, NotCleared where the answers close
        it by now.
        """
        newest, entry = self._store.newest_with_entry(case_id)
        running = self._of(case_id)
        case, now = from_document(json.loads(newest.document)), self._environment.now()
        screening = screen(case, now=now, newest_entry=moment_of(entry)).of_tooth(running.heat.number)
        if not screening.cleared:
            raise NotCleared(screening)
        now_s = self._environment.monotonic_s() - running.origin_s
        log = as_planned(running.heat, now_s)
        state = round_at_the_chair(case, running.heat, log, now_s=now_s, now=now, newest_entry=moment_of(entry))
        return running, now_s, state

    def keep(
        self, case_id: str, *, base_revision: int, events: Sequence[RoundEventDocument]
    ) -> tuple[Revision, RoundStateDocument]:
        """Write what was done in the visit of the round, which then is over; `at_s` of events counts from its first stroke.

        What has happened is written whatever the gate says by now. Raises NothingRuns, WrongLog, StaleRevision,
        UnknownRecord, CaseFaults where the note of the visit has no room left.
        """
        running = self._of(case_id)
        log = [_BEGAN, *events]
        try:
            state = round_now(running.heat, running.screening, log, log[-1].at_s, words)
        except ValueError as error:
            raise WrongLog(str(error)) from None
        assert running.screening.visit is not None  # a round starts in a visit only
        document = json.loads(self._store.revision(case_id, base_revision).document)
        noted = _with_note(document, running.screening.visit.index, _note(running, state))
        canonical = canonical_json(to_document(from_document(noted))).decode()
        revision = self._store.add_revision(case_id, base_revision, canonical, self._stamp())
        del self._running[case_id]
        return revision, state

    def _of(self, case_id: str) -> RunningRound:
        running = self._running.get(case_id)
        if running is None:
            raise NothingRuns
        return running

    def _cleared(self, case_id: str, revision: int, position: int) -> tuple[Case, Screening]:
        newest, entry = self._store.newest_with_entry(case_id)
        if newest.number != revision:
            raise StaleRevision(newest)
        case = from_document(json.loads(newest.document))
        screening = screen(case, now=self._environment.now(), newest_entry=moment_of(entry))
        screening = screening.of_tooth(_planned_number(case, position))
        if not screening.cleared:
            raise NotCleared(screening)
        return case, screening

    def _stamp(self) -> Stamp:
        environment = self._environment
        return Stamp(id=environment.new_id(), at=utc_text(environment.now()), zone=environment.zone, author=AUTHOR)


def as_planned(heat: ToothHeatDocument, now_s: float) -> list[RoundEventDocument]:
    """Return the log of a round that was followed stroke by stroke, up to an instant. [s from its first stroke]"""
    strokes = [] if heat.round is None else [stroke for stroke in heat.round.strokes if stroke.end_s <= now_s]
    return [
        _BEGAN,
        *(RoundEventDocument(kind="stroke", at_s=s.start_s, sector=s.sector, lasted_s=s.end_s - s.start_s) for s in strokes),
    ]


def _planned_number(case: Case, position: int) -> int:
    """Return the number of the tooth at a position. Raises IndexError where none that is planned stands there."""
    tooth = case.teeth[position]
    if tooth.role == "neighbour":
        raise IndexError(position)
    return tooth.number


def _key(case: Case, position: int, wishes: HeatWishes) -> bytes:
    plain = to_document(case)
    rests_on = {key: found for key, found in plain.items() if key not in _BESIDE}
    return hashlib.sha256(repr((canonical_json(rests_on), position, wishes)).encode()).digest()


def _state(case: Case) -> dict[str, Any]:
    """Return what an answer says of the case beside its figures, as the case is now."""
    screening = screen(case)  # without a clock: the round asks the gate again, at its own moment
    reason = state_of(screening)
    return {
        "safety_cleared": screening.cleared,
        "safety_reason": SentenceDocument(key=reason.key, parameters=dict(reason.parameters), text=words(reason)),
        "input_sha256": hashlib.sha256(canonical_json(to_document(case))).hexdigest(),
    }


def _note(running: RunningRound, state: RoundStateDocument) -> str:
    head = say("round.note.head", number=running.heat.number, at=running.began_at)
    done = say("round.note.done", done=sum(state.passes_done), left=state.strokes_left)
    told = [deviation.text.text for deviation in state.deviations] or [words(say("round.note.as_planned"))]
    if not state.touches_s:
        told.append(words(say("round.note.no_metal")))
    return " ".join([words(head), words(done), *told])


def _with_note(document: Mapping[str, Any], index: int, note: str) -> dict[str, Any]:
    """Return the document with a note more in its visit at `index`."""
    visits = list(document["visits"])
    visits[index] = {**visits[index], "note": "\n".join(filter(None, [visits[index].get("note"), note]))}
    return {**document, "visits": visits}

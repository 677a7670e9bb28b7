"""Use cases of the round at the chair: start it behind the gate, mark what happens, take it up again, close it.

A stroke begins when it is said to. Nothing is counted down: where a round stands follows from what was said and from the
instant from which its first stroke may begin, which stands in the record, on two clocks. While this program runs, the clock
that is never set decides. After a new start of it that clock is believed only where the clock of the day agrees; where they do
not, the state of the round is unknown, and it is closed by hand.
"""

import json
from collections.abc import Collection, Sequence
from dataclasses import dataclass
from datetime import datetime, timedelta
from typing import Literal

from collum.app.cases.case_store import CaseStore
from collum.app.chair.kept_heat import HeatDesk, planned_number
from collum.app.chair.round_log import as_said, checked, ended_state, heat_of, is_over, last_said_s
from collum.app.environment import Environment, utc_text
from collum.app.record.stamp import stamp_of
from collum.app.safety.gate import NotCleared, moment_of
from collum.app.speaking import words
from collum.case import Case, from_document
from collum.plan import say
from collum.plan.heat import HeatWishes
from collum.plan.safety import Screening, screen
from collum.records import (
    CaseDeleted,
    RecordedRound,
    Revision,
    RoundMark,
    RoundOpen,
    RoundStart,
    StaleRevision,
    StorageError,
    UnknownRecord,
)
from collum.wire.heat.document import RoundEventDocument, RoundStateDocument, ToothHeatDocument
from collum.wire.heat.round_now import round_now

Clock = Literal["runs", "was set", "unknown"]
_APART_S = 2  # what two readings of two clocks may lie apart, written to the millisecond and read at once
_LATE_S = 10  # the marks of the last stroke are on their way so long after it
_QUIET_S = 600  # a round in which nothing was said for so long holds up no lock


class NoRound(ValueError):
    """No round is planned for this tooth; `why` says so in words."""

    def __init__(self, why: str) -> None:
        self.why = why
        super().__init__(why)


@dataclass(frozen=True, slots=True, kw_only=True)
class OpenRound:
    """A round that has not ended. `now_s`: since its first stroke might begin, below 0 before it. [s]

    `halted`: why nobody is told where it stands, in words; then `state` is None. `clock_note`: what its clock is to be told of.
    """

    record: RecordedRound
    heat: ToothHeatDocument
    now_s: float
    clock: Clock
    clock_note: str | None
    halted: tuple[str, ...]
    state: RoundStateDocument | None


class RoundDesk:
    """Starts rounds, says where they stand, keeps their log. For several threads."""

    def __init__(self, environment: Environment, store: CaseStore, heat: HeatDesk) -> None:
        self._environment = environment
        self._store = store
        self._heat = heat
        self._begun: set[str] = set()  # the rounds that this very run of the program has started

    def start(self, case_id: str, *, revision: int, position: int, wishes: HeatWishes, lead_s: float) -> OpenRound:
        """Start the round of a tooth, its first stroke `lead_s` from now at the earliest, decided from the newest record alone.

        Raises NotCleared, NoRound, RoundOpen where one of the case has not ended, StaleRevision where `revision` is not the
        newest, UnknownRecord, IndexError.
        """
        newest, entry = self._store.newest_with_entry(case_id)
        if newest.number != revision:
            raise StaleRevision(newest)
        case = self._cleared(newest, entry, position)[0]
        if self._store.rounds.open_of(case_id) is not None:
            raise RoundOpen
        heat = self._heat.of_case(case, position, wishes).teeth[0]
        if heat.round is None:
            raise NoRound(" ".join(sentence.text for sentence in heat.answer))

        def decide(newest: Revision, entry: str) -> RoundStart:
            screening = self._cleared(newest, entry, position)[1]  # computing took its time: ask again, now
            assert screening.visit is not None and screening.visit.opened_at is not None  # nothing is cleared without
            first = self._environment.now() + timedelta(seconds=lead_s)
            return RoundStart(
                tooth=heat.number,
                visit_opened_at=screening.visit.opened_at,
                heat=heat.model_dump_json(),
                first_stroke_at=first.isoformat(timespec="milliseconds").replace("+00:00", "Z"),
                first_stroke_s=self._environment.monotonic_s() + lead_s,
            )

        begun = self._store.rounds.start(case_id, revision, decide, stamp_of(self._environment))
        self._begun.add(begun.id)
        return self._standing(begun)

    def now(self, case_id: str) -> OpenRound | None:
        """Return the open round of a case and where it stands, None where there is none. Raises UnknownRecord.

        Strokes count as taken that were said to begin.
        """
        found = self._store.rounds.open_of(case_id)
        return None if found is None else self._standing(found)

    def mark(self, case_id: str, round_id: str, marks: Sequence[RoundMark]) -> RecordedRound:
        """Write down what happens in a round, whatever the gate says by now; what stands there already is not written again.

        Raises WrongLog, RoundEnded, UnknownRecord.
        """
        found = self._store.rounds.open_of(case_id)
        if found is not None and found.id == round_id:
            checked(heat_of(found), marks)
        return self._store.rounds.mark(case_id, round_id, marks, utc_text(self._environment.now()))

    def close(self, case_id: str, round_id: str, events: Sequence[RoundEventDocument]) -> tuple[Revision, RecordedRound]:
        """End a round with what was done and return it with the case, of which it changes nothing.

        `at_s` of events counts from the first stroke. What has happened is written whatever the gate says by now and whatever
        the case has become. Raises WrongLog, RoundEnded, UnknownRecord.
        """

        def close(found: RecordedRound) -> str:
            return ended_state(found, events)

        log = json.dumps([event.model_dump(mode="json") for event in events])
        return self._store.rounds.close(case_id, round_id, log, close, stamp_of(self._environment))

    def running(self, case_ids: Collection[str] | None = None) -> tuple[str, ...]:
        """Return the cases, all or of these, whose round still has strokes before it, was not stopped and is not left alone."""
        asked = self._store.rounds.open_cases() if case_ids is None else case_ids
        return tuple(case_id for case_id in asked if self._runs(case_id))

    def _runs(self, case_id: str) -> bool:
        try:
            found = self._store.rounds.open_of(case_id)
        except (UnknownRecord, CaseDeleted, StorageError):
            return False  # what cannot be read holds up no lock
        if found is None or any(mark.kind == "stopped" for mark in found.marks):
            return False
        now_s, clock, _ = self._clock(found, self._environment.now())
        quiet_s = now_s - last_said_s(found.marks)
        return clock != "unknown" and quiet_s <= (_LATE_S if is_over(heat_of(found), found.marks) else _QUIET_S)

    def of_case(self, case_id: str) -> tuple[RecordedRound, ...]:
        """Return every round of a case, the newest first. Raises UnknownRecord."""
        return self._store.rounds.of_case(case_id)

    def _standing(self, found: RecordedRound) -> OpenRound:
        newest, entry = self._store.newest_with_entry(found.case_id)
        case, now = from_document(json.loads(newest.document)), self._environment.now()
        screening = screen(case, now=now, newest_entry=moment_of(entry)).of_tooth(found.tooth)
        now_s, clock, note = self._clock(found, now)
        halted = [] if screening.cleared else [str(fault["what"]) for fault in NotCleared(screening).faults]
        if clock == "unknown" and note is not None:
            halted.append(note)
        heat = heat_of(found)
        log = as_said(found.marks)
        state = None if halted else round_now(heat, screening, log, now_s, words)
        return OpenRound(
            record=found,
            heat=heat,
            now_s=now_s,
            clock=clock,
            clock_note=note,
            halted=tuple(halted),
            state=state,
        )

    def _clock(self, found: RecordedRound, now: datetime) -> tuple[float, Clock, str | None]:
        """Return how old a round is, and how far that can be believed."""
        steady_s = self._environment.monotonic_s() - found.first_stroke_s
        by_day_s = (now - datetime.fromisoformat(found.first_stroke_at)).total_seconds()
        apart_s = round(abs(by_day_s - steady_s))
        if apart_s <= _APART_S:
            return steady_s, "runs", None
        if found.id in self._begun:
            return steady_s, "was set", words(say("round.clock.was_set", apart_s=apart_s))
        return by_day_s, "unknown", words(say("round.clock.unknown"))

    def _cleared(self, newest: Revision, entry: str, position: int) -> tuple[Case, Screening]:
        case = from_document(json.loads(newest.document))
        screening = screen(case, now=self._environment.now(), newest_entry=moment_of(entry))
        screening = screening.of_tooth(planned_number(case, position))
        if not screening.cleared:
            raise NotCleared(screening)
        return case, screening

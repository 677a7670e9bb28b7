"""Computing off the event loop: threads of their own for plans, verdicts, heat, scans and files, so that
none holds up a dragged line.

A request that was overtaken by a newer one of the same session and kind is not computed, or not to its end.
"""

import asyncio
from collections.abc import Callable, Iterator, Mapping
from concurrent.futures import ThreadPoolExecutor
from contextlib import contextmanager
from dataclasses import dataclass, field
from typing import Literal, TypeVar, get_args

from collum.app.plans.planning import Cancelled
from collum.web.problems import problem

T = TypeVar("T")
Kind = Literal["plan", "verdict", "heat", "scan", "file"]
_THREADS: Mapping[Kind, int] = {"file": 4}  # files come as fast as their sender gives them: one does not wait for another
MOST_WAITING = 40


@dataclass(slots=True, eq=False)
class _Turn:
    """A request in work or waiting."""

    session: str
    generation: int
    overtaken: bool = False


@dataclass(slots=True)
class _Lane:
    """One thread and the requests that are waiting for it or in it."""

    pool: ThreadPoolExecutor
    waiting: int = 0
    turns: list[_Turn] = field(default_factory=list)


class Executor:
    """Runs functions in threads, each kind in its own; called from the event loop only."""

    def __init__(self) -> None:
        self._lanes: dict[Kind, _Lane] = {
            kind: _Lane(ThreadPoolExecutor(_THREADS.get(kind, 1), thread_name_prefix=kind)) for kind in get_args(Kind)
        }

    async def run(self, work: Callable[[], T], kind: Kind = "plan") -> T:
        """Return what `work` gives, computed in the thread of its kind; that of plans is also that of records.

        Raises Problem where too much waits.
        """
        return await _computed(self._lanes[kind], work)

    async def run_newest(self, kind: Kind, session: str, generation: int, work: Callable[[Callable[[], bool]], T]) -> T:
        """Return what `work(overtaken)` gives, computed in the thread of its kind.

        Raises Cancelled where a later request of the session has the same or a higher generation. What was asked before it
        and is done is no hindrance: a page that starts to count anew is answered.
        """
        lane = self._lanes[kind]
        with _turn(lane, session, generation) as turn:

            def started() -> T:
                if turn.overtaken:
                    raise Cancelled
                return work(lambda: turn.overtaken)

            return await _computed(lane, started)

    def close(self) -> None:
        """Finish what runs and start nothing more."""
        for lane in self._lanes.values():
            lane.pool.shutdown(wait=True, cancel_futures=True)


@contextmanager
def _turn(lane: _Lane, session: str, generation: int) -> Iterator[_Turn]:
    for other in lane.turns:
        other.overtaken |= other.session == session and other.generation <= generation
    turn = _Turn(session, generation)
    lane.turns.append(turn)
    try:
        yield turn
    finally:
        lane.turns.remove(turn)


async def _computed(lane: _Lane, work: Callable[[], T]) -> T:
    if lane.waiting >= MOST_WAITING:
        raise problem("too_many_requests", "waiting", "retry")
    lane.waiting += 1
    try:
        return await asyncio.get_running_loop().run_in_executor(lane.pool, work)
    finally:
        lane.waiting -= 1

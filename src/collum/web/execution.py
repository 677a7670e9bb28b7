"""Computing off the event loop: two threads, one kept for verdicts, so that a full plan cannot hold up a dragged line."""

import asyncio
from collections.abc import Callable
from concurrent.futures import ThreadPoolExecutor
from dataclasses import dataclass, field
from typing import TypeVar

T = TypeVar("T")


@dataclass(slots=True)
class Executor:
    """Runs a function in a thread; `latest` notes the newest generation of each session's plan requests."""

    _plans: ThreadPoolExecutor = field(default_factory=lambda: ThreadPoolExecutor(1, thread_name_prefix="plan"))
    _verdicts: ThreadPoolExecutor = field(default_factory=lambda: ThreadPoolExecutor(1, thread_name_prefix="verdict"))
    _latest: dict[str, int] = field(default_factory=dict)

    async def run(self, work: Callable[[], T]) -> T:
        """Return what `work` gives, computed in the thread of plans and records."""
        return await asyncio.get_running_loop().run_in_executor(self._plans, work)

    async def run_verdict(self, work: Callable[[], T]) -> T:
        """The same in the thread of verdicts."""
        return await asyncio.get_running_loop().run_in_executor(self._verdicts, work)

    def newer(self, session: str, generation: int) -> Callable[[], bool]:
        """Note a plan request and return a question: has a newer one come since?"""
        self._latest[session] = max(generation, self._latest.get(session, 0))
        return lambda: self._latest[session] > generation

    def close(self) -> None:
        """Finish what runs and start nothing more."""
        self._plans.shutdown(wait=True, cancel_futures=True)
        self._verdicts.shutdown(wait=True, cancel_futures=True)

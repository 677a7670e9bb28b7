"""How this process holds on to memory that it will need again, and gives it back once it is at rest."""

import ctypes
import time
from collections.abc import Callable, Iterator
from contextlib import contextmanager
from functools import lru_cache
from threading import Lock, Thread

_TRIM_THRESHOLD, _MMAP_THRESHOLD, _ARENA_MAX = -1, -3, -8  # parameters of mallopt(3)
_KEPT_BYTES = 256 * 2**20
REST_AFTER_S = 10.0  # longer than between two readings called out at the chair


@lru_cache(maxsize=1)
def keep_freed_memory() -> None:
    """Let the allocator keep what is freed, up to a bound, where it is one that can be asked (glibc).

    A plan frees and asks for thousands of blocks of three megabytes. Given back to the system each time, they come back page
    by page, zeroed, which takes a third of the plan's time.
    """
    try:
        mallopt = ctypes.CDLL(None).mallopt
    except (AttributeError, OSError, TypeError):
        return
    mallopt(_ARENA_MAX, 1)  # what one thread has freed serves the next
    mallopt(_TRIM_THRESHOLD, _KEPT_BYTES)
    mallopt(_MMAP_THRESHOLD, _KEPT_BYTES)


def give_back_freed_memory() -> None:
    """Hand to the system what was freed and kept, where the allocator is one that can be asked (glibc)."""
    try:
        trim = ctypes.CDLL(None).malloc_trim
    except (AttributeError, OSError, TypeError):
        return
    trim(0)


class AtRest:
    """Does something once no work has been under way for a while. A thread waits only while there is something to wait for."""

    def __init__(self, do: Callable[[], None], after_s: float = REST_AFTER_S) -> None:
        self._do = do
        self._after_s = after_s
        self._under_way = 0
        self._ended_s = 0.0
        self._waiting = False
        self._lock = Lock()

    @contextmanager
    def work(self) -> Iterator[None]:
        """Count as work whatever happens inside."""
        with self._lock:
            self._under_way += 1
        try:
            yield
        finally:
            with self._lock:
                self._under_way -= 1
                self._ended_s = time.monotonic()
                begin, self._waiting = not self._waiting, True
            if begin:
                Thread(target=self._wait, name="at-rest", daemon=True).start()

    def _wait(self) -> None:
        while (left_s := self._left_s()) > 0:
            time.sleep(left_s)
        self._do()

    def _left_s(self) -> float:
        """Return how long to wait until rest can have come; where it has, nobody waits any more."""
        with self._lock:
            left_s = self._after_s if self._under_way else self._ended_s + self._after_s - time.monotonic()
            self._waiting = left_s > 0
            return left_s


memory_at_rest = AtRest(give_back_freed_memory)

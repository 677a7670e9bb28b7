"""Folds the write-ahead log into the database once nothing has been written for a while, in a thread of its own.

Until then all that is new lies in the log alone, and whoever copies or keeps only the database file has an old one.
"""

from collections.abc import Callable
from threading import Condition, Thread

from collum.records.stored import StorageError

IDLE_S = 10.0


class Folding:
    """Calls `fold` after each pause between writes; the thread starts with the first write."""

    def __init__(self, fold: Callable[[], bool]) -> None:
        self._fold = fold
        self._changed = Condition()
        self._writes = 0
        self._folded = 0
        self._ended = False
        self._thread: Thread | None = None

    def wrote(self) -> None:
        """Take note of a write."""
        with self._changed:
            self._writes += 1
            if self._thread is None:
                self._thread = Thread(target=self._run, name="folding", daemon=True)
                self._thread.start()
            self._changed.notify()

    def stop(self) -> None:
        """End the thread; what is being folded is finished first."""
        with self._changed:
            self._ended = True
            self._changed.notify()
        if self._thread is not None:
            self._thread.join()

    def _run(self) -> None:
        while not self._ended:
            seen = self._next_pause()
            if seen is not None and self._try():
                self._folded = seen

    def _next_pause(self) -> int | None:
        """Wait for a write and the pause after it; return the number of writes by then, None where the pause was cut short."""
        with self._changed:
            self._changed.wait_for(lambda: self._ended or self._writes != self._folded)
            seen = self._writes
            cut_short = self._changed.wait_for(lambda: self._ended or self._writes != seen, IDLE_S)
            return None if cut_short else seen

    def _try(self) -> bool:
        try:
            return self._fold()
        except StorageError:
            return False  # the next pause tries again; nothing is lost while the log is there

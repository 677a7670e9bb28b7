"""Tries of a passphrase or recovery code: after a few wrong ones each further one has to wait, longer and longer.

One count for whatever is opened: the record, a backup, an archive of a person.
"""

import math
from collections.abc import Callable
from threading import Lock
from typing import TypeVar

from collum.records.sealing import WrongPassphrase

T = TypeVar("T")
_FREE_TRIES = 3
_LONGEST_WAIT_S = 60


class TooManyTries(Exception):
    """Wrong passphrases came too fast; `wait_s` until the next try is taken."""

    def __init__(self, wait_s: int) -> None:
        self.wait_s = wait_s
        super().__init__(f"{wait_s} s")


class Tries:
    """Counts wrong tries by a clock that never goes back. [s] For several threads: one try at a time."""

    def __init__(self, clock_s: Callable[[], float]) -> None:
        self._clock_s = clock_s
        self._wrong = 0
        self._next_s = 0.0
        self._guard = Lock()

    def tried(self, attempt: Callable[[], T], *, forgives: bool = True) -> T:
        """Return what `attempt` gives; after wrong tries, only once the wait for the next one is over. Raises TooManyTries.

        `forgives`: whether success ends the count. It does not where whoever tries may have brought both file and passphrase.
        """
        with self._guard:
            now_s = self._clock_s()
            if now_s < self._next_s:
                raise TooManyTries(math.ceil(self._next_s - now_s))
            try:
                found = attempt()
            except WrongPassphrase:
                self._wrong += 1
                if self._wrong >= _FREE_TRIES:
                    wait_s = min(2 ** (self._wrong - _FREE_TRIES), _LONGEST_WAIT_S)
                    self._next_s = self._clock_s() + wait_s
                raise
            if forgives:
                self._wrong = 0
            return found

"""Two independent computations of one plan, side by side where there are cores for it."""

import os
from collections.abc import Callable
from concurrent.futures import ThreadPoolExecutor
from functools import lru_cache
from typing import TypeVar

A = TypeVar("A")
B = TypeVar("B")


def side_by_side(first: Callable[[], A], second: Callable[[], B]) -> tuple[A, B]:
    """Return both results; of two exceptions the first's is raised.

    The caller computes the first, then the second as well if no helper has begun it: what is computed may ask for help in
    turn, and none waits for a helper that waits for it. The arithmetic lets go of the interpreter, so threads are enough.
    """
    helpers = _helpers()
    if helpers is None:
        return first(), second()
    asked = helpers.submit(second)
    try:
        found = first()
    except BaseException:
        asked.cancel()
        raise
    return found, second() if asked.cancel() else asked.result()


@lru_cache(maxsize=1)
def _helpers() -> ThreadPoolExecutor | None:
    others = (os.cpu_count() or 1) - 1
    return ThreadPoolExecutor(others, thread_name_prefix="beside") if others > 0 else None

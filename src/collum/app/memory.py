"""How this process holds on to memory that it will need again."""

import ctypes
from functools import lru_cache

_TRIM_THRESHOLD, _MMAP_THRESHOLD = -1, -3  # parameters of mallopt(3)
_KEPT_BYTES = 256 * 2**20


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
    mallopt(_TRIM_THRESHOLD, _KEPT_BYTES)
    mallopt(_MMAP_THRESHOLD, _KEPT_BYTES)

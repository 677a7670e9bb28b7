"""One writer at a time: an advisory lock on a data directory, held open by the process that has it.

The system lets go of it when that process ends, however it ends.
"""

import os
import sys
from pathlib import Path

from collum.records.stored import StorageError, storage_error

_FILE = "lock"


class WriterLock:
    """The right to write in one data directory."""

    def __init__(self, folder: Path) -> None:
        """Take the lock of `folder`. Raises StorageError("locked") where another process has it."""
        self._file = folder / _FILE
        try:
            self._descriptor: int | None = os.open(self._file, os.O_RDWR | os.O_CREAT, 0o600)
        except OSError as error:
            raise storage_error(error) from None
        try:
            _lock(self._descriptor)
        except OSError:
            os.close(self._descriptor)
            raise StorageError("locked") from None

    def in_place(self) -> bool:
        """Return whether the file this process has locked is still the one that a further process would find."""
        try:
            return self._descriptor is not None and os.path.samestat(os.fstat(self._descriptor), os.stat(self._file))
        except OSError:
            return False

    def release(self) -> None:
        """Let go of the lock; a second call does nothing."""
        if self._descriptor is not None:
            os.close(self._descriptor)
            self._descriptor = None


if sys.platform == "win32":
    import msvcrt

    def _lock(descriptor: int) -> None:
        msvcrt.locking(descriptor, msvcrt.LK_NBLCK, 1)
else:
    import fcntl

    def _lock(descriptor: int) -> None:
        fcntl.flock(descriptor, fcntl.LOCK_EX | fcntl.LOCK_NB)

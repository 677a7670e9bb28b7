"""The log: JSON lines in the data directory, with ids, codes, durations and counts.

Never a reading, a practice's code, a file name, a note or the text of an exception, which may hold any of them.
"""

import json
import os
import traceback
from collections.abc import Iterator
from contextlib import contextmanager, suppress
from io import TextIOWrapper
from logging import INFO, Logger, LogRecord
from logging.handlers import RotatingFileHandler
from pathlib import Path

import structlog

from collum.app.environment import Environment, utc_text
from collum.app.record.data_directory import prepare_data_directory
from collum.records import StorageError

_FOLDER = "log"
_FILE = "collum.jsonl"
_MOST_BYTES = 2_000_000
_KEPT_FILES = 4  # beside the one being written
SERVING = "serving"
WAITING = "waiting"  # served, where no record has been set up yet
_SERVED = json.dumps({"event": SERVING})[1:-1].encode()
_PACKAGE = Path(__file__).parents[1]


class Log:
    """Writes events of one process."""

    def __init__(self, environment: Environment) -> None:
        """Open the log in the environment's data directory, both made for their owner alone. Raises OSError, StorageError."""
        prepare_data_directory(environment.data_directory)
        folder = environment.data_directory / _FOLDER
        folder.mkdir(exist_ok=True, mode=0o700)
        self._handler = _OwnersFile(folder / _FILE, maxBytes=_MOST_BYTES, backupCount=_KEPT_FILES, encoding="utf-8")
        target = Logger(_FILE, INFO)
        target.addHandler(self._handler)
        self._log = structlog.wrap_logger(target, processors=[structlog.processors.JSONRenderer()])
        self._environment = environment

    def event(self, code: str, **numbers: int | float | str) -> None:
        """Note an event: `code` says what, `numbers` are ids, counts and durations."""
        self._log.info(code, at=utc_text(self._environment.now()), **numbers)

    def crash(self, error_id: str, error: BaseException) -> None:
        """Note a fault of our own by the id its user was shown: its kind and the places in our code it went through."""
        self.event("crash", id=error_id, kind=type(error).__name__, places=" ".join(_places(error)))

    def close(self) -> None:
        """Finish writing."""
        self._handler.close()


@contextmanager
def open_log(environment: Environment) -> Iterator[Log]:
    """Give the log of the environment's data directory. Raises StorageError."""
    try:
        log = Log(environment)
    except OSError:
        raise StorageError("cannot_open") from None
    try:
        yield log
    finally:
        log.close()


def note_fault(environment: Environment, error: BaseException) -> str:
    """Note a fault of our own and return the id its user is shown, even where the log cannot be written."""
    error_id = environment.new_id()
    with suppress(StorageError), open_log(environment) as log:
        log.crash(error_id, error)
    return error_id


def served_before(environment: Environment) -> bool:
    """Return whether the log says that a workbench was served from this data directory once."""
    try:
        return any(_SERVED in file.read_bytes() for file in (environment.data_directory / _FOLDER).glob(f"{_FILE}*"))
    except OSError:
        return False


def log_file(environment: Environment) -> Path:
    """Return where the log is written."""
    return environment.data_directory / _FOLDER / _FILE


def _places(error: BaseException) -> list[str]:
    frames = traceback.extract_tb(error.__traceback__)
    ours = [(Path(frame.filename), frame.lineno) for frame in frames if Path(frame.filename).is_relative_to(_PACKAGE)]
    return [f"{file.relative_to(_PACKAGE).as_posix()}:{line}" for file, line in ours]


class _OwnersFile(RotatingFileHandler):
    """Rotated files that only their owner may read."""

    def _open(self) -> TextIOWrapper:
        descriptor = os.open(self.baseFilename, os.O_WRONLY | os.O_CREAT | os.O_APPEND, 0o600)
        return os.fdopen(descriptor, "a", encoding=self.encoding)

    def handleError(self, record: LogRecord) -> None:
        """Leave out a line that the disk does not take: the work it speaks of goes on, and the terminal is no place for it."""

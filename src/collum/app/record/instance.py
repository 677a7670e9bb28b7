"""The running workbench of a data directory: one at a time, where it listens, and how it hands out a further one-time link.

The folder is open to its owner alone, and so is what is asked and answered in it: `collum open` leaves a wish there, the
running workbench answers it with a fresh link, the wisher takes it away. No link ever stands on a command line.
"""

import json
import os
import secrets
from collections.abc import Callable
from contextlib import suppress
from dataclasses import asdict, dataclass
from pathlib import Path
from threading import Event, Thread

from collum.app.record.own_file import write_own
from collum.records import StorageError, WriterLock

_NOTE = "instance.json"
OPEN_PAGE = "open.html"  # leads the browser on to a link; see cli/browser.py
_WISH = "link-wanted-"
_ANSWER = "link-given-"
_LOOK_EVERY_S = 0.1
_WAIT_S = 3


@dataclass(frozen=True, slots=True, kw_only=True)
class Running:
    """A workbench at work on a data directory."""

    pid: int
    port: int
    started_at: str

    @property
    def address(self) -> str:
        return f"http://127.0.0.1:{self.port}/"


class AlreadyRunning(Exception):
    """Another process writes in this data directory; `running` says where it listens, None where it has not said so."""

    def __init__(self, running: Running | None) -> None:
        self.running = running
        super().__init__("the data directory is held by another process")


class Instance:
    """Holds a data directory for this process; use as a context. Raises AlreadyRunning on entry."""

    def __init__(self, folder: Path) -> None:
        self._folder = folder
        self._lock: WriterLock | None = None
        self._ended = Event()
        self._answering: Thread | None = None

    def __enter__(self) -> "Instance":
        try:
            self._lock = WriterLock(self._folder)
        except StorageError as error:
            if error.trouble == "locked":
                raise AlreadyRunning(_note(self._folder)) from None
            raise
        return self

    @property
    def lock(self) -> WriterLock:
        """The right to write in the data directory, while it is held."""
        assert self._lock is not None
        return self._lock

    def announce(self, *, port: int, started_at: str, new_link: Callable[[], str]) -> None:
        """Note where this process listens, and answer wishes for one-time links until it ends."""
        write_own(self._folder / _NOTE, json.dumps(asdict(Running(pid=os.getpid(), port=port, started_at=started_at))))
        self._answering = Thread(target=self._answer, args=(new_link,), name="links", daemon=True)
        self._answering.start()

    def __exit__(self, *_error: object) -> None:
        self._ended.set()
        if self._answering is not None:
            self._answering.join()
            for name in (_NOTE, OPEN_PAGE):
                (self._folder / name).unlink(missing_ok=True)
        if self._lock is not None:
            self._lock.release()

    def _answer(self, new_link: Callable[[], str]) -> None:
        while not self._ended.wait(_LOOK_EVERY_S):
            for wish in self._folder.glob(f"{_WISH}*"):
                with suppress(OSError, StorageError):  # this wish goes unanswered; the next may find room on the disk
                    wish.unlink(missing_ok=True)
                    write_own(self._folder / wish.name.replace(_WISH, _ANSWER), new_link())


def running_instance(folder: Path) -> Running | None:
    """Return the workbench at work on `folder`, None where there is none. Raises StorageError."""
    if not folder.is_dir():
        return None
    try:
        WriterLock(folder).release()
    except StorageError as error:
        if error.trouble == "locked":
            return _note(folder)
        raise
    return None


def ask_for_link(folder: Path, *, within_s: float = _WAIT_S) -> str | None:
    """Return a one-time link of the workbench at work on `folder`, None where it does not answer.

    A workbench that is still starting answers once it serves.
    """
    name = secrets.token_hex(8)
    wish, answer = folder / f"{_WISH}{name}", folder / f"{_ANSWER}{name}"
    write_own(wish, "")
    ended = Event()
    for _ in range(int(within_s / _LOOK_EVERY_S)):
        if answer.exists():
            link = answer.read_text(encoding="utf-8")
            answer.unlink()
            return link
        ended.wait(_LOOK_EVERY_S)
    wish.unlink(missing_ok=True)
    return None


def _note(folder: Path) -> Running | None:
    try:
        return Running(**json.loads((folder / _NOTE).read_text(encoding="utf-8")))
    except (OSError, ValueError, TypeError):
        return None

"""The process in which the workbench sets its papers: the engine keeps memory and words of them, which end with the process.

It is started for the first paper and ended once no paper was asked for in a while, and when the record is locked. Nothing of a
paper is written to the disk: template, data and PDF pass through pipes. It gets no key.
"""

import json
import subprocess
import tempfile
from collections.abc import Mapping, Sequence
from threading import Lock, Timer

from collum.app.memory import REST_AFTER_S, AtRest
from collum.papers import PROGRAM

MOST_SECONDS = 120  # for one paper, which takes a tenth of a second: beyond it the engine hangs


class PaperNotMade(RuntimeError):
    """The process ended before the paper was there."""


class TypesettingProcess:
    """A typesetter (`collum.papers.Typesetter`) in a process of its own. For several threads; one paper at a time."""

    def __init__(self, program: Sequence[str] = PROGRAM, *, ends_after_s: float = REST_AFTER_S) -> None:
        self._program = program
        self._turn = Lock()
        self._running: _Running | None = None
        self._rest = AtRest(self.close, ends_after_s)

    def __call__(self, source: str, inputs: Mapping[str, str], *, made_at: str) -> bytes:
        """Return the PDF. Raises PaperNotMade; the next paper gets a new process."""
        asked = json.dumps({"source": source, "inputs": dict(inputs), "made_at": made_at})
        pdf = None
        with self._rest.work(), self._turn:
            try:
                pdf = self._started().paper(asked)
            except (OSError, EOFError, ValueError):
                raise PaperNotMade from None
            finally:
                if pdf is None:  # half an answer may be on its way
                    self._end()
        return pdf

    @property
    def process_id(self) -> int | None:
        """The process that runs, None where none does."""
        running = self._running
        return None if running is None else running.process.pid

    def close(self) -> None:
        """End the process, after the paper it is at; a further paper starts it again."""
        with self._turn:
            self._end()

    def _started(self) -> "_Running":
        """Return the process, a new one where none runs."""
        if self._running is None or self._running.ended:
            self._end()
            self._running = _Running(self._program)
        return self._running

    def _end(self) -> None:
        if self._running is not None:
            self._running.end()
            self._running = None


class _Running:
    """One process and the empty folder it may look into."""

    def __init__(self, program: Sequence[str]) -> None:
        self._empty = tempfile.TemporaryDirectory(prefix="collum-paper-", ignore_cleanup_errors=True)
        self.process = subprocess.Popen(
            [*program, self._empty.name], stdin=subprocess.PIPE, stdout=subprocess.PIPE, stderr=subprocess.DEVNULL
        )

    @property
    def ended(self) -> bool:
        return self.process.poll() is not None

    def paper(self, asked: str) -> bytes:
        """Return the PDF. Raises OSError, EOFError, ValueError where the process ends or does not answer in time."""
        assert self.process.stdin is not None and self.process.stdout is not None
        watch = Timer(MOST_SECONDS, self.process.kill)
        watch.start()
        try:
            self.process.stdin.write(asked.encode() + b"\n")
            self.process.stdin.flush()
            length = int(self.process.stdout.readline())
            pdf = self.process.stdout.read(length)
        finally:
            watch.cancel()
        if len(pdf) < length:
            raise EOFError
        return pdf

    def end(self) -> None:
        """Kill the process, which has nothing to finish, and take its folder away."""
        self.process.kill()
        self.process.communicate()  # waits for its end and closes the pipes
        self._empty.cleanup()

"""The record of a data directory behind its lock: opened, held open for one user, locked again.

While it is locked nothing of the record can be read and its keys are not in memory. They are dropped with the practice that
held them; memory that was freed is not promised to be overwritten.
"""

from collections.abc import Callable, Iterator
from contextlib import contextmanager
from pathlib import Path
from threading import RLock
from typing import Literal, TypeVar

from collum.app.chair.rounds import RoundDesk
from collum.app.environment import Environment
from collum.app.logs import served_before
from collum.app.plans.planning import DRAWS
from collum.app.plans.typesetter import TypesettingProcess
from collum.app.practice import Practice, open_store, practice_planner
from collum.app.record.closed_record import Closed, closed_by
from collum.app.record.data_directory import is_demo, prepare_data_directory
from collum.app.record.restoring import sweep_restores
from collum.app.record.roles import Act, check_allowed
from collum.app.record.stamp import stamp_of
from collum.app.record.tries import Tries
from collum.records import DATABASE, StorageError, StorageTrouble, WriterLock
from collum.records.chain import RECORD, USER
from collum.records.conversion import record_state
from collum.records.opening import DAMAGED, has_lived, looked_at
from collum.records.placing import clear_unfinished
from collum.records.sealing import (
    KeyFile,
    KeyFileTrouble,
    Keys,
    User,
    read_key_file,
    write_key_file,
)

T = TypeVar("T")
State = Literal["new", "missing", "clear", "locked", "open"]
IDLE_S = 600
_GRACE_S = 60  # a page that is open locks first, and keeps what was typed in it


class RecordLocked(Exception):
    """The record is not open; `state` says whether it is locked, not set up yet, missing, or not encrypted yet."""

    def __init__(self, state: State) -> None:
        self.state: State = state
        super().__init__(state)


class LockableRecord:
    """One data directory and its lock. For several threads."""

    def __init__(
        self,
        environment: Environment,
        *,
        draws: int = DRAWS,
        lock: WriterLock | None = None,
        idle_s: int = IDLE_S,
        clear_allowed: bool = False,
    ) -> None:
        """Look at the data directory; a demo opens at once, and so does a clear record where it is allowed (tests).

        `lock`: the right to write there. Raises StorageError.
        """
        self.environment = environment
        self.idle_s = idle_s
        self._lock = lock
        self._draws = draws
        self._guard = RLock()
        self._practice: Practice | None = None
        self._left: tuple[Practice, tuple[str, ...]] | None = None  # locked, but for the running rounds of these cases
        self._touched_s = environment.monotonic_s()
        self._keys: Keys | None = None
        self._user: User | None = None
        self._tries = Tries(environment.monotonic_s)
        self._closed: Closed | None = None  # why the record did not open, as the last try found
        self._typesetter = TypesettingProcess()
        prepare_data_directory(environment.data_directory)
        clear_unfinished(environment.data_directory)
        sweep_restores(environment.data_directory)
        self._lived = served_before(environment) or has_lived(environment.data_directory)
        if clear_allowed or is_demo(environment.data_directory) or self._can_only_be_read():
            self._open(None, None, None)

    @property
    def state(self) -> State:
        """What can be done with the record now."""
        with self._guard:
            if self._practice is not None:
                return "open"
            found = record_state(self.environment.data_directory)
            gone = found == "locked" and not (self._database.exists() and self._database.stat().st_size)
            return "missing" if gone or (found == "new" and self._lived) else found

    @property
    def trouble(self) -> StorageTrouble | None:
        """Why the open record can only be read, None where it can be written to and while it is locked."""
        practice = self._practice
        return None if practice is None else practice.store.trouble

    @property
    def closed(self) -> Closed | None:
        """Why the record does not open as it is, or opens damaged, as far as that is known; None where it opens."""
        with self._guard:
            state = self.state
            if state == "missing":
                return "missing"
            try:
                if state == "locked":
                    read_key_file(self.environment.data_directory)
            except KeyFileTrouble as error:
                return closed_by(error)
            return self._closed

    @property
    def user(self) -> User | None:
        """Who unlocked the record; None while it is locked, and in a clear one."""
        return self._user

    @property
    def practice(self) -> Practice:
        """The open practice. Raises RecordLocked."""
        practice = self._practice
        if practice is None:
            raise RecordLocked(self.state)
        return practice

    def require_open(self) -> None:
        """Raise RecordLocked unless the practice is open."""
        _ = self.practice

    @property
    def rounds_left(self) -> tuple[str, ...]:
        """The cases whose running round goes on being written although the record is locked."""
        left = self._left
        return () if left is None else left[1]

    def rounds_of(self, case_id: str) -> RoundDesk:
        """Return the desk of the rounds of a case; while locked only where one was left running. Raises RecordLocked."""
        left = self._left
        return left[0].rounds if left is not None and case_id in left[1] else self.practice.rounds

    @property
    def draft_key(self) -> bytes | None:
        """The key for what the user of the open record typed and has not saved; None where nobody unlocked it."""
        with self._guard:
            return None if self._keys is None or self._user is None else self._keys.drafts_of(self._user.code)

    def touched(self) -> None:
        """Note that the record is in use."""
        self._touched_s = self.environment.monotonic_s()

    def tend(self) -> None:
        """Lock a record that nobody has used for a while; drop what was left of a locked one once its rounds are over."""
        with self._guard:
            if self._left is not None:
                if not self._left[0].rounds.running(self._left[1]):
                    self._close()
            elif self.environment.monotonic_s() - self._touched_s > self.idle_s + _GRACE_S:
                self.lock(by_hand=False)

    def open_other(self, attempt: Callable[[], T]) -> T:
        """Return what an attempt to open a file that came from elsewhere gives; wrong tries count. Raises TooManyTries."""
        return self._tries.tried(attempt, forgives=False)

    def lock(self, *, by_hand: bool = True) -> None:
        """Close the record and drop its keys; a clear record stays open.

        While a round runs, only a hand locks, and the keys of that case and of the database are dropped at its end.
        """
        with self._guard:
            if self._keys is None or self._practice is None:
                return
            practice, running = self._practice, self._practice.rounds.running()
            if not running:
                self._close()
            elif by_hand:
                practice.store.narrow(running)
                self._practice, self._keys, self._user, self._left = None, None, None, (practice, running)
                self._typesetter.close()

    def close(self) -> None:
        """Close the record, whatever its state."""
        with self._guard:
            self._close()

    def keys_for(self, act: Act) -> Keys:
        """Return the keys of the open record for an act that its user may do. Raises NotAllowed, RecordLocked."""
        with self._guard:
            keys, user = self._opened()
            check_allowed(user, act)
            return keys

    def _can_only_be_read(self) -> bool:
        """Return whether a clear record is damaged: it is not sealed, but read as far as it goes. Raises StorageError."""
        return self.state == "clear" and looked_at(self._database, None, self._lock) == DAMAGED

    def _opened(self) -> tuple[Keys, User]:
        if self._keys is None or self._user is None:
            raise RecordLocked(self.state)
        return self._keys, self._user

    def _tried(self, attempt: Callable[[KeyFile], T]) -> T:
        """Return what `attempt` gives on the key file. Raises TooManyTries, RecordLocked where there is nothing to unlock."""
        if self.state != "locked" and self._keys is None:
            raise RecordLocked(self.state)
        return self._tries.tried(lambda: attempt(read_key_file(self.environment.data_directory)))

    def _open(self, keys: Keys | None, user: User | None, key_file: str | None) -> None:
        self._close()
        environment = self.environment if user is None else self.environment.for_author(user.code)
        store = open_store(environment, keys, lock=self._lock)
        writable = store.trouble is None  # nothing is written into a damaged record; it is read as far as it goes
        if user is not None and key_file is not None and writable:
            store.note_key_file(key_file, stamp_of(environment))
            store.note("record unlocked", f"{USER}{user.code}", stamp_of(environment))
        self._practice = Practice(environment, store, practice_planner(self.environment, self._draws), self._typesetter)
        self._keys, self._user = keys, user
        self._closed = None if store.trouble is None else closed_by(StorageError(store.trouble))
        self.touched()

    @contextmanager
    def _noting(self) -> Iterator[None]:
        """Remember why the record did not open: the page offers what helps."""
        try:
            yield
        except (StorageError, KeyFileTrouble) as error:
            self._closed = closed_by(error)
            raise

    def _close(self) -> None:
        practice = self._practice if self._left is None else self._left[0]
        self._practice, self._keys, self._user, self._left = None, None, None, None
        if practice is not None:
            practice.store.close()
        self._typesetter.close()  # what its last papers say is in its memory

    def _change(self, file: KeyFile, action: str, code: str | None = None) -> None:
        """Write a changed key file, then its event; one that was cut short between the two is noted at the next unlock."""
        self._write(file)
        about, stamp = RECORD if code is None else f"{USER}{code}", stamp_of(self.practice.environment)
        self.practice.store.note(action, about, stamp, key_file=file.mac)

    def _write(self, file: KeyFile) -> None:
        try:
            write_key_file(self.environment.data_directory, file)
        except OSError:
            raise StorageError("write_failed") from None

    @property
    def _database(self) -> Path:
        return self.environment.data_directory / DATABASE

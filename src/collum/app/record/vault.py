"""The record of a data directory behind its lock: set up, unlocked by a user, locked again.

While it is locked nothing of the record can be read and its keys are not in memory. They are dropped with the practice that
held them; memory that was freed is not promised to be overwritten.
"""

from collections.abc import Callable, Iterator, Sequence
from contextlib import contextmanager, suppress
from pathlib import Path
from threading import RLock
from typing import Literal, TypeVar

from collum.app.chair.rounds import RoundDesk
from collum.app.environment import Environment, utc_text
from collum.app.logs import served_before
from collum.app.plans.planning import DRAWS
from collum.app.plans.typesetter import TypesettingProcess
from collum.app.practice import Practice, open_store, practice_planner
from collum.app.record.closed_record import REMEDIES, Closed, closed_by
from collum.app.record.data_directory import is_demo, prepare_data_directory
from collum.app.record.kept_browsers import KeptBrowsers
from collum.app.record.recovery_note import confirm, is_confirmed
from collum.app.record.restoring import Opener, Restorable, looked_through, restore_here, sweep_restores
from collum.app.record.roles import MAY, Act, check_allowed
from collum.app.record.stamp import stamp_of
from collum.app.record.tries import Tries
from collum.records import DATABASE, StorageError, StorageTrouble, WriterLock, accept_older, set_aside
from collum.records.chain import RECORD, USER
from collum.records.conversion import begin_sealed, record_state, seal_database
from collum.records.opening import DAMAGED, has_lived, looked_at
from collum.records.placing import clear_unfinished
from collum.records.sealing import (
    KEY_FILE,
    KeyFile,
    KeyFileTrouble,
    Keys,
    User,
    calibrated,
    mend_key_files,
    new_data_key,
    new_key_file,
    new_recovery_code,
    read_key_file,
    write_key_file,
)

T = TypeVar("T")
State = Literal["new", "missing", "clear", "locked", "open"]
LEAST_PASSPHRASE = 12
IDLE_S = 600
_GRACE_S = 60  # a page that is open locks first, and keeps what was typed in it


class RecordLocked(Exception):
    """The record is not open; `state` says whether it is locked, not set up yet, missing, or not encrypted yet."""

    def __init__(self, state: State) -> None:
        self.state: State = state
        super().__init__(state)


class WeakPassphrase(Exception):
    """The passphrase is shorter than LEAST_PASSPHRASE characters."""


class Vault:
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
    def recovery_confirmed(self) -> bool | None:
        """Whether its recovery code was shown to be on paper; None where no owner has unlocked the record."""
        with self._guard:
            if self._user is None or self._user.role not in MAY["renew the recovery code"]:
                return None
            folder = self.environment.data_directory
            return is_confirmed(folder, read_key_file(folder))

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

    def set_up(self, code: str, passphrase: str) -> str:
        """Make a sealed record, or seal the clear one that is there, and open it for its owner; return the recovery code.

        Raises WeakPassphrase, RecordLocked where there is a sealed record already, StorageError.
        """
        _check(passphrase)
        with self._guard:
            clear_unfinished(self.environment.data_directory)  # of a set-up before this one, that failed
            if self.state not in ("new", "clear"):
                raise RecordLocked(self.state)
            keys, recovery, owner = Keys(new_data_key()), new_recovery_code(), User(code=code, role="owner")
            cost = calibrated(self.environment.monotonic_s)
            file = new_key_file(self.environment.new_id(), keys, owner, passphrase, recovery, cost)
            stamp = stamp_of(self.environment.for_author(code))
            make = seal_database if self.state == "clear" else begin_sealed
            make(self._database, keys, stamp, key_file=file.mac, before_switch=lambda: self._write(file))
            self._open(keys, owner, file.mac)
            return recovery

    def unlock(self, code: str, passphrase: str) -> User:
        """Open the record for a user. Raises WrongPassphrase, TooManyTries, KeyFileTrouble, RecordLocked, StorageError."""
        with self._guard, self._noting():
            (keys, user), file = self._tried(lambda file: (file.unlock(code, passphrase), file))
            with suppress(OSError):  # the record opens all the same; the next unlock tries again
                mend_key_files(self.environment.data_directory, file)
            self._open(keys, user, file.mac)
            return user

    def recover(self, recovery: str, code: str, passphrase: str) -> str:
        """Open the record by the recovery code, give `code` a new passphrase as an owner; return a new recovery code.

        The former recovery code opens nothing any more. Raises RecoveryCodeFault, WeakPassphrase and what `unlock` raises.
        """
        _check(passphrase)
        with self._guard, self._noting():
            keys, file = self._tried(lambda file: (file.recover(recovery), file))
            owner, following = User(code=code, role="owner"), new_recovery_code()
            cost = calibrated(self.environment.monotonic_s)
            changed = file.with_user(keys, owner, passphrase, cost).with_recovery(keys, following)
            self._revoke_browsers()
            self._write(changed)
            self._open(keys, owner, changed.mac)
            return following

    def look_through(self, file: Path, opener: Opener, places: Sequence[Path] = ()) -> Restorable:
        """Return what a backup would bring back where no record opens; nothing stays written. Raises as `restore`."""
        with self._guard:
            self.check_restorable()
            return looked_through(file, self._slowed(opener), self.environment.data_directory, places)

    def restore(self, file: Path, opener: Opener, places: Sequence[Path] = ()) -> Restorable:
        """Put a backup in place where there is no record, or one that does not open; kept browsers are kept no longer.

        `places`: folders that may know of later deletions. Raises RecordLocked, TooManyTries and what `restore_here` raises.
        """
        with self._guard:
            self.check_restorable()
            closed = self.closed
            self._close()
            found = restore_here(file, self._slowed(opener), self.environment, places, in_place_of_one=closed is not None)
            self._closed, self._lived = None, False
            return found

    def check_restorable(self) -> None:
        """Raise RecordLocked where there is a record that opens: a backup is never put over one."""
        if self.state != "new" and self.closed is None:
            raise RecordLocked(self.state)

    def accept(self, code: str, passphrase: str) -> None:
        """Go on with a record that holds less than was confirmed, or is another, and open it for an owner.

        Raises RecordLocked where it is none of these, NotAllowed and what `unlock` raises.
        """
        with self._guard, self._noting():
            if self._closed is None or "accept" not in REMEDIES[self._closed] or self._lock is None:
                raise RecordLocked(self.state)
            (keys, user), file = self._tried(lambda file: (file.unlock(code, passphrase), file))
            check_allowed(user, "restore")
            accept_older(self.environment.data_directory, self._lock, keys)
            self._open(keys, user, file.mac)
            self.practice.store.note("older record accepted", "record", stamp_of(self.practice.environment))

    def begin_anew(self) -> None:
        """Put aside what is left of a record that is missing, so a new one can be set up. Raises RecordLocked, StorageError."""
        with self._guard:
            if self.state != "missing":
                raise RecordLocked(self.state)
            set_aside(self.environment.data_directory, utc_text(self.environment.now()))
            self._closed, self._lived = None, False

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

    def change_passphrase(self, passphrase: str, following: str) -> None:
        """Give the user a new passphrase; nothing is encrypted anew, and kept browsers are kept no longer.

        Raises WeakPassphrase, WrongPassphrase, TooManyTries, RecordLocked.
        """
        _check(following)
        with self._guard:
            keys, user = self._opened()
            file = self._tried(lambda file: (file.unlock(user.code, passphrase), file))[1]
            changed = file.with_user(keys, user, following, calibrated(self.environment.monotonic_s))
            self._revoke_browsers()
            self._change(changed, "passphrase changed", user.code)

    def add_user(self, user: User, passphrase: str) -> None:
        """Add a user, or change the role and passphrase of one, which revokes kept browsers.

        Raises WeakPassphrase, NotAllowed, RecordLocked.
        """
        _check(passphrase)
        with self._guard:
            keys, by = self._opened()
            check_allowed(by, "add users")
            file = read_key_file(self.environment.data_directory)
            if any(known.code == user.code for known in file.users):
                self._revoke_browsers()
            changed = file.with_user(keys, user, passphrase, calibrated(self.environment.monotonic_s))
            self._change(changed, f"user set: {user.role}", user.code)

    def remove_user(self, code: str) -> None:
        """Take a user out. Raises LastOwner, NotAllowed, RecordLocked, StorageError."""
        with self._guard:
            keys, user = self._opened()
            check_allowed(user, "add users")
            self._change(read_key_file(self.environment.data_directory).without_user(keys, code), "user removed", code)

    def new_recovery_code(self, passphrase: str) -> str:
        """Return a new recovery code; the former one opens nothing any more. Raises NotAllowed, WrongPassphrase."""
        with self._guard:
            keys, user = self._opened()
            check_allowed(user, "renew the recovery code")
            code = new_recovery_code()
            file = self._tried(lambda file: (file.unlock(user.code, passphrase), file))[1]
            self._change(file.with_recovery(keys, code), "recovery code renewed")
            return code

    def confirm_recovery_code(self, code: str) -> None:
        """Note that the recovery code is on paper, for it was typed. Raises NotAllowed, RecoveryCodeFault, WrongPassphrase."""
        with self._guard:
            check_allowed(self._opened()[1], "renew the recovery code")
            file = self._tried(lambda file: (file.recover(code), file))[1]
            confirm(self.environment.data_directory, file)
            self.practice.store.note("recovery code confirmed", "record", stamp_of(self.practice.environment))

    def keys_for(self, act: Act) -> Keys:
        """Return the keys of the open record for an act that its user may do. Raises NotAllowed, RecordLocked."""
        with self._guard:
            keys, user = self._opened()
            check_allowed(user, act)
            return keys

    def users(self) -> tuple[User, ...]:
        """Return the users of the record; empty where it has no key file. Raises KeyFileTrouble."""
        return read_key_file(self.environment.data_directory).users if self._key_file_there() else ()

    def _can_only_be_read(self) -> bool:
        """Return whether a clear record is damaged: it is not sealed, but read as far as it goes. Raises StorageError."""
        return self.state == "clear" and looked_at(self._database, None, self._lock) == DAMAGED

    def _slowed(self, opener: Opener) -> Opener:
        return lambda file: self.open_other(lambda: opener(file))

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

    def _revoke_browsers(self) -> None:
        """Keep no browser any longer: done before the new passphrase holds, so that no kill leaves one that outlives it."""
        KeptBrowsers.of(self.environment).revoke_all()

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

    def _key_file_there(self) -> bool:
        return (self.environment.data_directory / KEY_FILE).exists()

    @property
    def _database(self) -> Path:
        return self.environment.data_directory / DATABASE


@contextmanager
def opened_vault(
    environment: Environment, *, draws: int = DRAWS, lock: WriterLock | None = None, clear_allowed: bool = False
) -> Iterator[Vault]:
    """Give the vault of the environment's data directory; its record is closed at the end. Raises StorageError."""
    vault = Vault(environment, draws=draws, lock=lock, clear_allowed=clear_allowed)
    try:
        yield vault
    finally:
        vault.close()


def _check(passphrase: str) -> None:
    if len(passphrase) < LEAST_PASSPHRASE:
        raise WeakPassphrase

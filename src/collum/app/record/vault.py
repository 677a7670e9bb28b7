"""The keys of a record: its owner sets it up, users unlock it, passphrases and recovery codes are changed.

What is done about a record that does not open is here too: it takes a passphrase, a backup, or a record set up anew.
"""

from collections.abc import Iterator, Sequence
from contextlib import contextmanager, suppress
from pathlib import Path

from collum.app.environment import Environment, utc_text
from collum.app.plans.planning import DRAWS
from collum.app.record.closed_record import REMEDIES
from collum.app.record.kept_browsers import KeptBrowsers
from collum.app.record.lockable import LockableRecord, RecordLocked
from collum.app.record.recovery_note import confirm, is_confirmed
from collum.app.record.restoring import Opener, Restorable, looked_through, restore_here
from collum.app.record.roles import MAY, check_allowed
from collum.app.record.stamp import stamp_of
from collum.records import WriterLock, accept_older, set_aside
from collum.records.conversion import begin_sealed, seal_database
from collum.records.placing import clear_unfinished
from collum.records.sealing import (
    KEY_FILE,
    Keys,
    User,
    calibrated,
    mend_key_files,
    new_data_key,
    new_key_file,
    new_recovery_code,
    read_key_file,
)

LEAST_PASSPHRASE = 12


class WeakPassphrase(Exception):
    """The passphrase is shorter than LEAST_PASSPHRASE characters."""


class Vault(LockableRecord):
    """One data directory with its users and recovery code. For several threads."""

    @property
    def recovery_confirmed(self) -> bool | None:
        """Whether its recovery code was shown to be on paper; None where no owner has unlocked the record."""
        with self._guard:
            if self._user is None or self._user.role not in MAY["renew the recovery code"]:
                return None
            folder = self.environment.data_directory
            return is_confirmed(folder, read_key_file(folder))

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

    def users(self) -> tuple[User, ...]:
        """Return the users of the record; empty where it has no key file. Raises KeyFileTrouble."""
        return read_key_file(self.environment.data_directory).users if self._key_file_there() else ()

    def _slowed(self, opener: Opener) -> Opener:
        return lambda file: self.open_other(lambda: opener(file))

    def _revoke_browsers(self) -> None:
        """Keep no browser any longer: done before the new passphrase holds, so that no kill leaves one that outlives it."""
        KeptBrowsers.of(self.environment).revoke_all()

    def _key_file_there(self) -> bool:
        return (self.environment.data_directory / KEY_FILE).exists()


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

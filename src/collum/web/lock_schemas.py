"""The wire form of the lock: state of the record, users, passphrases and recovery codes."""

from typing import Annotated, Literal

from pydantic import Field

from collum.app.record.closed_record import Remedy
from collum.app.record.lockable import State
from collum.app.record.roles import Act
from collum.records.sealing import Role
from collum.web.schemas import Wire

MOST_PASSPHRASE = 200
MOST_RECOVERY = 60
UserCode = Annotated[str, Field(pattern=r"^[A-Za-z0-9][A-Za-z0-9._-]{0,11}$")]
Passphrase = Annotated[str, Field(min_length=1, max_length=MOST_PASSPHRASE)]
RecoveryCode = Annotated[str, Field(min_length=1, max_length=MOST_RECOVERY)]


class UserAnswer(Wire):
    """Somebody who may unlock the record."""

    code: str
    role: Role


class ClosedAnswer(Wire):
    """Why a record does not open as it is, in words, and what its owner may do about it, the first advised first."""

    what: str
    remedy: str
    remedies: list[Remedy]


class LockAnswer(Wire):
    """`state`: "new": no record yet; "missing": there was one here, and it is gone; "clear": one that is not encrypted;
    "locked"; "open". `user`: who unlocked it, `may`: what that role includes. `users`: who may unlock it. `idle_s`: after
    how many seconds without a hand the page locks the record; 0: never. `draft_key`: of 256 bit, in base64, under which the
    page keeps what the user typed; null while the record is locked, and in a clear one. `rounds`: the cases whose running
    round is still marked while the record is locked. `recovery_confirmed`: whether the recovery code was shown to be on
    paper; null but for an owner. `closed`: why the record does not open as it is; null where it opens.
    """

    state: State
    user: UserAnswer | None
    may: list[Act]
    users: list[UserAnswer]
    idle_s: int
    draft_key: str | None
    rounds: list[str]
    recovery_confirmed: bool | None
    closed: ClosedAnswer | None


class SetUpRequest(Wire):
    """The first user of a new record, its owner; a clear record is sealed with all it holds."""

    code: UserCode
    passphrase: Passphrase


class UnlockRequest(Wire):
    code: UserCode
    passphrase: Passphrase


class RecoverRequest(Wire):
    """Opens the record by its recovery code and gives `code` a new passphrase, as an owner."""

    recovery_code: RecoveryCode
    code: UserCode
    passphrase: Passphrase


class RecoveryAnswer(Wire):
    """The recovery code, to be written down or printed now: it is shown once. The former one opens nothing any more."""

    recovery_code: str


class ConfirmRequest(Wire):
    """The recovery code as it is on paper."""

    recovery_code: RecoveryCode


class BeginRequest(Wire):
    """Begins a new practice where one is missing. `why`: by hand; what is left of the old one is put aside."""

    why: Literal["hand"]


class PassphraseRequest(Wire):
    """A new passphrase of the user that unlocked the record."""

    passphrase: Passphrase
    following: Passphrase


class RenewRequest(Wire):
    """The passphrase of the user that unlocked the record, asked again."""

    passphrase: Passphrase


class UserRequest(Wire):
    """A user to be added, or one whose role and passphrase are set anew."""

    code: UserCode
    role: Role
    passphrase: Passphrase


class RemoveUserRequest(Wire):
    code: UserCode


class LockRequest(Wire):
    """`why`: a hand on the lock, or a page that nobody touched."""

    why: Literal["hand", "idle"]

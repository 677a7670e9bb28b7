"""The key file: the data key of a record, wrapped once for each user's passphrase and once for the recovery code.

It holds no secret in clear. A checksum tells damage; a MAC under a key derived from the data key tells a change by somebody
who never held it (a role, a name, a wrap put in). The file is written whole beside itself and renamed, with a second copy, so
that an interrupted write or one damaged sector leaves a key file that opens.
"""

import base64
import hmac
import json
import os
from dataclasses import dataclass, field, replace
from hashlib import sha256
from pathlib import Path
from typing import Any, Literal

from collum.records.sealing.faults import KeyFileTrouble, LastOwner, SealBroken, WrongPassphrase
from collum.records.sealing.keys import Keys, derived
from collum.records.sealing.payload import unwrap_key, wrap_key
from collum.records.sealing.recovery import recovery_secret
from collum.records.sealing.stretching import Stretching

KEY_FILE = "keys.json"
_COPY = "keys.copy.json"
KEY_FILES = (KEY_FILE, _COPY)
_FORMAT = "collum-keys/"
_NUMBER = 1
Role = Literal["owner", "clinician", "assistant"]
ROLES: tuple[Role, ...] = ("owner", "clinician", "assistant")


@dataclass(frozen=True, slots=True, kw_only=True)
class User:
    """Somebody of the practice who may unlock the record. `code`: the practice's own code of the person."""

    code: str
    role: Role


@dataclass(frozen=True, slots=True, kw_only=True)
class _Wrap:
    """The data key under the key of one passphrase (with its user), or of the recovery code (`user` None)."""

    user: User | None
    stretching: Stretching | None
    salt: bytes
    wrapped: bytes = field(repr=False)


@dataclass(frozen=True, slots=True, kw_only=True)
class KeyFile:
    """The wraps of one record's data key. `record`: the id that each wrap is bound to."""

    record: str
    wraps: tuple[_Wrap, ...]
    mac: str

    @property
    def users(self) -> tuple[User, ...]:
        """The users as the file names them; believed only after an unlock."""
        return tuple(wrap.user for wrap in self.wraps if wrap.user is not None)

    @property
    def recovery_mark(self) -> str:
        """What tells this recovery code from a later one; it says nothing of the code itself."""
        return next(wrap.salt for wrap in self.wraps if wrap.user is None).hex()

    def unlock(self, code: str, passphrase: str) -> tuple[Keys, User]:
        """Return the keys and the user. Raises WrongPassphrase, also for a user there is not; KeyFileTrouble("changed")."""
        found = next((wrap for wrap in self.wraps if wrap.user is not None and wrap.user.code == code), None)
        if found is None or found.user is None or found.stretching is None:
            self._spend(passphrase)
            raise WrongPassphrase
        return self._opened(found, found.stretching.key_of(passphrase)), found.user

    def recover(self, code: str) -> Keys:
        """Return the keys by the recovery code. Raises RecoveryCodeFault, WrongPassphrase, KeyFileTrouble("changed")."""
        found = next(wrap for wrap in self.wraps if wrap.user is None)
        return self._opened(found, derived(recovery_secret(code), "collum recovery", salt=found.salt))

    def with_user(self, keys: Keys, user: User, passphrase: str, stretching: Stretching) -> "KeyFile":
        """Return the file with a user's passphrase set: a new user, or a new passphrase or role of one there is.

        Raises LastOwner where nobody would be an owner any more.
        """
        cost = stretching.with_new_salt()
        made = _wrap(self.record, user, cost, cost.salt, cost.key_of(passphrase), keys)
        others = tuple(wrap for wrap in self.wraps if wrap.user is None or wrap.user.code != user.code)
        return _signed(replace(self, wraps=_with_owner((*others, made))), keys)

    def without_user(self, keys: Keys, code: str) -> "KeyFile":
        """Return the file without a user. Raises LastOwner."""
        left = tuple(wrap for wrap in self.wraps if wrap.user is None or wrap.user.code != code)
        return _signed(replace(self, wraps=_with_owner(left)), keys)

    def with_recovery(self, keys: Keys, code: str) -> "KeyFile":
        """Return the file with another recovery code; the former one opens nothing any more."""
        others = tuple(wrap for wrap in self.wraps if wrap.user is not None)
        return _signed(replace(self, wraps=(*others, _recovery_wrap(self.record, keys, code))), keys)

    def _opened(self, wrap: _Wrap, key: bytes) -> Keys:
        try:
            keys = Keys(unwrap_key(key, wrap.wrapped, _associated(self.record, wrap)))
        except (SealBroken, ValueError):
            raise WrongPassphrase from None
        if not hmac.compare_digest(self.mac, _mac(self, keys)):
            raise KeyFileTrouble("changed")
        return keys

    def _spend(self, passphrase: str) -> None:
        """Take as long as a known user would, so that the time tells nobody who is a user."""
        cost = next((wrap.stretching for wrap in self.wraps if wrap.stretching is not None), None)
        if cost is not None:
            cost.key_of(passphrase)


def new_key_file(record: str, keys: Keys, owner: User, passphrase: str, recovery: str, cost: Stretching) -> KeyFile:
    """Return the key file of a new record, with its first user and its recovery code."""
    wraps = (
        _wrap(record, owner, cost, cost.salt, cost.key_of(passphrase), keys),
        _recovery_wrap(record, keys, recovery),
    )
    return _signed(KeyFile(record=record, wraps=wraps, mac=""), keys)


def read_key_file(folder: Path) -> KeyFile:
    """Return the key file of a folder, from its copy where it is damaged. Raises KeyFileTrouble, OSError."""
    troubles: list[KeyFileTrouble] = []
    for name in KEY_FILES:
        try:
            return key_file_of((folder / name).read_bytes())
        except FileNotFoundError:
            troubles.append(KeyFileTrouble("missing"))
        except KeyFileTrouble as trouble:
            troubles.append(trouble)
    raise next((trouble for trouble in troubles if trouble.trouble != "missing"), troubles[0])


def write_key_file(folder: Path, file: KeyFile) -> None:
    """Write the key file and its copy, each whole or not at all, on disk when this returns. Raises OSError."""
    for name in KEY_FILES:
        _replace(folder / name, key_file_bytes(file))


def mend_key_files(folder: Path, file: KeyFile) -> None:
    """Bring key file and copy to what `file` says; remove what a write that was cut short left beside them. Raises OSError."""
    for name in KEY_FILES:
        _beside(folder / name).unlink(missing_ok=True)
    written = {path.read_bytes() if path.is_file() else b"" for path in (folder / name for name in KEY_FILES)}
    if written != {key_file_bytes(file)}:
        write_key_file(folder, file)


def key_file_bytes(file: KeyFile) -> bytes:
    """Return the key file as written: JSON with its checksum."""
    content = _content(file) | {"mac": file.mac}
    return json.dumps(content | {"sha256": _checksum(content)}, indent=1).encode()


def key_file_of(written: bytes) -> KeyFile:
    """Return the key file of its bytes. Raises KeyFileTrouble."""
    try:
        content = json.loads(written)
        number = int(str(content["format"]).removeprefix(_FORMAT))
        if number > _NUMBER:
            raise KeyFileTrouble("newer_version")
        if content.pop("sha256") != _checksum(content):
            raise KeyFileTrouble("damaged")
        wraps = tuple(_wrap_of(wrap) for wrap in content["wraps"])
        return KeyFile(record=content["record"], wraps=wraps, mac=content["mac"])
    except (ValueError, KeyError, TypeError, AttributeError):
        raise KeyFileTrouble("damaged") from None


def _with_owner(wraps: tuple[_Wrap, ...]) -> tuple[_Wrap, ...]:
    """Return the wraps. Raises LastOwner where no owner is among them."""
    if not any(wrap.user is not None and wrap.user.role == "owner" for wrap in wraps):
        raise LastOwner
    return wraps


def _recovery_wrap(record: str, keys: Keys, code: str) -> _Wrap:
    salt = os.urandom(16)
    return _wrap(record, None, None, salt, derived(recovery_secret(code), "collum recovery", salt=salt), keys)


def _wrap(record: str, user: User | None, stretching: Stretching | None, salt: bytes, key: bytes, keys: Keys) -> _Wrap:
    empty = _Wrap(user=user, stretching=stretching, salt=salt, wrapped=b"")
    return replace(empty, wrapped=wrap_key(key, keys.data, _associated(record, empty)))


def _associated(record: str, wrap: _Wrap) -> bytes:
    """Return what a wrap is bound to. Not the role: an owner changes it without the user's passphrase; the MAC holds it."""
    cost = None if wrap.stretching is None else [wrap.stretching.memory_kib, wrap.stretching.passes, wrap.stretching.lanes]
    user = None if wrap.user is None else wrap.user.code
    return json.dumps([f"{_FORMAT}{_NUMBER}", record, user, cost, wrap.salt.hex()]).encode()


def _signed(file: KeyFile, keys: Keys) -> KeyFile:
    return replace(file, mac=_mac(file, keys))


def _mac(file: KeyFile, keys: Keys) -> str:
    return hmac.new(keys.key_file, json.dumps(_content(file), sort_keys=True).encode(), sha256).hexdigest()


def _content(file: KeyFile) -> dict[str, Any]:
    return {"format": f"{_FORMAT}{_NUMBER}", "record": file.record, "wraps": [_written(wrap) for wrap in file.wraps]}


def _written(wrap: _Wrap) -> dict[str, Any]:
    written: dict[str, Any] = {"salt": _text(wrap.salt), "wrapped": _text(wrap.wrapped)}
    if wrap.user is not None:
        written |= {"user": wrap.user.code, "role": wrap.user.role}
    if wrap.stretching is not None:
        written |= {"argon2id": {"memory_kib": wrap.stretching.memory_kib, "passes": wrap.stretching.passes}}
    return written


def _wrap_of(written: dict[str, Any]) -> _Wrap:
    salt, cost = _bytes(written["salt"]), written.get("argon2id")
    user = None if "user" not in written else User(code=str(written["user"]), role=_role(written["role"]))
    return _Wrap(
        user=user,
        stretching=None if cost is None else Stretching(memory_kib=cost["memory_kib"], passes=cost["passes"], salt=salt),
        salt=salt,
        wrapped=_bytes(written["wrapped"]),
    )


def _role(word: str) -> Role:
    return ROLES[ROLES.index(word)]  # raises ValueError for any other word


def _checksum(content: dict[str, Any]) -> str:
    return sha256(json.dumps(content, sort_keys=True).encode()).hexdigest()


def _text(content: bytes) -> str:
    return base64.b64encode(content).decode("ascii")


def _bytes(text: str) -> bytes:
    return base64.b64decode(text, validate=True)


def _replace(file: Path, content: bytes) -> None:
    beside = _beside(file)
    with os.fdopen(os.open(beside, os.O_WRONLY | os.O_CREAT | os.O_TRUNC, 0o600), "wb") as out:
        out.write(content)
        out.flush()
        os.fsync(out.fileno())
    beside.replace(file)
    sync_folder(file.parent)


def _beside(file: Path) -> Path:
    return file.with_name(f".{file.name}")


def sync_folder(folder: Path) -> None:
    """Put the names of a folder on disk; where a folder cannot be opened (Windows) the system does it by itself."""
    try:
        descriptor = os.open(folder, os.O_RDONLY)
    except OSError:
        return
    try:
        os.fsync(descriptor)
    finally:
        os.close(descriptor)

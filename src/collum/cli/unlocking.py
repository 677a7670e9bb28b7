"""Opens a sealed record for a command: by a user and a passphrase, asked on the terminal or read from a file.

A passphrase is never an argument: every process of the machine can read those.
"""

import sys
from pathlib import Path
from typing import TYPE_CHECKING

from collum.cli.ending import faulty
from collum.wording import text

if TYPE_CHECKING:
    from collum.records.sealing import KeyFile, Keys, User

_MOST_BYTES = 1000


def keys_of(folder: Path, user: str | None, passphrase_file: Path | None) -> "Keys | None":
    """Return the keys of the record in a folder; None where it is not sealed. Raises Faulty, KeyFileTrouble, StorageError."""
    found = unlocked(folder, user, passphrase_file)
    return None if found is None else found[0]


def keys_of_sealed(folder: Path, user: str | None, passphrase_file: Path | None) -> "Keys":
    """Return the keys of the sealed record in a folder; a clear one, which keeps no trail, is a fault of `--data`."""
    keys = keys_of(folder, user, passphrase_file)
    if keys is None:
        faulty("--data", "no_trail", "sealed_record", value=str(folder))
    return keys


def unlocked(folder: Path, user: str | None, passphrase_file: Path | None) -> "tuple[Keys, User] | None":
    """Return the keys of the record in a folder and who opened it; None where it is not sealed."""
    from collum.records.conversion import record_state
    from collum.records.sealing import WrongPassphrase, read_key_file

    if record_state(folder) != "locked":
        return None
    file = read_key_file(folder)
    code, passphrase = user_and_passphrase(file, user, passphrase_file)
    try:
        return file.unlock(code, passphrase)
    except WrongPassphrase:
        faulty("--user", "opens_nothing", "user_and_passphrase", value=code)


def user_and_passphrase(file: "KeyFile", user: str | None, passphrase_file: Path | None) -> tuple[str, str]:
    """Return who opens a key file and the passphrase, from a file or asked on the terminal."""
    code = user or _only_user(file)
    if passphrase_file is None:
        return code, _typed("cli.unlock.ask", "--passphrase-file", code=code)
    return code, first_line(passphrase_file, "--passphrase-file")


def archive_passphrase(file: Path | None, *, new: bool) -> str:
    """Return the passphrase of an archive, from a file or asked on the terminal; a new one is asked for twice."""
    if file is not None:
        return first_line(file, "--archive-passphrase-file")
    given = _typed("cli.unlock.ask_archive", "--archive-passphrase-file")
    if new and given != _typed("cli.unlock.ask_again", "--archive-passphrase-file"):
        faulty("--archive-passphrase-file", "not_same", "same_twice")
    return given


def _only_user(file: "KeyFile") -> str:
    codes = [user.code for user in file.users]
    if len(codes) != 1:
        faulty("--user", "several_users", "one_of_users", users=" | ".join(codes))
    return codes[0]


def _typed(asked: str, option: str, **told: str) -> str:
    from getpass import getpass

    if sys.stdin.closed or not sys.stdin.isatty():
        faulty(option, "no_terminal", "file_or_terminal")
    return getpass(f"{text(asked, told)} ", stream=sys.stderr)


def first_line(file: Path, option: str) -> str:
    """Return the first line of the file of an option, without its end; `-` is the standard input."""
    try:
        with sys.stdin.buffer if str(file) == "-" else file.open("rb") as opened:
            line = opened.readline(_MOST_BYTES)
        return line.rstrip(b"\r\n").decode("utf-8")
    except (OSError, UnicodeDecodeError):
        faulty(option, "no_file", "readable_file", value=str(file))

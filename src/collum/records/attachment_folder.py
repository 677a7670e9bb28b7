"""The folder with the stored files of cases: written whole or not at all, each for its owner alone."""

import os
import re
from collections.abc import Callable, Iterator
from contextlib import contextmanager, suppress
from pathlib import Path
from typing import BinaryIO

from collum.records.attached import DamagedAttachment
from collum.records.sealing.key_file import sync_folder
from collum.records.stored import StorageError, storage_error

ATTACHMENTS = "attachments"
_PART, _LEFT = ".part", ".left"
_STORED = re.compile(r"[0-9a-f]{64}")


def is_stored_name(name: str) -> bool:
    """Return whether a file of this name is one that was written whole."""
    return _STORED.fullmatch(name) is not None


def stored_in(data_directory: Path) -> tuple[Path, ...]:
    """Return the files that were written whole, in the order of their names."""
    return tuple(sorted(file for file in (data_directory / ATTACHMENTS).glob("*") if is_stored_name(file.name)))


def write_file(data_directory: Path, name: str, write: Callable[[BinaryIO], None]) -> None:
    """Store a new file, which has its name only once it is whole and on the disk; of one that fails nothing is left.

    Raises StorageError and what `write` raises.
    """
    folder = data_directory / ATTACHMENTS
    part, whole = folder / f"{name}{_PART}", folder / name
    if whole.exists():
        raise StorageError("write_failed")
    try:
        folder.mkdir(mode=0o700, exist_ok=True)
        with os.fdopen(os.open(part, os.O_WRONLY | os.O_CREAT | os.O_EXCL, 0o600), "wb") as out:
            write(out)
            out.flush()
            os.fsync(out.fileno())
        part.rename(whole)
        sync_folder(folder)
    except OSError as error:
        _remove(part, whole)
        raise storage_error(error) from None
    except BaseException:
        _remove(part)
        raise


def discard_file(data_directory: Path, name: str) -> None:
    """Remove a stored file; where the disk refuses, it is swept when the record is opened next."""
    _remove(data_directory / ATTACHMENTS / name)


def _remove(*files: Path) -> None:
    for file in files:
        with suppress(OSError):
            file.unlink(missing_ok=True)


@contextmanager
def stored_file(data_directory: Path, name: str) -> Iterator[BinaryIO]:
    """Give a stored file to read. Raises DamagedAttachment where it is missing, StorageError."""
    try:
        with (data_directory / ATTACHMENTS / name).open("rb") as file:
            yield file
    except FileNotFoundError:
        raise DamagedAttachment from None
    except OSError as error:
        raise storage_error(error) from None


def sweep(data_directory: Path, known: set[str]) -> None:
    """Remove what was not written to its end, and whole files that no row of the record names. Raises StorageError.

    A file that was put aside and is named again gets its name back; one with a name that we do not give is left alone.
    """
    try:
        for file in list((data_directory / ATTACHMENTS).glob("*")):
            half_written = file.suffix == _PART and is_stored_name(file.stem)
            if half_written or (is_stored_name(file.name) and file.name not in known):
                file.unlink()
            elif file.suffix == _LEFT and file.stem in known and not file.with_suffix("").exists():
                file.rename(file.with_suffix(""))
    except OSError as error:
        raise storage_error(error) from None


def put_aside(data_directory: Path, known: set[str]) -> None:
    """Give whole files that the record does not name another name, under which no sweep removes them. Raises StorageError."""
    try:
        for file in stored_in(data_directory):
            if file.name not in known:
                file.rename(file.with_suffix(_LEFT))
    except OSError as error:
        raise storage_error(error) from None

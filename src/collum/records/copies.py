"""An orderly copy of the record beside it before a migration, for its owner alone; the last few are kept."""

import os
from contextlib import suppress
from pathlib import Path

from sqlalchemy import Engine

from collum.records.engine import copy_database
from collum.records.files import moment_in_name
from collum.records.stored import storage_error

COPIES = "before-upgrade"
_MOST = 3


def copy_before(engine: Engine, folder: Path, schema: str, at: str, key: bytes | None) -> Path:
    """Copy the record as it is, of the schema it has, at a moment; return the copy. Raises StorageError; then none is left.

    `key`: of the record where it is encrypted, as the copy is then.
    """
    copies = folder / COPIES
    target = copies / f"practice-{schema}-{moment_in_name(at)}.db"
    beside = target.with_suffix(".part")
    try:
        copies.mkdir(mode=0o700, exist_ok=True)
        for left in copies.glob("*.part*"):  # by a process that was killed
            left.unlink()
        copy_database(engine, beside, key)
        _flush(beside)
        beside.replace(target)
        _flush(copies)
        for old in copies_in(folder)[:-_MOST]:
            old.unlink()
    except OSError as error:
        raise storage_error(error) from None
    finally:
        with suppress(OSError):
            beside.unlink(missing_ok=True)
    return target


def copies_in(folder: Path) -> list[Path]:
    """Return the copies that were made, the oldest first."""
    return sorted((folder / COPIES).glob("practice-*.db"), key=lambda copy: (copy.stat().st_mtime_ns, copy.name))


def _flush(path: Path) -> None:
    """Bring a file, or the names in a folder, to the disk; Windows has no such thing for a folder."""
    if os.name == "nt" and path.is_dir():
        return
    descriptor = os.open(path, os.O_RDWR if path.is_file() else os.O_RDONLY)
    try:
        os.fsync(descriptor)
    finally:
        os.close(descriptor)

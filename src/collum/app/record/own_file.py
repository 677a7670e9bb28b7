"""Small files in the data directory for its owner alone."""

import os
from contextlib import suppress
from pathlib import Path

from collum.records import storage_error


def write_own(file: Path, text: str) -> None:
    """Write a file that only its owner may read; it appears whole or not at all. Raises StorageError."""
    beside = file.with_name(f".{file.name}")
    try:
        with os.fdopen(os.open(beside, os.O_WRONLY | os.O_CREAT | os.O_TRUNC, 0o600), "w", encoding="utf-8") as out:
            out.write(text)
        beside.replace(file)
    except OSError as error:
        with suppress(OSError):
            beside.unlink(missing_ok=True)
        raise storage_error(error) from None

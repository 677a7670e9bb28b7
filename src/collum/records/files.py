"""The files of an open database: whether those of these names are still the ones that were opened."""

import os
from pathlib import Path


def log_of(file: Path) -> Path:
    """Return the write-ahead log beside a database."""
    return file.with_name(f"{file.name}-wal")


def logged(file: Path) -> bool:
    """Return whether something is in the log that may not be in the database yet."""
    log = log_of(file)
    return log.exists() and log.stat().st_size > 0


def files_of(file: Path) -> tuple[Path, ...]:
    """Return every file a database may consist of. A journal is there only while it changes to a log or back."""
    return file, *(file.with_name(f"{file.name}-{ending}") for ending in ("wal", "shm", "journal"))


def moment_in_name(at: str) -> str:
    """Return a moment (ISO 8601) as part of the name of a file or folder: its letters and digits."""
    return "".join(character for character in at if character.isalnum())


class OpenFiles:
    """Remembers by device and number which files were opened. Raises OSError where the database is not there."""

    def __init__(self, database: Path) -> None:
        self._database = database
        self._opened = {database: os.stat(database)}

    def remember(self) -> None:
        """Remember the files beside the database too: called once it is open, when they are there."""
        self._opened |= {path: os.stat(path) for path in files_of(self._database)[1:] if path.exists()}

    def in_place(self) -> bool:
        """Return whether each name still leads to the file that was opened."""
        try:
            return all(os.path.samestat(os.stat(path), found) for path, found in self._opened.items())
        except OSError:
            return False

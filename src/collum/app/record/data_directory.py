"""The folder a practice lives in: made for its owner alone, and looked at for what would betray it.

In it: `practice.db` with `practice.head`, which knows how much was confirmed, `log/`, `config.toml`, `lock`, `browsers/`,
copies made before an upgrade, `set-on-page.toml`, `recovery.json` and, while the workbench runs, `instance.json`.
"""

import os
import stat
import sys
from pathlib import Path
from typing import Literal

from collum.records import storage_error

Caution = Literal["open_to_others", "synchronised"]
DEMO_MARK = "invented-cases-only"
_SYNCHRONISED = ("dropbox", "onedrive", "google drive", "googledrive", "icloud", "nextcloud", "owncloud", "syncthing")
_OTHERS = stat.S_IRWXG | stat.S_IRWXO


def prepare_data_directory(folder: Path) -> tuple[Caution, ...]:
    """Make the folder for its owner alone where it is missing; return what to be careful about. Raises StorageError."""
    os.umask(_OTHERS)
    try:
        folder.mkdir(parents=True, exist_ok=True, mode=stat.S_IRWXU)
        return _cautions(folder)
    except OSError as error:
        raise storage_error(error) from None


def mark_as_demo(folder: Path) -> None:
    """Mark a data directory as holding invented cases only. Raises StorageError."""
    prepare_data_directory(folder)
    try:
        (folder / DEMO_MARK).touch(mode=0o600)
    except OSError as error:
        raise storage_error(error) from None


def is_demo(folder: Path) -> bool:
    """Return whether a data directory is marked as holding invented cases only."""
    return (folder / DEMO_MARK).exists()


def _cautions(folder: Path) -> tuple[Caution, ...]:
    found: list[Caution] = []
    if sys.platform != "win32" and folder.stat().st_mode & _OTHERS:
        found.append("open_to_others")
    parts = [part.lower() for part in folder.resolve().parts]
    if any(name in part for name in _SYNCHRONISED for part in parts):
        found.append("synchronised")
    return tuple(found)

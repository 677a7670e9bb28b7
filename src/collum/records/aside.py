"""Makes room for a new record: what there is of an old one is put aside; only that of invented cases is removed."""

from pathlib import Path

from collum.records.copies import COPIES
from collum.records.files import files_of, moment_in_name
from collum.records.marker import MARKER
from collum.records.opening import BACKUPS, DATABASE, KEPT_BESIDE
from collum.records.stored import storage_error

SET_ASIDE = "set-aside-"  # begin of the name of a folder with a record that was put aside


def set_aside(folder: Path, at: str, *, backups: bool = True) -> Path | None:
    """Move all that belongs to a record into a folder of its own, named by the moment; return it, None where there was nothing.

    `backups`: those that lie in the folder too; they stay where one is to be put in the place of the record.

    Only for the holder of the writer lock. Raises StorageError.
    """
    kept = [name for name in KEPT_BESIDE if backups or name != BACKUPS]
    beside = [folder / name for name in (MARKER, COPIES, *kept)]
    found = [path for path in (*files_of(folder / DATABASE), *beside) if path.exists()]
    if not found:
        return None
    target = folder / f"{SET_ASIDE}{moment_in_name(at)}"
    try:
        target.mkdir(mode=0o700)
        for path in found:
            path.rename(target / path.name)
    except OSError as error:
        raise storage_error(error) from None
    return target


def remove_record(folder: Path) -> None:
    """Remove the record of invented cases. Raises StorageError."""
    try:
        for path in (*files_of(folder / DATABASE), folder / MARKER):
            path.unlink(missing_ok=True)
    except OSError as error:
        raise storage_error(error) from None

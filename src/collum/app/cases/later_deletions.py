"""What is known of deletions after a backup was made: from the lists of them, and from the tombstones in newer backups.

A list is kept beside the backups and beside the record; every backup holds the tombstones of its day. Who was deleted on a
machine whose lists and newer backups are not here cannot be known, so it is told until when nothing is missing.
"""

from collections.abc import Iterable, Iterator, Sequence
from contextlib import AbstractContextManager, suppress
from dataclasses import dataclass
from pathlib import Path

from collum.app.cases.deletion import read_list
from collum.records import SET_ASIDE, StorageError
from collum.records.backup import ENDING, BackupFault, Manifest, OpenedBackup, open_backup, read_manifest
from collum.records.deletion import DeletedCase
from collum.records.opening import BACKUPS
from collum.records.sealing import Keys
from collum.records.unpacking import deleted_in


@dataclass(frozen=True, slots=True, kw_only=True)
class LaterDeletions:
    """Tombstones of a record that are known here. `known_until`: after this moment there may be more of them."""

    cases: tuple[DeletedCase, ...]
    known_until: str


def places_near(folder: Path, place: Path) -> tuple[Path, ...]:
    """Return where a data directory and its folder of backups may know of deletions: also in records that were set aside."""
    aside = sorted(folder.glob(f"{SET_ASIDE}*"))
    return (folder, place, *aside, *(each / BACKUPS for each in aside))


def later_deletions(
    backup: OpenedBackup, keys: Keys, places: Sequence[Path], scratch: AbstractContextManager[Path]
) -> LaterDeletions:
    """Return which deletions of the record of a backup are known in `places`. `scratch`: gives an empty folder.

    The newest backup that can be read tells them all as of its day; what cannot be read tells nothing.
    """
    record = backup.manifest.record
    found = {gone.case_id: gone for place in places for gone in read_list(place, record, keys)}
    until = max([backup.manifest.made_at, *(gone.deleted_at for gone in found.values())])
    with scratch as folder:
        for number, (file, manifest) in enumerate(_newer(backup.manifest, places)):
            with suppress(BackupFault, StorageError, OSError):
                room = folder / str(number)
                room.mkdir(mode=0o700)
                held = deleted_in(open_backup(file), keys, room)
                found = {gone.case_id: gone for gone in held} | found
                until = max(until, manifest.made_at)
                break
    return LaterDeletions(cases=tuple(found.values()), known_until=until)


def _newer(than: Manifest, places: Iterable[Path]) -> list[tuple[Path, Manifest]]:
    """Return the backups of one record made after another of it, newest first."""
    newer = [
        (file, manifest)
        for file, manifest in _manifests(places)
        if manifest.record == than.record and (manifest.made_at, manifest.entries) > (than.made_at, than.entries)
    ]
    return sorted(newer, key=lambda one: (one[1].made_at, one[1].entries), reverse=True)


def _manifests(places: Iterable[Path]) -> Iterator[tuple[Path, Manifest]]:
    for file in {file for place in places for file in place.glob(f"*{ENDING}")}:
        with suppress(BackupFault, StorageError, OSError):
            yield file, read_manifest(file)

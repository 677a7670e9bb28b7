"""What is known of the backups of a data directory: the last one made, which were looked at, what failed, days of use since.

Kept beside the record in a small file without a word about a patient. Which backups may be removed follows from it too.
"""

import json
from collections.abc import Sequence
from dataclasses import asdict, dataclass, field, replace
from datetime import datetime, timedelta
from pathlib import Path
from typing import Literal

from collum.app.record.own_file import write_own
from collum.records import StorageTrouble
from collum.records.backup import BackupTrouble, Manifest

NOTES = "backups.json"
_FORMAT = "collum-backups/1"
_OVERDUE_DAYS = 2
Found = Literal["good"] | BackupTrouble
Failure = StorageTrouble | BackupTrouble


@dataclass(frozen=True, slots=True, kw_only=True)
class BackupFile:
    """A backup in its place. `found`: what a check of it said, None before any."""

    name: str
    size_bytes: int
    manifest: Manifest
    found: Found | None

    @property
    def order(self) -> tuple[str, int, str]:
        """What backups are sorted by: when they were made, and of one second by what they hold."""
        return self.manifest.made_at, self.manifest.entries, self.name


@dataclass(frozen=True, slots=True, kw_only=True)
class BackupNotes:
    """Of the record with the id `record`: `made_at` and `entries` of its last backup, `found` by file name, `good_at`: when the
    newest good one was made, `days` of use since.
    """

    record: str
    made_at: str | None = None
    entries: int = 0
    good_at: str | None = None
    found: dict[str, Found] = field(default_factory=dict)
    failed: Failure | None = None
    failed_at: str | None = None
    days: tuple[str, ...] = ()

    @property
    def overdue(self) -> bool:
        """Whether the practice worked on for two days without a good backup."""
        return len(self.days) >= _OVERDUE_DAYS

    def used(self, at: str) -> "BackupNotes":
        """Return the notes with a day of use: one counts from the day after the last good backup."""
        day = at[:10]
        known = day in self.days or (self.good_at is not None and self.good_at[:10] == day)
        return self if known else replace(self, days=(*self.days, day))

    def made(self, manifest: Manifest) -> "BackupNotes":
        """Return the notes with a backup made."""
        return replace(self, made_at=manifest.made_at, entries=manifest.entries, failed=None, failed_at=None)

    def looked_at(self, name: str, found: Found, manifest: Manifest | None, at: str) -> "BackupNotes":
        """Return the notes with a backup looked at."""
        held = {**self.found, name: found}
        if found != "good" or manifest is None:
            return replace(self, found=held, failed=None if found == "good" else found, failed_at=at)
        newer = self.good_at is None or manifest.made_at >= self.good_at
        return replace(self, found=held, good_at=manifest.made_at, days=()) if newer else replace(self, found=held)

    def failing(self, failure: Failure, at: str) -> "BackupNotes":
        """Return the notes with a failure."""
        return replace(self, failed=failure, failed_at=at)

    def write(self, folder: Path) -> None:
        """Keep the notes in the data directory. Raises StorageError."""
        write_own(folder / NOTES, json.dumps({"format": _FORMAT, **asdict(self)}))


def read_notes(folder: Path, record: str) -> BackupNotes:
    """Return the notes on a record; where there are none, or they cannot be read, nothing is known."""
    try:
        told = json.loads((folder / NOTES).read_bytes())
        if told.pop("format") == _FORMAT and told["record"] == record:
            return BackupNotes(**{**told, "days": tuple(told["days"]), "found": dict(told["found"])})
    except (OSError, ValueError, KeyError, TypeError, AttributeError):
        pass
    return BackupNotes(record=record)


def to_remove(files: Sequence[BackupFile], *, kept: int, kept_days: int, now: datetime) -> list[BackupFile]:
    """Return which backups of one record have had their time: beyond the last `kept`, or older than `kept_days` (0: never).

    The newest of all and the newest that was found good always stay.
    """
    newest_first = sorted(files, key=lambda file: file.order, reverse=True)
    stay = {file.name for file in (*newest_first[:1], *[file for file in newest_first if file.found == "good"][:1])}
    oldest = now - timedelta(days=kept_days) if kept_days else None

    def had_its_time(place: int, file: BackupFile) -> bool:
        return place >= kept or (oldest is not None and datetime.fromisoformat(file.manifest.made_at) < oldest)

    return [file for place, file in enumerate(newest_first) if file.name not in stay and had_its_time(place, file)]

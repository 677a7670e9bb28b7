"""Where the backups of a practice go and how long they stay."""

from dataclasses import dataclass
from pathlib import Path
from typing import Literal

from collum.records.opening import BACKUPS

PlanPart = Literal["place", "kept", "kept_days"]
USUAL_KEPT, USUAL_DAYS = 30, 400


@dataclass(frozen=True, slots=True, kw_only=True)
class BackupPlan:
    """Where backups go, how many are kept, and for how many days (0: for ever).

    `fixed`: which of these were set by a flag, a variable or `config.toml`, which win over what is set on the page.
    """

    place: Path
    kept: int = USUAL_KEPT
    kept_days: int = USUAL_DAYS
    fixed: frozenset[PlanPart] = frozenset()


def mark_of(record: str) -> str:
    """Return the letters that tell the files of one record from those of another in the same folder."""
    return record.replace("-", "")[-8:]


def usual_plan(folder: Path) -> BackupPlan:
    """Return the plan of a data directory whose settings say nothing of backups."""
    return BackupPlan(place=folder / BACKUPS)

"""Deleting what is recorded of a person, and the list of it that is kept beside the backups and beside the record.

A backup made before still holds the key of the case. The list is replayed when one is restored, so that nobody comes back who
was deleted meanwhile; it names ids alone and carries a seal that only the keys of the record make.
"""

import hmac
import json
from collections.abc import Sequence
from contextlib import suppress
from dataclasses import asdict, dataclass
from datetime import datetime, timedelta
from hashlib import sha256
from pathlib import Path

from collum.app.environment import utc_text
from collum.app.practice import Practice
from collum.app.record.backup_notes import BackupFile
from collum.app.record.backup_plan import BackupPlan, mark_of
from collum.app.record.own_file import write_own
from collum.app.record.stamp import stamp_of
from collum.records import RoundOpen, StorageError
from collum.records.copies import copies_in
from collum.records.deletion import DeletedCase, DeletionReason
from collum.records.sealing import Keys, read_key_file
from collum.records.sealing.keys import derived

_FORMAT = "collum-deleted/1"


class WrongReference(ValueError):
    """The code that was typed to confirm a deletion is not that of the case."""


@dataclass(frozen=True, slots=True, kw_only=True)
class Deletion:
    """What came of it: `held` backups still hold the case, the last of them until `held_until` (None: no end is set)."""

    deleted: DeletedCase
    held: int
    held_until: str | None


def delete_person(
    practice: Practice,
    keys: Keys,
    plan: BackupPlan,
    own: Sequence[BackupFile],
    case_id: str,
    *,
    reference: str,
    reason: DeletionReason,
) -> Deletion:
    """Delete a case whose code is typed to confirm it. `keys`: of the record, `own`: its backups.

    Raises WrongReference, RoundOpen, UnknownRecord, CaseDeleted, StorageError.
    """
    folder = practice.environment.data_directory
    if practice.open(case_id).document["patient"]["reference"] != reference:
        raise WrongReference
    if practice.store.rounds.open_of(case_id) is not None:
        raise RoundOpen
    made_at = practice.open_earlier(case_id, 1).saved_at
    for copy in copies_in(folder):  # they hold the key too, and go first: whoever is killed here has a whole case
        copy.unlink(missing_ok=True)
    deleted = practice.store.delete_case(case_id, reason, stamp_of(practice.environment))
    record = read_key_file(folder).record
    for place in (plan.place, folder):
        with suppress(StorageError):  # the next backup writes it
            write_list(place, record, keys, practice.store.deleted_cases())
    before = [file.manifest.made_at for file in own if made_at <= file.manifest.made_at <= deleted.deleted_at]
    until = None
    if before and plan.kept_days:
        until = utc_text(datetime.fromisoformat(max(before)) + timedelta(days=plan.kept_days))
    return Deletion(deleted=deleted, held=len(before), held_until=until)


def write_list(place: Path, record: str, keys: Keys, deleted: Sequence[DeletedCase]) -> None:
    """Keep the list of what was deleted beside the backups; nothing where nothing was. Raises StorageError."""
    if deleted:
        cases = [asdict(each) for each in deleted]
        write_own(_list_of(place, record), json.dumps({"format": _FORMAT, "cases": cases, "seal": _seal(keys, cases)}))


def read_list(place: Path, record: str, keys: Keys) -> tuple[DeletedCase, ...]:
    """Return the list beside a backup; one that is not there, or that the keys of the record did not seal, names nobody."""
    try:
        told = json.loads(_list_of(place, record).read_bytes())
        if told["format"] == _FORMAT and hmac.compare_digest(told["seal"], _seal(keys, told["cases"])):
            return tuple(DeletedCase(**each) for each in told["cases"])
    except (OSError, ValueError, KeyError, TypeError):
        pass
    return ()


def _list_of(place: Path, record: str) -> Path:
    return place / f"collum-deleted-{mark_of(record)}.json"


def _seal(keys: Keys, cases: object) -> str:
    key = derived(keys.data, "collum deleted")
    return hmac.new(key, json.dumps(cases, sort_keys=True).encode(), sha256).hexdigest()

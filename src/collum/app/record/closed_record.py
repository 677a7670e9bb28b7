"""Why a record does not open as it is, and what its owner may do about that."""

from collections.abc import Mapping
from typing import Literal

from collum.records import StorageError
from collum.records.sealing import KeyFileTrouble

Closed = Literal["missing", "behind", "other_record", "damaged", "keys_missing", "keys_damaged", "keys_changed"]
Remedy = Literal["restore", "accept", "begin"]

# In the order in which they are offered. `restore`: a backup in its place; `accept`: go on with it; `begin`: a new practice.
REMEDIES: Mapping[Closed, tuple[Remedy, ...]] = {
    "missing": ("restore", "begin"),
    "behind": ("restore", "accept"),
    "other_record": ("accept", "restore"),
    "damaged": ("restore",),
    "keys_missing": ("restore",),
    "keys_damaged": ("restore",),
    "keys_changed": ("restore",),
}


def closed_by(error: StorageError | KeyFileTrouble) -> Closed | None:
    """Return what an error of opening says of the record; None where nothing here would help, such as a full disk."""
    name = f"keys_{error.trouble}" if isinstance(error, KeyFileTrouble) else error.trouble
    return next((closed for closed in REMEDIES if closed == name), None)

"""The record of a practice: cases by revision and stored plans, in one database file."""

from collum.records.lock import WriterLock
from collum.records.store import DATABASE, Store
from collum.records.stored import (
    Card,
    CardGround,
    DoseLimitEntry,
    PlanContent,
    PlanSummary,
    Revision,
    StaleRevision,
    Stamp,
    StorageError,
    StorageTrouble,
    StoredPlan,
    UnknownRecord,
)

__all__ = [
    "DATABASE",
    "Card",
    "CardGround",
    "DoseLimitEntry",
    "UnknownRecord",
    "PlanContent",
    "PlanSummary",
    "Revision",
    "StaleRevision",
    "Stamp",
    "StorageError",
    "StorageTrouble",
    "Store",
    "StoredPlan",
    "WriterLock",
]

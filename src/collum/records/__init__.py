"""The record of a practice: cases by revision and stored plans, in one database file."""

from collum.records.lock import WriterLock
from collum.records.rounds import Rounds
from collum.records.store import DATABASE, Store
from collum.records.stored import (
    Card,
    CardGround,
    DoseLimitEntry,
    PlanContent,
    PlanSummary,
    RecordedRound,
    Revision,
    RoundEnd,
    RoundEnded,
    RoundMark,
    RoundOpen,
    RoundStart,
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
    "RecordedRound",
    "Revision",
    "RoundEnd",
    "RoundEnded",
    "RoundMark",
    "RoundOpen",
    "RoundStart",
    "Rounds",
    "StaleRevision",
    "Stamp",
    "StorageError",
    "StorageTrouble",
    "Store",
    "StoredPlan",
    "WriterLock",
]

"""The record of a practice: cases by revision and stored plans, in one database file."""

from collum.records.aside import SET_ASIDE, remove_record, set_aside
from collum.records.attached import Attachment, AttachmentLabel, AttachmentRemoved, DamagedAttachment, RecordClosed
from collum.records.attachments import Attachments
from collum.records.checking import RecordCheck, RecordFault
from collum.records.inspection import accept_older, inspect_record
from collum.records.lock import WriterLock
from collum.records.opening import DATABASE
from collum.records.rounds import Rounds
from collum.records.store import Store
from collum.records.stored import (
    Card,
    CardGround,
    CaseDamage,
    CaseDeleted,
    ChainHead,
    DamagedCase,
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
    head_of_text,
    storage_error,
)

__all__ = [
    "SET_ASIDE",
    "DATABASE",
    "Attachment",
    "AttachmentLabel",
    "AttachmentRemoved",
    "Attachments",
    "Card",
    "CardGround",
    "CaseDamage",
    "CaseDeleted",
    "DamagedAttachment",
    "ChainHead",
    "DamagedCase",
    "DoseLimitEntry",
    "PlanContent",
    "PlanSummary",
    "RecordCheck",
    "RecordClosed",
    "RecordFault",
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
    "UnknownRecord",
    "WriterLock",
    "accept_older",
    "head_of_text",
    "inspect_record",
    "remove_record",
    "set_aside",
    "storage_error",
]

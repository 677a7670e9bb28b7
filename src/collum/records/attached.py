"""What the record gives back of files of cases, and the two ways of their own in which a request for one can fail."""

from collections.abc import Callable
from dataclasses import dataclass
from typing import BinaryIO, Protocol

from collum.records.stored import Stamp, StorageError


@dataclass(frozen=True, slots=True, kw_only=True)
class AttachmentLabel:
    """What is said of a file that is added. `taken_on` is a day (ISO 8601); `thumbnail` a small picture in base 64."""

    name: str
    media_type: str
    kind: str
    taken_on: str | None
    note: str | None
    thumbnail: str | None


@dataclass(frozen=True, slots=True, kw_only=True)
class AttachmentRemoved:
    """That a file was taken out of the list, when, by whom and why."""

    reason: str
    removed_at: str
    zone: str
    author: str


@dataclass(frozen=True, slots=True, kw_only=True)
class Attachment:
    """A file of a case. `size` is in bytes, `sha256` of what it holds; `file` is its name in the folder of attachments."""

    id: str
    case_id: str
    file: str
    label: AttachmentLabel
    size: int
    sha256: str
    added_at: str
    zone: str
    author: str
    removed: AttachmentRemoved | None


class LookedAt(Protocol):
    """A source that is looked at while it is read; once all of it was, it says what the file is."""

    def read(self, size: int) -> bytes: ...

    def label(self) -> AttachmentLabel: ...


@dataclass(frozen=True, slots=True, kw_only=True)
class ArrivingFile:
    """A file of a case that comes in whole with its files. `removed`: why it was taken out of the list elsewhere."""

    source: Callable[[], BinaryIO]
    looked: Callable[[BinaryIO], LookedAt]
    stamp: Stamp
    removed: str | None


class DamagedAttachment(StorageError):
    """A file of a case does not hold what was stored, or is missing."""

    def __init__(self) -> None:
        super().__init__("damaged")


class RecordClosed(Exception):
    """The keys of the record were dropped while a file was on its way into it or out of it."""

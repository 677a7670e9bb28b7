"""Use cases of the files of a case: films, photographs, scans and letters, kept as they are and given back as they were."""

import base64
import binascii
from collections.abc import Iterator
from dataclasses import asdict, dataclass
from datetime import date
from typing import BinaryIO, Literal, cast

from collum.app.cases.case_store import CaseStore
from collum.app.environment import Environment
from collum.app.record.stamp import stamp_of
from collum.readers import MediaLook, UnknownMedia
from collum.records import Attachment, AttachmentLabel
from collum.records.attached import LookedAt

Kind = Literal["radiograph", "photograph", "scan", "letter", "other"]
Trouble = Literal["kind", "size", "day", "thumbnail"]
MOST_ATTACHMENT_BYTES = 100_000_000  # choice: a film of the whole jaw or a scan of it, several times over
MOST_NAME, MOST_NOTE, MOST_REASON = 200, 500, 500
MOST_THUMBNAIL = 8_192  # in base 64, so that it fits into the head of a request
_PICTURES = (b"\x89PNG\r\n\x1a\n", b"\xff\xd8\xff")


class AttachmentRefused(Exception):
    """A file is not taken; `trouble` says why."""

    def __init__(self, trouble: Trouble) -> None:
        self.trouble: Trouble = trouble
        super().__init__(trouble)


@dataclass(frozen=True, slots=True, kw_only=True)
class Told:
    """What whoever adds a file says of it. `taken_on`: a day, ISO 8601; `thumbnail`: a PNG or JPEG in base 64."""

    name: str
    kind: Kind
    taken_on: str | None = None
    note: str | None = None
    thumbnail: str | None = None


class AttachmentDesk:
    """Adds, lists, gives and takes out files of cases. For several threads."""

    def __init__(self, environment: Environment, store: CaseStore) -> None:
        self._environment = environment
        self._store = store

    def add(self, case_id: str, source: BinaryIO, told: Told) -> Attachment:
        """Keep what `source` gives, byte for byte; the kind of file is told by its content.

        Whatever is raised, nothing is kept. Raises AttachmentRefused, UnknownRecord, CaseDeleted, RecordClosed, StorageError
        and what `source` raises.
        """
        looked = looked_at(source, told)
        return self._store.attachments.add(case_id, cast(BinaryIO, looked), looked.label, stamp_of(self._environment))

    def of_case(self, case_id: str) -> tuple[Attachment, ...]:
        """Return the files of a case in the order they were added, with those taken out. Raises UnknownRecord."""
        return self._store.attachments.of_case(case_id)

    def read(self, case_id: str, attachment_id: str) -> tuple[Attachment, Iterator[bytes]]:
        """Return a file with what it holds, found whole before. Raises UnknownRecord, DamagedAttachment, RecordClosed."""
        return self._store.attachments.read(case_id, attachment_id)

    def remove(self, case_id: str, attachment_id: str, reason: str) -> Attachment:
        """Take a file out of the list for a reason; its bytes stay in the record. Raises UnknownRecord, StorageError."""
        return self._store.attachments.remove(case_id, attachment_id, reason, stamp_of(self._environment))


def looked_at(source: BinaryIO, told: Told) -> LookedAt:
    """Return a source that is measured and looked at while it is read. Raises AttachmentRefused, here and while it is read."""
    _check(told)
    return _Looked(source, told)


class _Looked:
    def __init__(self, source: BinaryIO, told: Told) -> None:
        self._source = source
        self._told = told
        self._look = MediaLook()

    def read(self, size: int) -> bytes:
        part = self._source.read(size)
        if self._look.size + len(part) > MOST_ATTACHMENT_BYTES:
            raise AttachmentRefused("size")
        try:
            self._look.take(part)
        except UnknownMedia:
            raise AttachmentRefused("kind") from None
        return part

    def label(self) -> AttachmentLabel:
        try:
            media_type = self._look.found()
        except UnknownMedia:
            raise AttachmentRefused("kind") from None
        return AttachmentLabel(**asdict(self._told), media_type=media_type)


def _check(told: Told) -> None:
    if told.taken_on is not None:
        try:
            date.fromisoformat(told.taken_on)
        except ValueError:
            raise AttachmentRefused("day") from None
    if told.thumbnail is not None:
        try:
            picture = base64.b64decode(told.thumbnail, validate=True)
        except (binascii.Error, ValueError):
            raise AttachmentRefused("thumbnail") from None
        if not picture.startswith(_PICTURES):
            raise AttachmentRefused("thumbnail")

"""The use cases of the files of a case, in wire form."""

from collections.abc import Callable, Iterator
from contextlib import AbstractContextManager
from typing import BinaryIO, cast

from collum.app.cases.attachments import MOST_ATTACHMENT_BYTES, AttachmentDesk, Kind, Told
from collum.readers import ENDINGS, MediaType
from collum.records import Attachment
from collum.web import attachment_schemas as wire

Troubles = Callable[[], AbstractContextManager[None]]


class AttachmentServices:
    """Answers the routes of files; their troubles become those the routes know."""

    def __init__(self, desk: AttachmentDesk, troubles: Troubles) -> None:
        self._desk = desk
        self._troubles = troubles

    def add(self, case_id: str, source: BinaryIO, told: Told) -> wire.AttachmentAnswer:
        with self._troubles():
            return _answer(self._desk.add(case_id, source, told))

    def of_case(self, case_id: str) -> wire.AttachmentsAnswer:
        with self._troubles():
            found = self._desk.of_case(case_id)
        return wire.AttachmentsAnswer(attachments=[_answer(one) for one in found], most_bytes=MOST_ATTACHMENT_BYTES)

    def read(self, case_id: str, attachment_id: str) -> tuple[str, int, Iterator[bytes]]:
        """Return a name of ours to save the file under, its size and what it holds."""
        with self._troubles():
            found, content = self._desk.read(case_id, attachment_id)
        return f"attachment-{found.id[-8:]}.{ENDINGS[_media_type(found)]}", found.size, content

    def remove(self, case_id: str, attachment_id: str, body: wire.RemoveRequest) -> wire.AttachmentAnswer:
        with self._troubles():
            return _answer(self._desk.remove(case_id, attachment_id, body.reason))


def _answer(found: Attachment) -> wire.AttachmentAnswer:
    label, removed = found.label, found.removed
    return wire.AttachmentAnswer(
        attachment_id=found.id,
        name=label.name,
        media_type=_media_type(found),
        kind=cast(Kind, label.kind),
        size_bytes=found.size,
        sha256=found.sha256,
        taken_on=label.taken_on,
        note=label.note,
        thumbnail=label.thumbnail,
        added_at=found.added_at,
        author=found.author,
        removed=None
        if removed is None
        else wire.RemovedAnswer(reason=removed.reason, at=removed.removed_at, author=removed.author),
    )


def _media_type(found: Attachment) -> MediaType:
    return cast(MediaType, found.label.media_type)

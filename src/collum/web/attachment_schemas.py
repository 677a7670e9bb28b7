"""The wire form of the files of a case."""

from typing import Annotated

from pydantic import Field

from collum.app.cases.attachments import MOST_REASON, Kind
from collum.readers import MediaType
from collum.web.schemas import Wire


class RemovedAnswer(Wire):
    """That a file was taken out of the list."""

    reason: str
    at: str
    author: str


class AttachmentAnswer(Wire):
    """A file of a case: `size_bytes` in bytes, `sha256` of what it holds, `thumbnail` a PNG or JPEG in base 64."""

    attachment_id: str
    name: str
    media_type: MediaType
    kind: Kind
    size_bytes: int
    sha256: str
    taken_on: str | None
    note: str | None
    thumbnail: str | None
    added_at: str
    author: str
    removed: RemovedAnswer | None


class AttachmentsAnswer(Wire):
    """The files of a case in the order they were added, also those taken out."""

    attachments: list[AttachmentAnswer]
    most_bytes: int


class RemoveRequest(Wire):
    reason: Annotated[str, Field(min_length=3, max_length=MOST_REASON)]

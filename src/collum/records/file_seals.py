"""How the bytes of a file of a case are stored, and under which name: sealed by the key of the case, or clear."""

import hmac
from collections.abc import Iterator
from dataclasses import dataclass, field
from hashlib import sha256
from typing import BinaryIO, Protocol

from collum.records.attached import DamagedAttachment
from collum.records.sealing import Place, SealBroken, open_stream, seal_stream
from collum.records.sealing.keys import derived
from collum.records.tables import ATTACHMENT

_CLEAR_BYTES = 65_536


class FileSeal(Protocol):
    """Stores the files of one case."""

    def name(self, attachment_id: str) -> str:
        """Return the name of a file in the folder of attachments: 64 hexadecimal digits."""

    def store(self, attachment_id: str, source: BinaryIO, target: BinaryIO) -> None:
        """Write what `source` gives to `target` as it is stored."""

    def opened(self, attachment_id: str, source: BinaryIO) -> Iterator[bytes]:
        """Yield what was stored. Raises DamagedAttachment, at the latest at the end: use nothing before it."""


class ClearFiles:
    """Stores files as they are: a demo, a test."""

    def name(self, attachment_id: str) -> str:
        return sha256(attachment_id.encode()).hexdigest()

    def store(self, attachment_id: str, source: BinaryIO, target: BinaryIO) -> None:
        for part in self.opened(attachment_id, source):
            target.write(part)

    def opened(self, attachment_id: str, source: BinaryIO) -> Iterator[bytes]:
        del attachment_id
        while part := source.read(_CLEAR_BYTES):
            yield part


@dataclass(frozen=True, slots=True)
class SealedFiles:
    """Seals files under the key of their case, which also makes their names: neither tells whose file it is."""

    key: bytes = field(repr=False)

    def name(self, attachment_id: str) -> str:
        return hmac.new(derived(self.key, "collum attachment name"), attachment_id.encode(), sha256).hexdigest()

    def store(self, attachment_id: str, source: BinaryIO, target: BinaryIO) -> None:
        seal_stream(self.key, source, target, _place(attachment_id))

    def opened(self, attachment_id: str, source: BinaryIO) -> Iterator[bytes]:
        try:
            yield from open_stream(self.key, source, _place(attachment_id))
        except SealBroken:
            raise DamagedAttachment from None


def _place(attachment_id: str) -> Place:
    return Place(table=ATTACHMENT.name, column="file", id=attachment_id)

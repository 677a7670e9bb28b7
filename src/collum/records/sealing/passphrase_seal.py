"""A file sealed under a passphrase of its own: a head with the cost of the passphrase and the wrapped key, then the file.

The key of the file is random. The head tells the version and how the passphrase is stretched, nothing of what is sealed.
"""

import base64
import io
import json
import os
from collections.abc import Iterator
from typing import BinaryIO, cast

from collum.records.sealing.faults import SealBroken, WrongPassphrase
from collum.records.sealing.keys import KEY_BYTES
from collum.records.sealing.payload import Place, unwrap_key, wrap_key
from collum.records.sealing.stream import SealedReader, sealed_parts
from collum.records.sealing.stretching import Stretching

_MOST_HEAD_BYTES = 1_000


def sealed_under(passphrase: str, cost: Stretching, parts: Iterator[bytes], magic: bytes) -> Iterator[bytes]:
    """Yield `parts` sealed under a passphrase. `magic`: the line that the file begins with."""
    key = os.urandom(KEY_BYTES)
    wrapped = wrap_key(cost.key_of(passphrase), key, magic)
    paid = {"memory_kib": cost.memory_kib, "passes": cost.passes}
    head = {"argon2id": paid, "salt": _text(cost.salt), "wrapped": _text(wrapped)}
    yield magic + json.dumps(head).encode() + b"\n"
    yield from sealed_parts(key, cast(BinaryIO, _Drawn(parts)), _place(magic))


def opened_under(passphrase: str, source: BinaryIO, magic: bytes) -> SealedReader:
    """Return what was sealed under a passphrase; `source` is just behind `magic`. Raises WrongPassphrase, SealBroken."""
    try:
        head = json.loads(source.readline(_MOST_HEAD_BYTES))
        cost = Stretching(**head["argon2id"], salt=base64.b64decode(head["salt"], validate=True))
        wrapped = base64.b64decode(head["wrapped"], validate=True)
    except (ValueError, KeyError, TypeError, RecursionError):
        raise SealBroken from None
    try:
        key = unwrap_key(cost.key_of(passphrase), wrapped, magic)
    except SealBroken:
        raise WrongPassphrase from None
    return SealedReader(key, source, _place(magic))


class _Drawn(io.RawIOBase):
    """Parts as a source that is read."""

    def __init__(self, parts: Iterator[bytes]) -> None:
        self._parts = parts
        self._held = memoryview(b"")

    def read(self, size: int = -1) -> bytes:
        while not self._held:
            part = next(self._parts, None)
            if part is None:
                return b""
            self._held = memoryview(part)
        taken, self._held = self._held[:size], self._held[size:]
        return bytes(taken)


def _place(magic: bytes) -> Place:
    return Place(table="file", column="content", id=magic.decode().strip())


def _text(content: bytes) -> str:
    return base64.b64encode(content).decode("ascii")

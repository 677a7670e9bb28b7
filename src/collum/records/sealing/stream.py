"""Sealed files of any length: chunks of 64 KiB, each by AES-256-GCM under a key of that file alone.

The nonce of a chunk is its number and whether it is the last one (the STREAM construction: Hoang, Reyhanitabar, Rogaway and
Vizar, Crypto 2015), so a chunk that is changed, left out, moved or added, and an end that is cut off, do not open. The key
of the file is derived from the given key, a random salt and the place, so that no nonce is ever used twice under one key.
"""

import errno
import os
from collections.abc import Iterator
from io import SEEK_CUR, SEEK_END, SEEK_SET, RawIOBase
from typing import Any, BinaryIO

from cryptography.exceptions import InvalidTag
from cryptography.hazmat.primitives.ciphers.aead import AESGCM

from collum.records.sealing.faults import SealBroken
from collum.records.sealing.keys import derived
from collum.records.sealing.payload import Place

CHUNK_BYTES = 65_536
_MAGIC = b"collum sealed file 1\n"
_SALT_BYTES = 16
_TAG_BYTES = 16


def seal_stream(key: bytes, source: BinaryIO, target: BinaryIO, place: Place) -> None:
    """Write what `source` holds to `target`, sealed for `place`, two chunks in memory at a time."""
    for part in sealed_parts(key, source, place):
        target.write(part)


def sealed_parts(key: bytes, source: BinaryIO, place: Place) -> Iterator[bytes]:
    """Yield what `source` holds sealed for `place`, as it is read."""
    salt = os.urandom(_SALT_BYTES)
    cipher = _cipher(key, salt, place)
    yield _MAGIC + salt
    for number, (chunk, last) in enumerate(_chunks(source, CHUNK_BYTES)):
        yield cipher.encrypt(_nonce(number, last=last), chunk, None)


def open_stream(key: bytes, source: BinaryIO, place: Place) -> Iterator[bytes]:
    """Yield what was sealed at `place`, chunk by chunk. Raises SealBroken, at the latest at the end: use nothing before it.

    Whoever must not use half of a file writes the chunks beside and renames at the end.
    """
    if source.read(len(_MAGIC)) != _MAGIC:
        raise SealBroken
    salt = source.read(_SALT_BYTES)
    if len(salt) != _SALT_BYTES:
        raise SealBroken
    cipher = _cipher(key, salt, place)
    for number, (sealed, last) in enumerate(_chunks(source, CHUNK_BYTES + _TAG_BYTES)):
        try:
            yield cipher.decrypt(_nonce(number, last=last), sealed, None)
        except InvalidTag:
            raise SealBroken from None


class SealedReader(RawIOBase):
    """What was sealed, to be read from any place of it: nothing is ever written in clear. The first chunk of `source` is next.

    Every chunk is checked when it is read. Raises SealBroken, here where the end is cut off.
    """

    def __init__(self, key: bytes, source: BinaryIO, place: Place) -> None:
        head = source.read(len(_MAGIC) + _SALT_BYTES)
        if len(head) != len(_MAGIC) + _SALT_BYTES or not head.startswith(_MAGIC):
            raise SealBroken
        self._cipher, self._source, self._start = _cipher(key, head[len(_MAGIC) :], place), source, source.tell()
        sealed = source.seek(0, SEEK_END) - self._start
        self._last = max(0, sealed - 1) // (CHUNK_BYTES + _TAG_BYTES)
        self.size = sealed - (self._last + 1) * _TAG_BYTES
        self._at = 0
        self._held: tuple[int, bytes] = (-1, b"")
        self._chunk(self._last)

    def readable(self) -> bool:
        return True

    def seekable(self) -> bool:
        return True

    def seek(self, offset: int, whence: int = SEEK_SET) -> int:
        start = {SEEK_SET: 0, SEEK_CUR: self._at, SEEK_END: self.size}[whence]
        if start + offset < 0:
            raise OSError(errno.EINVAL, "before the begin")
        self._at = start + offset
        return self._at

    def tell(self) -> int:
        return self._at

    def readinto(self, target: Any) -> int:
        if self._at >= self.size:
            return 0
        number, within = divmod(self._at, CHUNK_BYTES)
        part = self._chunk(number)[within : within + len(target)]
        target[: len(part)] = part
        self._at += len(part)
        return len(part)

    def _chunk(self, number: int) -> bytes:
        if self._held[0] != number:
            self._source.seek(self._start + number * (CHUNK_BYTES + _TAG_BYTES))
            sealed = _read(self._source, CHUNK_BYTES + _TAG_BYTES)
            try:
                self._held = (number, self._cipher.decrypt(_nonce(number, last=number == self._last), sealed, None))
            except InvalidTag:
                raise SealBroken from None
        return self._held[1]


def _cipher(key: bytes, salt: bytes, place: Place) -> AESGCM:
    return AESGCM(derived(key, f"collum file {place.associated.decode()}", salt=salt))


def _nonce(number: int, *, last: bool) -> bytes:
    return number.to_bytes(11, "big") + bytes([last])


def _chunks(source: BinaryIO, size: int) -> Iterator[tuple[bytes, bool]]:
    """Yield chunks of `size` and whether each is the last; an empty source has one, empty, last chunk."""
    held = _read(source, size)
    while True:
        following = _read(source, size) if len(held) == size else b""
        yield held, not following
        if not following:
            return
        held = following


def _read(source: BinaryIO, size: int) -> bytes:
    """Return `size` bytes, fewer only at the end; one read may return less than it was asked for."""
    parts: list[bytes] = []
    wanted = size
    while wanted and (part := source.read(wanted)):
        parts.append(part)
        wanted -= len(part)
    return b"".join(parts)

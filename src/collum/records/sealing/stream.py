"""Sealed files of any length: chunks of 64 KiB, each by AES-256-GCM under a key of that file alone.

The nonce of a chunk is its number and whether it is the last one (the STREAM construction: Hoang, Reyhanitabar, Rogaway and
Vizar, Crypto 2015), so a chunk that is changed, left out, moved or added, and an end that is cut off, do not open. The key
of the file is derived from the given key, a random salt and the place, so that no nonce is ever used twice under one key.
"""

import os
from collections.abc import Iterator
from typing import BinaryIO

from cryptography.exceptions import InvalidTag
from cryptography.hazmat.primitives.ciphers.aead import AESGCM

from collum.records.sealing.faults import SealBroken
from collum.records.sealing.keys import derived
from collum.records.sealing.payload import Place

CHUNK_BYTES = 65_536
_MAGIC = b"collum sealed file 1\n"
_SALT_BYTES = 16
_TAG_BYTES = 16


def seal_stream(key: bytes, source: BinaryIO, target: BinaryIO, place: Place) -> int:
    """Write what `source` holds to `target`, sealed for `place`, two chunks in memory at a time; return the bytes read."""
    salt = os.urandom(_SALT_BYTES)
    cipher = _cipher(key, salt, place)
    target.write(_MAGIC + salt)
    count = 0
    for number, (chunk, last) in enumerate(_chunks(source, CHUNK_BYTES)):
        target.write(cipher.encrypt(_nonce(number, last=last), chunk, None))
        count += len(chunk)
    return count


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

"""Sealed payloads: AES-256-GCM with a random nonce, bound to table, id and version by the associated data (NIST SP 800-38D).

A payload moved to another row, another version or another case does not open. What is sealed is a JSON object with one
member, so that a column that must hold JSON holds it sealed or clear.
"""

import base64
import json
import os
import zlib
from collections.abc import Mapping
from dataclasses import dataclass

from cryptography.exceptions import InvalidTag
from cryptography.hazmat.primitives.ciphers.aead import AESGCM

from collum.records.sealing.faults import SealBroken

_SEALED = "sealed/1"
_NONCE_BYTES = 12
_TAG_BYTES = 16
_LEVEL = 1  # of zlib: a tenth larger than the usual one in a third of the time


@dataclass(frozen=True, slots=True, kw_only=True)
class Place:
    """Where a payload belongs. `version` is the number of a revision, 0 where a row has none."""

    table: str
    column: str
    id: str
    version: int = 0

    @property
    def associated(self) -> bytes:
        """Return the associated data; JSON, so that no two places are spelt alike."""
        return json.dumps([_SEALED, self.table, self.column, self.id, self.version]).encode()


def seal_payload(key: bytes, text: str, place: Place, *, beside: Mapping[str, object] | None = None) -> str:
    """Return `text` sealed for `place`, as a JSON object. `beside`: members kept readable, which the database itself checks.

    What is sealed is compressed first; its length tells how much was written, nothing else.
    """
    return json.dumps({**(beside or {}), _SEALED: _base64(_seal(key, zlib.compress(text.encode(), _LEVEL), place.associated))})


def open_payload(key: bytes, sealed: str, place: Place) -> str:
    """Return what was sealed at `place`. Raises SealBroken."""
    try:
        content = base64.b64decode(json.loads(sealed)[_SEALED], validate=True)
        return zlib.decompress(_open(key, content, place.associated)).decode()
    except (ValueError, KeyError, TypeError, zlib.error):
        raise SealBroken from None


def wrap_key(key: bytes, wrapped: bytes, associated: bytes) -> bytes:
    """Return a key sealed by another one."""
    return _seal(key, wrapped, associated)


def unwrap_key(key: bytes, wrapped: bytes, associated: bytes) -> bytes:
    """Return the key in `wrapped`. Raises SealBroken."""
    return _open(key, wrapped, associated)


def _seal(key: bytes, content: bytes, associated: bytes) -> bytes:
    nonce = os.urandom(_NONCE_BYTES)
    return nonce + AESGCM(key).encrypt(nonce, content, associated)


def _open(key: bytes, sealed: bytes, associated: bytes) -> bytes:
    if len(sealed) < _NONCE_BYTES + _TAG_BYTES:
        raise SealBroken
    try:
        return AESGCM(key).decrypt(sealed[:_NONCE_BYTES], sealed[_NONCE_BYTES:], associated)
    except InvalidTag:
        raise SealBroken from None


def _base64(content: bytes) -> str:
    return base64.b64encode(content).decode("ascii")

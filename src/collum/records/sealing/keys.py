"""The keys of a record: one random data key, and one key for each purpose derived from it (HKDF, RFC 5869, SHA-256).

A derived key serves one purpose alone, so that the same bytes are never used by two algorithms. Case keys are random and are
stored wrapped: destroying the wrapped key makes everything about one case unreadable.
"""

import hmac
import os
from dataclasses import dataclass, field
from hashlib import sha256

from cryptography.hazmat.primitives.hashes import SHA256
from cryptography.hazmat.primitives.kdf.hkdf import HKDF

KEY_BYTES = 32


@dataclass(frozen=True, slots=True)
class Keys:
    """What an unlocked record works with. Never printed: the fields are left out of `repr`."""

    data: bytes = field(repr=False)
    database: bytes = field(init=False, repr=False)
    case_wrap: bytes = field(init=False, repr=False)
    index: bytes = field(init=False, repr=False)
    chain: bytes = field(init=False, repr=False)
    key_file: bytes = field(init=False, repr=False)
    archive: bytes = field(init=False, repr=False)

    def __post_init__(self) -> None:
        if len(self.data) != KEY_BYTES:
            raise ValueError(f"a data key has {KEY_BYTES} bytes")
        for purpose in ("database", "case_wrap", "index", "chain", "key_file", "archive"):
            object.__setattr__(self, purpose, derived(self.data, f"collum {purpose}"))

    def index_of(self, text: str) -> str:
        """Return the blind index of a text: equal for equal texts, and tells nothing else without the key."""
        return hmac.new(self.index, text.encode(), sha256).hexdigest()

    def drafts_of(self, code: str) -> bytes:
        """Return the key under which a page keeps what a user typed and the record does not hold yet."""
        return derived(self.data, f"collum drafts {code}")


def new_data_key() -> bytes:
    """Return a new random data key (256 bit)."""
    return os.urandom(KEY_BYTES)


def new_case_key() -> bytes:
    """Return a new random key for one case (256 bit)."""
    return os.urandom(KEY_BYTES)


def derived(key: bytes, purpose: str, *, salt: bytes | None = None) -> bytes:
    """Return the key of `purpose` derived from a key that is itself random (HKDF with SHA-256)."""
    return HKDF(algorithm=SHA256(), length=KEY_BYTES, salt=salt, info=purpose.encode()).derive(key)

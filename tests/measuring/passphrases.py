"""A passphrase becomes a key by one hash where the time that a guess takes is not what is looked at."""

from collections.abc import Iterator
from contextlib import contextmanager
from hashlib import sha256

import pytest

from collum.records.sealing import Stretching


def key_by_one_hash(cost: Stretching, passphrase: str) -> bytes:
    """Stand in for `Stretching.key_of`."""
    return sha256(cost.salt + passphrase.encode()).digest()


@contextmanager
def cheap_passphrases() -> Iterator[None]:
    """Make passphrases cheap in this process for a while."""
    with pytest.MonkeyPatch.context() as patched:
        patched.setattr(Stretching, "key_of", key_by_one_hash)
        yield

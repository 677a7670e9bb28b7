"""The recovery code: 128 random bits as 28 letters and figures in seven groups, printed once.

The alphabet leaves out I, L, O and U, which are misread; the last two and a half characters are a checksum, so that a slip
of the pen is told from a wrong code.
"""

import os
from hashlib import sha256

_ALPHABET = "0123456789ABCDEFGHJKMNPQRSTVWXYZ"
_MISREAD = str.maketrans({"O": "0", "I": "1", "L": "1"})
_SECRET_BYTES = 16
_CHECK_BITS = 12
_CHARACTERS = 28
_GROUP = 4


class RecoveryCodeFault(Exception):
    """The text is no recovery code: wrong length, a character that none has, or a checksum that does not fit."""


def new_recovery_code() -> str:
    """Return a new code, for example of the form `AAAA-BBBB-...` with seven groups."""
    return recovery_code(os.urandom(_SECRET_BYTES))


def recovery_code(secret: bytes) -> str:
    """Return the code of 16 bytes."""
    number = int.from_bytes(secret, "big") << _CHECK_BITS | _check(secret)
    characters = [_ALPHABET[number >> 5 * place & 31] for place in reversed(range(_CHARACTERS))]
    groups = ("".join(characters[start : start + _GROUP]) for start in range(0, _CHARACTERS, _GROUP))
    return "-".join(groups)


def recovery_secret(code: str) -> bytes:
    """Return the 16 bytes of a code, however it is spaced and in upper or lower case. Raises RecoveryCodeFault."""
    plain = "".join(code.upper().split()).replace("-", "").translate(_MISREAD)
    if len(plain) != _CHARACTERS or any(character not in _ALPHABET for character in plain):
        raise RecoveryCodeFault
    number = 0
    for character in plain:
        number = number << 5 | _ALPHABET.index(character)
    secret = (number >> _CHECK_BITS).to_bytes(_SECRET_BYTES, "big")
    if number & (1 << _CHECK_BITS) - 1 != _check(secret):
        raise RecoveryCodeFault
    return secret


def _check(secret: bytes) -> int:
    return int.from_bytes(sha256(b"collum recovery" + secret).digest()[:2], "big") >> 4

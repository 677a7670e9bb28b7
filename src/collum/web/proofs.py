"""How a kept browser proves itself: it signs a number the server made a moment ago (S3 in docs/security.md).

The number carries its time and the server's own seal, so that any amount of them may be asked for and nothing is stored.
Only one that opened a session is remembered, until it is too old to be used again.
"""

import base64
import binascii
import hashlib
import hmac
import secrets
import time
from collections.abc import Callable
from dataclasses import dataclass, field
from threading import Lock

from cryptography.exceptions import InvalidSignature
from cryptography.hazmat.primitives.asymmetric import ec
from cryptography.hazmat.primitives.asymmetric.utils import encode_dss_signature
from cryptography.hazmat.primitives.hashes import SHA256

NONCE_LIFE_S = 60
MOST_USED = 4096
_RANDOM_BYTES = 16
_TIME_BYTES = 8
_SEAL_BYTES = 32
_POINT_BYTES = 65  # 0x04 and both coordinates
_NUMBER_BYTES = 32
_PURPOSE = "collum-kept-browser-1"


@dataclass(slots=True)
class Challenges:
    """Numbers of one server that is running. `clock_s` is monotonic. Safe to call from several threads."""

    clock_s: Callable[[], float] = time.monotonic
    instance: str = field(default_factory=lambda: secrets.token_urlsafe(_RANDOM_BYTES))
    _seal_key: bytes = field(default_factory=lambda: secrets.token_bytes(_SEAL_BYTES))
    _used: dict[str, int] = field(default_factory=dict)
    _lock: Lock = field(default_factory=Lock)

    def new(self) -> str:
        """Return a number that opens one session, within a minute."""
        body = secrets.token_bytes(_RANDOM_BYTES) + self._now_ms().to_bytes(_TIME_BYTES, "big")
        return _text_of(body + self._seal(body))

    def fresh(self, nonce: str) -> bool:
        """Return whether a number is of this server and young enough; whether it was used is for `take` to say."""
        made_ms = self._made_ms(nonce)
        return made_ms is not None and 0 <= self._now_ms() - made_ms <= NONCE_LIFE_S * 1000

    def take(self, nonce: str) -> bool:
        """Use a fresh number up; False where it was used before, or where too many were used within a minute."""
        if not self.fresh(nonce):
            return False
        with self._lock:
            oldest_ms = self._now_ms() - NONCE_LIFE_S * 1000
            self._used = {used: made_ms for used, made_ms in self._used.items() if made_ms >= oldest_ms}
            if nonce in self._used or len(self._used) >= MOST_USED:
                return False
            self._used[nonce] = self._made_ms(nonce) or 0
        return True

    def _made_ms(self, nonce: str) -> int | None:
        """Return when a number of this server was made, None for any other."""
        content = _bytes_of(nonce, _RANDOM_BYTES + _TIME_BYTES + _SEAL_BYTES)
        if content is None:
            return None
        body, seal = content[:-_SEAL_BYTES], content[-_SEAL_BYTES:]
        return int.from_bytes(body[_RANDOM_BYTES:], "big") if hmac.compare_digest(seal, self._seal(body)) else None

    def _seal(self, body: bytes) -> bytes:
        return hmac.digest(self._seal_key, body, hashlib.sha256)

    def _now_ms(self) -> int:
        return int(self.clock_s() * 1000)


def signed_text(nonce: str, instance: str, origin: str) -> bytes:
    """Return what a browser signs: the number, the server that made it, and the address the page itself was read from."""
    return "\n".join((_PURPOSE, nonce, instance, origin)).encode()


def is_public_key(public_key: str) -> bool:
    """Return whether a text is a point of the curve P-256 in base 64."""
    return _key_of(public_key) is not None


def signature_fits(public_key: str, text: bytes, signature: str) -> bool:
    """Return whether a signature of a text (r and s, base 64) was made with the private half of a key."""
    key, numbers = _key_of(public_key), _bytes_of(signature, 2 * _NUMBER_BYTES)
    if key is None or numbers is None:
        return False
    r, s = (int.from_bytes(half, "big") for half in (numbers[:_NUMBER_BYTES], numbers[_NUMBER_BYTES:]))
    try:
        key.verify(encode_dss_signature(r, s), text, ec.ECDSA(SHA256()))
    except InvalidSignature:
        return False
    return True


def _key_of(public_key: str) -> ec.EllipticCurvePublicKey | None:
    point = _bytes_of(public_key, _POINT_BYTES)
    if point is None:
        return None
    try:
        return ec.EllipticCurvePublicKey.from_encoded_point(ec.SECP256R1(), point)
    except ValueError:
        return None


def _text_of(content: bytes) -> str:
    return base64.urlsafe_b64encode(content).decode().rstrip("=")


def _bytes_of(text: str, length: int) -> bytes | None:
    """Return the bytes of a text in base 64 (of addresses, without padding), None where it is none of that length."""
    try:
        content = base64.b64decode(text.encode("ascii") + b"=" * (-len(text) % 4), altchars=b"-_", validate=True)
    except (ValueError, binascii.Error):
        return None
    return content if len(content) == length and _text_of(content) == text else None

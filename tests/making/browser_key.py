"""The key of a kept browser, as the page makes it: P-256, signatures as r and s side by side (IEEE P1363)."""

import base64
from dataclasses import dataclass, field

from cryptography.hazmat.primitives.asymmetric import ec
from cryptography.hazmat.primitives.asymmetric.utils import decode_dss_signature
from cryptography.hazmat.primitives.hashes import SHA256
from cryptography.hazmat.primitives.serialization import Encoding, PublicFormat


@dataclass(frozen=True)
class BrowserKey:
    private: ec.EllipticCurvePrivateKey = field(default_factory=lambda: ec.generate_private_key(ec.SECP256R1()))

    @property
    def public(self) -> str:
        return encoded(self.private.public_key().public_bytes(Encoding.X962, PublicFormat.UncompressedPoint))

    def signed(self, nonce: str, instance: str, origin: str) -> str:
        """Sign what a page at `origin` signs."""
        text = f"collum-kept-browser-1\n{nonce}\n{instance}\n{origin}"
        r, s = decode_dss_signature(self.private.sign(text.encode(), ec.ECDSA(SHA256())))
        return encoded(r.to_bytes(32, "big") + s.to_bytes(32, "big"))


def encoded(content: bytes) -> str:
    return base64.urlsafe_b64encode(content).decode().rstrip("=")

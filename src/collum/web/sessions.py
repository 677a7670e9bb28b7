"""One-time links and the session tokens they are swapped for (S3 in docs/security.md).

A cookie would be shared by all ports of this host, so none is ever used: a token is kept by the page and sent in a header.
"""

import hmac
import secrets
import time
from collections.abc import Callable
from dataclasses import dataclass, field
from threading import Lock

LINK_LIFE_S = 300
MOST_SESSIONS = 64
_LINK_BYTES = 16  # 128 bits
_TOKEN_BYTES = 32  # 256 bits


@dataclass(slots=True)
class Sessions:
    """Links and tokens of one server. `clock_s` is monotonic. Safe to call from several threads."""

    clock_s: Callable[[], float] = time.monotonic
    _links: dict[str, float] = field(default_factory=dict)
    _tokens: list[str] = field(default_factory=list)
    _lock: Lock = field(default_factory=Lock)

    def new_link(self) -> str:
        """Return a link secret of 128 bits that works once, for five minutes."""
        link = secrets.token_urlsafe(_LINK_BYTES)
        with self._lock:
            self._forget_expired()
            self._links[link] = self.clock_s() + LINK_LIFE_S
        return link

    def swap(self, link: str) -> str | None:
        """Return a session token of 256 bits for a link, or None where the link is used, expired or unknown."""
        with self._lock:
            self._forget_expired()
            found = [known for known in self._links if _same(known, link)]
            if not found:
                return None
            del self._links[found[0]]
            token = secrets.token_urlsafe(_TOKEN_BYTES)
            self._tokens = [*self._tokens, token][-MOST_SESSIONS:]
        return token

    def known(self, token: str) -> bool:
        """Return whether a token is one of ours, in a time that does not depend on how much of it is right."""
        return any([_same(known, token) for known in self._tokens])  # a list: every one is compared

    def _forget_expired(self) -> None:
        now = self.clock_s()
        self._links = {link: expires for link, expires in self._links.items() if expires >= now}


def _same(known: str, given: str) -> bool:
    return hmac.compare_digest(known.encode(), given.encode("utf-8", "surrogatepass"))

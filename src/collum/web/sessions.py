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
MOST_LINKS = 256
MOST_SESSIONS = 64
_LINK_BYTES = 16  # 128 bits
_TOKEN_BYTES = 32  # 256 bits


@dataclass(slots=True)
class Sessions:
    """Links and tokens of one server. `clock_s` is monotonic. Safe to call from several threads.

    A session of a kept browser ends when that browser is no longer kept, which `still_kept(browser_id)` says.
    """

    clock_s: Callable[[], float] = time.monotonic
    still_kept: Callable[[str], bool] = lambda _browser_id: True
    _links: dict[str, tuple[float, str | None]] = field(default_factory=dict)  # when it expires, and as the next
    _tokens: dict[str, str | None] = field(default_factory=dict)  # the id of the kept browser, if it is one
    _lock: Lock = field(default_factory=Lock)

    def new_link(self, browser_id: str | None = None) -> str:
        """Return a link secret of 128 bits that works once, for five minutes; for a kept browser, if it asks."""
        link = secrets.token_urlsafe(_LINK_BYTES)
        with self._lock:
            self._forget_expired()
            self._links[link] = (self.clock_s() + LINK_LIFE_S, browser_id)
            self._links = dict(list(self._links.items())[-MOST_LINKS:])
        return link

    def swap(self, link: str) -> str | None:
        """Return a session token of 256 bits for a link, or None where the link is used, expired or unknown."""
        with self._lock:
            self._forget_expired()
            found = [known for known in self._links if _same(known, link)]
            if not found:
                return None
            _expires, browser_id = self._links.pop(found[0])
            return self._new_token(browser_id)

    def open_for(self, browser_id: str) -> str:
        """Return a session token for a kept browser that has proved itself."""
        with self._lock:
            return self._new_token(browser_id)

    def bind(self, token: str, browser_id: str | None) -> None:
        """Let the session of a token be that of a kept browser, or no longer be it."""
        with self._lock:
            if token in self._tokens:
                self._tokens[token] = browser_id

    def browser_of(self, token: str) -> str | None:
        """Return the id of the kept browser a session belongs to."""
        return self._tokens.get(token)

    def known(self, token: str) -> bool:
        """Return whether a token is one of ours, in a time that does not depend on how much of it is right."""
        found = [browser_id for known, browser_id in list(self._tokens.items()) if _same(known, token)]
        return bool(found) and (found[0] is None or self.still_kept(found[0]))

    def _new_token(self, browser_id: str | None) -> str:
        token = secrets.token_urlsafe(_TOKEN_BYTES)
        self._tokens = dict([*self._tokens.items(), (token, browser_id)][-MOST_SESSIONS:])
        return token

    def _forget_expired(self) -> None:
        now = self.clock_s()
        self._links = {link: of for link, of in self._links.items() if of[0] >= now}


def _same(known: str, given: str) -> bool:
    return hmac.compare_digest(known.encode(), given.encode("utf-8", "surrogatepass"))

"""What stands before every route: host, origin, session, size, rate; and what every answer carries.

Attackers thought of: another web page in the same browser (S1, S2), another program or account on this machine (S3), a
hostile case file (S7). See docs/security.md.
"""

import hmac
import secrets
import time
from collections.abc import Callable
from dataclasses import dataclass, field

from starlette.types import ASGIApp, Message, Receive, Scope, Send

from collum.web.problems import Problem, answer, problem

SESSION_HEADER = "collum-session"
MOST_BODY_BYTES = 1_000_000
LINK_LIFE_S = 300
MOST_REQUESTS_PER_S = 20
_SAFE = ("GET", "HEAD")
_UNLIMITED = ("/api/v1/plan/verdict",)

HEADERS = {
    "content-security-policy": (
        "default-src 'none'; script-src 'self'; style-src 'self'; img-src 'self' blob:; font-src 'self'; connect-src 'self'; "
        "worker-src 'self'; frame-src blob:; frame-ancestors 'none'; base-uri 'none'; form-action 'none'"
    ),
    "cache-control": "no-store",
    "referrer-policy": "no-referrer",
    "x-content-type-options": "nosniff",
    "cross-origin-opener-policy": "same-origin",
    "cross-origin-resource-policy": "same-origin",
}


@dataclass(slots=True)
class Sessions:
    """One-time links and the session tokens they are swapped for. `clock_s` is monotonic."""

    clock_s: Callable[[], float] = time.monotonic
    _links: dict[str, float] = field(default_factory=dict)
    _tokens: list[str] = field(default_factory=list)

    def new_link(self) -> str:
        """Return a link secret of 128 bits that works once, for five minutes."""
        link = secrets.token_urlsafe(16)
        self._links[link] = self.clock_s() + LINK_LIFE_S
        return link

    def swap(self, link: str) -> str | None:
        """Return a session token of 256 bits for a link, or None where the link is used, expired or unknown."""
        now = self.clock_s()
        found = next((known for known in self._links if hmac.compare_digest(known, link)), None)
        expires = self._links.pop(found, None) if found is not None else None
        if expires is None or expires < now:
            return None
        token = secrets.token_urlsafe(32)
        self._tokens.append(token)
        return token

    def known(self, token: str) -> bool:
        """Return whether a token is one of ours, in a time that does not depend on how much of it is right."""
        return any([hmac.compare_digest(known.encode(), token.encode()) for known in self._tokens])


@dataclass(slots=True)
class Gate:
    """ASGI middleware: refuses what must not reach a route, before routing, in the one error shape."""

    app: ASGIApp
    sessions: Sessions
    allowed_hosts: frozenset[bytes]
    new_id: Callable[[], str]
    _recent: dict[str, list[float]] = field(default_factory=dict)

    async def __call__(self, scope: Scope, receive: Receive, send: Send) -> None:
        if scope["type"] != "http":
            await self.app(scope, receive, send)
            return

        started = False

        async def sending(message: Message) -> None:
            nonlocal started
            if message["type"] == "http.response.start":
                started = True
                kept = [(k, v) for k, v in message["headers"] if k.decode() not in HEADERS and k != b"server"]
                message["headers"] = kept + [(k.encode(), v.encode()) for k, v in HEADERS.items()]
            await send(message)

        try:
            self._check(scope)
            await self.app(scope, _Limited(receive).receive, sending)
        except Problem as refused:
            await answer(refused, self.new_id())(scope, receive, sending)
        except Exception:
            if not started:  # otherwise it has been logged and answered by its id
                raise

    def _check(self, scope: Scope) -> None:
        headers: list[tuple[bytes, bytes]] = scope["headers"]
        hosts = [v for k, v in headers if k == b"host"]
        if len(hosts) != 1 or hosts[0] not in self.allowed_hosts or not str(scope.get("path", "")).startswith("/"):
            raise problem("wrong_host", "host", "shape")
        given = {k.decode("latin-1"): v.decode("latin-1") for k, v in headers}
        site = given.get("sec-fetch-site", "same-origin")
        path = str(scope["path"])
        if site not in ("same-origin", "none") or (site == "none" and path.startswith("/api/")):
            raise problem("forbidden", "origin", "shape")
        unsafe = scope["method"] not in _SAFE
        if unsafe:
            self._check_unsafe(given, hosts[0].decode())
        if path.startswith("/api/") and path != "/api/v1/session":
            token = given.get(SESSION_HEADER, "")
            if not self.sessions.known(token):
                raise problem("no_session", "no_session", "session")
            if path not in _UNLIMITED:
                self._check_rate(token)

    def _check_unsafe(self, given: dict[str, str], host: str) -> None:
        if given.get("origin") != f"http://{host}":
            raise problem("forbidden", "origin", "shape")
        if given.get("content-type", "").split(";")[0].strip().lower() != "application/json":
            raise problem("unsupported_media_type", "media", "media")
        length = given.get("content-length", "0")
        if not length.isdigit() or int(length) > MOST_BODY_BYTES:
            raise problem("too_large", "large", "bytes", most=MOST_BODY_BYTES)

    def _check_rate(self, token: str) -> None:
        now = self.sessions.clock_s()
        recent = [at for at in self._recent.get(token, []) if now - at < 1]
        if len(recent) >= MOST_REQUESTS_PER_S:
            raise problem("too_many_requests", "rate", "rate", most=MOST_REQUESTS_PER_S)
        self._recent[token] = [*recent, now]


@dataclass(slots=True)
class _Limited:
    """Counts the bytes of a body that did not say its length."""

    inner: Receive
    seen: int = 0

    async def receive(self) -> Message:
        message = await self.inner()
        self.seen += len(message.get("body", b""))
        if self.seen > MOST_BODY_BYTES:
            raise problem("too_large", "large", "bytes", most=MOST_BODY_BYTES)
        return message


def hosts_of(port: int) -> frozenset[bytes]:
    """Return the host names this server answers to."""
    return frozenset(f"{name}:{port}".encode() for name in ("127.0.0.1", "localhost", "[::1]"))

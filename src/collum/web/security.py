"""Checks before every route (host, origin, session, size, rate) and the headers of every answer.

Attackers thought of: another web page in the same browser (S1, S2), another program or account on this machine (S3), a
hostile case file (S7), a loop that asks without end (S15). See docs/security.md.
"""

from collections import Counter, deque
from collections.abc import Callable, Mapping
from dataclasses import dataclass, field

from starlette.types import ASGIApp, Message, Receive, Scope, Send

from collum.app.plans.typesetter import PaperNotMade
from collum.web.bodies import FILE_TYPE, JSON_TYPE, MOST_BODY_BYTES, most_streamed_bytes, whole_body
from collum.web.problems import Problem, answer, problem
from collum.web.sessions import MOST_SESSIONS, Sessions

SESSION_HEADER = "collum-session"
MOST_REQUESTS_PER_S = 20
MOST_HEAD_BYTES = 16_384
_API = "/api/"
# What leads to a session is asked for without one.
_WITHOUT_SESSION = ("/api/v1/session", "/api/v1/session/challenge", "/api/v1/session/proof")
_UNLIMITED = ("/api/v1/plan/verdict",)
_SAFE = ("GET", "HEAD")
# Headers a decision rests on: sent twice, one reader might believe the first and another the last.
_ONCE = ("origin", "content-type", "content-length", "sec-fetch-site", "sec-fetch-mode", "sec-fetch-dest", SESSION_HEADER)

HEADERS: Mapping[str, str] = {
    "content-security-policy": (
        "default-src 'none'; script-src 'self'; style-src 'self'; img-src 'self' blob:; font-src 'self'; connect-src 'self'; "
        "worker-src 'self'; frame-ancestors 'none'; base-uri 'none'; form-action 'none'; require-trusted-types-for 'script'; "
        "trusted-types svelte-trusted-html"
    ),
    "cache-control": "no-store",
    "referrer-policy": "no-referrer",
    "x-content-type-options": "nosniff",
    "cross-origin-opener-policy": "same-origin",
    "cross-origin-resource-policy": "same-origin",
}


def hosts_of(port: int) -> frozenset[bytes]:
    """Return the host names this server answers to; compared byte by byte, so that no spelling slips through."""
    return frozenset(f"{name}:{port}".encode() for name in ("127.0.0.1", "localhost", "[::1]"))


@dataclass(slots=True)
class Gate:
    """ASGI middleware: refuses what must not reach a route, before routing, and answers for crashes, in the one error shape."""

    app: ASGIApp
    sessions: Sessions
    allowed_hosts: frozenset[bytes]
    new_id: Callable[[], str]
    log_crash: Callable[[str, Exception], None]
    _recent: dict[str, deque[float]] = field(default_factory=dict)

    async def __call__(self, scope: Scope, receive: Receive, send: Send) -> None:
        if scope["type"] != "http":
            return
        sender = _Sender(send)
        try:
            self._check(scope)
            if scope["method"] not in _SAFE and most_streamed_bytes(scope["method"], scope["path"]) is None:
                receive = await whole_body(receive)
            await self.app(scope, receive, sender.send)
        except Problem as refused:
            await answer(refused, self.new_id())(scope, receive, sender.send)
        except Exception as error:  # the last one to catch it: an id for the reader, the places for the log
            error_id = self.new_id()
            self.log_crash(error_id, error)
            if not sender.started:
                await answer(_crashed(error), error_id)(scope, receive, sender.send)

    def _check(self, scope: Scope) -> None:
        if _head_bytes(scope) > MOST_HEAD_BYTES:
            raise problem("malformed", "malformed", "http")
        host, given = _headers(scope)
        path = str(scope["path"])
        if host not in self.allowed_hosts or not path.startswith("/"):
            raise problem("wrong_host", "host", "host")
        counts = Counter(name for name, _ in scope["headers"])
        if any(counts[name.encode()] > 1 for name in _ONCE):
            raise problem("forbidden", "doubled", "once")
        if not _from_our_page(given, scope["method"], path):
            raise problem("forbidden", "origin", "origin")
        if scope["method"] not in _SAFE:
            _check_unsafe(given, host.decode(), streamed=most_streamed_bytes(scope["method"], path))
        if path.startswith(_API) and path not in _WITHOUT_SESSION:
            self._check_session(given.get(SESSION_HEADER, ""), path)

    def _check_session(self, token: str, path: str) -> None:
        if not self.sessions.known(token):
            raise problem("no_session", "no_session", "session")
        if path in _UNLIMITED:
            return
        now = self.sessions.clock_s()
        if len(self._recent) > MOST_SESSIONS:
            self._recent = {known: times for known, times in self._recent.items() if self.sessions.known(known)}
        recent = self._recent.setdefault(token, deque(maxlen=MOST_REQUESTS_PER_S))
        if len(recent) == MOST_REQUESTS_PER_S and now - recent[0] < 1:
            raise problem("too_many_requests", "rate", "rate", most=MOST_REQUESTS_PER_S)
        recent.append(now)


def _crashed(error: Exception) -> Problem:
    what = "paper_not_made" if isinstance(error, PaperNotMade) else "internal"
    return problem("internal", what, "report")


@dataclass(slots=True)
class InUse:
    """ASGI middleware behind the gate: a request of a session says that the record is in use."""

    app: ASGIApp
    touched: Callable[[], None]

    async def __call__(self, scope: Scope, receive: Receive, send: Send) -> None:
        if str(scope["path"]).startswith(_API) and scope["path"] not in _WITHOUT_SESSION:
            self.touched()
        await self.app(scope, receive, send)


@dataclass(slots=True)
class _Sender:
    """Adds our headers to an answer and notes that it has begun."""

    inner: Send
    started: bool = False

    async def send(self, message: Message) -> None:
        if message["type"] == "http.response.start":
            self.started = True
            kept = [(name, value) for name, value in message["headers"] if name.decode("latin-1").lower() not in HEADERS]
            message["headers"] = kept + [(name.encode(), value.encode()) for name, value in HEADERS.items()]
        await self.inner(message)


def _head_bytes(scope: Scope) -> int:
    headers = sum(len(name) + len(value) for name, value in scope["headers"])
    return headers + len(scope.get("raw_path") or b"") + len(scope["query_string"])


def _headers(scope: Scope) -> tuple[bytes, Mapping[str, str]]:
    """Return the one host (empty where there is none or more than one) and the headers by lower-case name."""
    headers: list[tuple[bytes, bytes]] = scope["headers"]
    hosts = [value for name, value in headers if name == b"host"]
    given = {name.decode("latin-1"): value.decode("latin-1") for name, value in headers}
    return hosts[0] if len(hosts) == 1 else b"", given


def _from_our_page(given: Mapping[str, str], method: str, path: str) -> bool:
    """Return whether what the browser says of the sender fits: our own page, or somebody who opens the shell.

    The file that leads a browser on to a fresh link is another site to it, so the shell may be opened from anywhere, as a
    page of its own: it holds no data and cannot be framed.
    """
    site = given.get("sec-fetch-site", "same-origin")
    if site == "same-origin":
        return True
    if site == "none":
        return not path.startswith(_API)
    opened = given.get("sec-fetch-mode") == "navigate" and given.get("sec-fetch-dest") == "document"
    return opened and method == "GET" and path == "/"


def _check_unsafe(given: Mapping[str, str], host: str, *, streamed: int | None) -> None:
    if given.get("origin") != f"http://{host}" or SESSION_HEADER not in given:
        raise problem("forbidden", "origin", "origin")
    wanted, most = (JSON_TYPE, MOST_BODY_BYTES) if streamed is None else (FILE_TYPE, streamed)
    if given.get("content-type", "").split(";")[0].strip().lower() != wanted:
        kind = "media" if streamed is None else "media_of_file"
        raise problem("unsupported_media_type", kind, kind)
    length = given.get("content-length", "0")
    if not (length.isascii() and length.isdigit()) or int(length) > most:
        raise problem("too_large", "large", "bytes", most=most)

"""Bodies of requests: read whole within a size and a time, and parsed strictly, before any route sees them.

Strictly: JSON of limited depth and size, no key twice, no NaN or infinity (S7 in docs/security.md). A body that is no JSON, a
scan, a backup or an archive, goes unread into a file; one that is kept with a case goes to what seals it.
"""

import asyncio
import re
import tempfile
from collections.abc import AsyncIterator, Callable, Coroutine
from contextlib import asynccontextmanager, suppress
from typing import IO, Any, BinaryIO, cast

from fastapi import Request, Response
from fastapi.routing import APIRoute
from starlette.requests import ClientDisconnect
from starlette.types import Message, Receive

from collum.app.cases.attachments import MOST_ATTACHMENT_BYTES
from collum.app.speaking import on_page
from collum.case import CaseFaults, parse
from collum.readers import MOST_BYTES
from collum.records.bounded_zip import MOST_ARCHIVE_BYTES
from collum.web.problems import ErrorItem, Problem, problem

MOST_BODY_BYTES = 1_000_000
BODY_WITHIN_S = 10.0
SCAN_WITHIN_S = 60.0
MOST_BACKUP_BYTES = 20_000_000_000
BACKUP_WITHIN_S = 1800.0
ATTACHMENT_WITHIN_S = 600.0
_LOOP_ANSWERS_S = 60.0  # were the loop gone, a thread would wait for it in vain
MOST_STREAMED_BYTES = {
    "/api/v1/preparation": MOST_BYTES,
    "/api/v1/restore/file": MOST_BACKUP_BYTES,
    "/api/v1/cases/import": MOST_ARCHIVE_BYTES,
}
_ATTACHING = re.compile(r"/api/v1/cases/[^/]+/attachments")
JSON_TYPE, FILE_TYPE = "application/json", "application/octet-stream"
_WITH_BODY = ("POST", "PUT")
_WHOLE_DOCUMENT = "file"  # what the reader of case files calls the whole of what it reads


async def whole_body(receive: Receive, *, within_s: float = BODY_WITHIN_S) -> Receive:
    """Return a channel that gives the body in one message. Raises Problem where it is too large or comes too slowly."""
    parts: list[bytes] = []
    size = 0
    more = True
    try:
        async with asyncio.timeout(within_s):
            while more:
                message = await receive()
                parts.append(message.get("body", b""))
                size += len(parts[-1])
                if size > MOST_BODY_BYTES:
                    raise problem("too_large", "large", "bytes", most=MOST_BODY_BYTES)
                more = bool(message.get("more_body", False))
    except TimeoutError:
        raise problem("too_slow", "slow", "within", seconds=round(within_s)) from None
    waiting: list[Message] = [{"type": "http.request", "body": b"".join(parts), "more_body": False}]

    async def replay() -> Message:
        return waiting.pop() if waiting else await receive()

    return replay


def most_streamed_bytes(method: str, path: str) -> int | None:
    """Return how large the body of a request may be that is no JSON but the bytes of a file; None of every other request."""
    if method != "POST":
        return None
    return MOST_ATTACHMENT_BYTES if _ATTACHING.fullmatch(path) else MOST_STREAMED_BYTES.get(path)


@asynccontextmanager
async def scan_of(request: Request, *, within_s: float = SCAN_WITHIN_S) -> AsyncIterator[IO[bytes]]:
    """Give the body as a file of ours without a name, open at its begin. Raises Problem as `whole_body`, of a scan's size."""
    with tempfile.TemporaryFile() as file:
        await stream_into(file, request, most_bytes=MOST_BYTES, within_s=within_s)
        file.seek(0)
        yield file


class _Pulled:
    """The body of a request, read from a thread as fast as that reads it; nothing of it is held or written here."""

    def __init__(self, request: Request, stall_s: float, within_s: float) -> None:
        self._loop = asyncio.get_running_loop()
        self._parts = request.stream()
        self._stall_s = stall_s
        self._end_s = self._loop.time() + within_s
        self._held = b""
        self.size = 0
        self.cut: Problem | None = None

    def read(self, size: int) -> bytes:
        """Return the next bytes, none at the end. Raises Problem where no more come, or not in time."""
        if not self._held:
            asked = asyncio.run_coroutine_threadsafe(self.next(), self._loop)
            self._held = asked.result(self._stall_s + _LOOP_ANSWERS_S)
        part, self._held = self._held[:size], self._held[size:]
        return part

    async def next(self) -> bytes:
        if self.cut is not None:
            raise self.cut
        try:
            async with asyncio.timeout_at(min(self._loop.time() + self._stall_s, self._end_s)):
                async for part in self._parts:
                    self.size += len(part)
                    if part:
                        return part
                return b""
        except (TimeoutError, ClientDisconnect):
            self.cut = problem("too_slow", "slow", "progress", seconds=round(self._stall_s))
            raise self.cut from None


@asynccontextmanager
async def pulled(
    request: Request, *, stall_s: float = BODY_WITHIN_S, within_s: float = ATTACHMENT_WITHIN_S
) -> AsyncIterator[BinaryIO]:
    """Give the body as a source for another thread; `stall_s` without a byte, or `within_s` in all, end it with Problem.

    What is left of it when it is refused is read and dropped, for a browser listens only once it has sent everything.
    """
    body = _Pulled(request, stall_s, within_s)
    try:
        yield cast(BinaryIO, body)
    except asyncio.CancelledError:
        body.cut = problem("too_slow", "slow", "progress", seconds=round(stall_s))
        raise
    except Exception:
        with suppress(Problem):
            while body.cut is None and body.size <= MOST_ATTACHMENT_BYTES and await body.next():
                pass
        raise


async def stream_into(file: IO[bytes], request: Request, *, most_bytes: int, within_s: float) -> None:
    """Write the body of a request into a file. Raises Problem where it is too large, comes too slowly or ends half-way."""
    size = 0
    try:
        async with asyncio.timeout(within_s):
            async for part in request.stream():
                size += len(part)
                if size > most_bytes:
                    raise problem("too_large", "large", "bytes", most=most_bytes)
                file.write(part)  # a part is what came over the wire at once; it goes to the memory of the system
    except (TimeoutError, ClientDisconnect):
        raise problem("too_slow", "slow", "within", seconds=round(within_s)) from None


class KnownRoute(APIRoute):
    """A route that knows every key of its query."""

    def get_route_handler(self) -> Callable[[Request], Coroutine[Any, Any, Response]]:
        handle = super().get_route_handler()
        known = {parameter.alias for parameter in self.dependant.query_params}

        async def knowing(request: Request) -> Response:
            unknown = sorted(set(request.query_params) - known)
            if unknown:
                raise problem("faulty_input", "unknown_key", "shape", where=f"query.{unknown[0][:40]}")
            return await handle(request)

        return knowing


class StrictRoute(KnownRoute):
    """A route that also parses its body as case files are parsed."""

    def get_route_handler(self) -> Callable[[Request], Coroutine[Any, Any, Response]]:
        handle = super().get_route_handler()

        async def strict(request: Request) -> Response:
            if request.method in _WITH_BODY:
                request = _Parsed(request, await request.body())
            return await handle(request)

        return strict


class _Parsed(Request):
    """A request whose body was read and parsed."""

    def __init__(self, request: Request, body: bytes) -> None:
        super().__init__(request.scope, request.receive)
        self._content = body
        self._document = _parsed(body)

    async def body(self) -> bytes:
        return self._content

    async def json(self) -> Any:
        return self._document


def _parsed(body: bytes) -> object:
    try:
        return parse(body, kind="json")
    except CaseFaults as found:
        raise Problem("faulty_input", [_of_request(on_page(fault)) for fault in found.faults]) from None


def _of_request(fault: ErrorItem) -> ErrorItem:
    return {**fault, "where": "request"} if fault["where"] == _WHOLE_DOCUMENT else fault

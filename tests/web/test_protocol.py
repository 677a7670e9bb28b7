"""Requests as bytes: whatever comes in, the answer has the one shape, and nobody who dawdles is waited for."""

import asyncio
import http.client
import json
import select
import socket
from contextlib import closing, suppress
from typing import Any

import pytest
from starlette.types import Message

from collum.web.bodies import MOST_BODY_BYTES, whole_body
from collum.web.problems import Problem
from collum.web.protocol import PatientProtocol
from collum.web.server import listen
from tests.web.conftest import Served

GET = "GET / HTTP/1.1\r\n"
LONG_S = 60  # for what comes at once, also on a busy machine
SOON_S = 0.5  # for what never comes
OURS = "Host: 127.0.0.1:{port}\r\n"


def exchanged(served: Served, request: bytes) -> tuple[int, dict[str, str], bytes]:
    """Send bytes as they stand and return status, headers and body."""
    with socket.create_connection(("127.0.0.1", served.port), timeout=LONG_S) as connection:
        connection.sendall(request)
        connection.shutdown(socket.SHUT_WR)
        answer = b""
        while part := connection.recv(65536):
            answer += part
    head, _, body = answer.partition(b"\r\n\r\n")
    first, *lines = head.decode().split("\r\n")
    return int(first.split(" ")[1]), {k.lower(): v for k, v in (line.split(": ", 1) for line in lines)}, body


@pytest.mark.parametrize(
    ("head", "status"),
    [
        (GET + "Host: evil.example\r\n", 421),
        (GET + "Host: evil.example:{port}\r\n", 421),
        (GET + "Host: 127.0.0.1\r\n", 421),
        (GET + "Host: 127.0.0.1.:{port}\r\n", 421),
        (GET + "Host: LOCALHOST:{port}\r\n", 421),
        (GET + "Host: 127.0.0.1:{port}@evil.example\r\n", 421),
        (GET + "Host: 0.0.0.0:{port}\r\n", 421),
        (GET + "Host: 127.1:{port}\r\n", 421),
        (GET + "Host: \r\n", 421),
        ("GET http://evil.example/ HTTP/1.1\r\n" + OURS, 421),
        ("GET http://127.0.0.1:{port}/ HTTP/1.1\r\n" + OURS, 421),
        ("OPTIONS * HTTP/1.1\r\n" + OURS, 421),
        ("GET / HTTP/1.0\r\n", 421),
        (GET, 400),
        (GET + OURS + "Host: evil.example\r\n", 400),
        (GET + OURS + OURS, 400),
    ],
)
def test_s1_a_wrong_host_is_refused_in_the_one_shape(served: Served, head: str, status: int) -> None:
    request = f"{head.format(port=served.port)}Connection: close\r\n\r\n"
    found, headers, body = exchanged(served, request.encode())
    assert found == status
    _is_problem(headers, body, status)


@pytest.mark.parametrize(
    "request_",
    [
        b"\x16\x03\x01\x02\x00\x01\x00\x01\xfc\x03\x03",
        b"SSH-2.0-x\r\n\r\n",
        b"GET /\x00 HTTP/1.1\r\nHost: x\r\n\r\n",
        b"GET / HTTP/1.1\r\nHost: x\r\nbad header\r\n\r\n",
        b"POST / HTTP/1.1\r\nHost: x\r\nContent-Length: -1\r\n\r\n",
        b"POST / HTTP/1.1\r\nHost: x\r\nContent-Length: 1\r\nContent-Length: 2\r\n\r\n",
        b"POST / HTTP/1.1\r\nHost: x\r\nContent-Length: 99999999999999999999999\r\n\r\n",
        b"GET / HTTP/1.1\r\nHost: x\r\nx: " + b"y" * 70_000 + b"\r\n\r\n",
    ],
    ids=["tls", "ssh", "nul", "no colon", "negative", "two lengths", "huge length", "large head"],
)
def test_s15_what_is_no_request_is_refused_in_the_one_shape(served: Served, request_: bytes) -> None:
    _, headers, body = exchanged(served, request_)
    _is_problem(headers, body, 400)


@pytest.mark.parametrize("name", ["Origin", "Content-Type", "Collum-Session", "Sec-Fetch-Site"])
def test_s2_a_deciding_header_sent_twice_is_refused(served: Served, name: str) -> None:
    given = {
        "Origin": served.origin,
        "Content-Type": "application/json",
        "Collum-Session": served.token,
        "Sec-Fetch-Site": "same-origin",
    }
    lines = [f"{key}: {value}\r\n" for key, value in given.items()]
    start = f"POST /api/v1/plan/verdict HTTP/1.1\r\n{OURS.format(port=served.port)}Connection: close\r\nContent-Length: 2\r\n"
    once, _, _ = exchanged(served, f"{start}{''.join(lines)}\r\n{{}}".encode())
    assert once == 422
    status, headers, body = exchanged(served, f"{start}{''.join(lines)}{name}: {given[name]}\r\n\r\n{{}}".encode())
    assert status == 403
    _is_problem(headers, body, 403)


def test_s2_our_header_is_wanted_even_where_no_token_is(served: Served) -> None:
    body = b'{"link": "none"}'
    start = f"POST /api/v1/session HTTP/1.1\r\n{OURS.format(port=served.port)}Connection: close\r\nOrigin: {served.origin}\r\n"
    start += f"Content-Type: application/json\r\nContent-Length: {len(body)}\r\n"
    assert exchanged(served, f"{start}\r\n".encode() + body)[0] == 403
    assert exchanged(served, f"{start}Collum-Session:\r\n\r\n".encode() + body)[0] == 401


def test_s7_a_body_that_says_it_is_too_large_is_refused_before_it_comes(served: Served) -> None:
    given = f"Origin: {served.origin}\r\nContent-Type: application/json\r\nCollum-Session: {served.token}\r\n"
    start = f"POST /api/v1/plan HTTP/1.1\r\n{OURS.format(port=served.port)}{given}Content-Length: {MOST_BODY_BYTES + 1}\r\n\r\n"
    with socket.create_connection(("127.0.0.1", served.port), timeout=LONG_S) as connection:
        connection.sendall(start.encode())
        assert connection.recv(100).startswith(b"HTTP/1.1 413 ")


@pytest.mark.parametrize("before", ["", "/nowhere"], ids=["first request", "later request"])
def test_s15_a_head_that_never_ends_is_let_go(served: Served, before: str, monkeypatch: pytest.MonkeyPatch) -> None:
    if not before:
        monkeypatch.setattr(PatientProtocol, "head_within_s", SOON_S)
    client = http.client.HTTPConnection("127.0.0.1", served.port, timeout=LONG_S)
    client.connect()
    if before:
        client.request("GET", before)
        assert client.getresponse().read()
        monkeypatch.setattr(PatientProtocol, "head_within_s", SOON_S)  # only now: nothing presses the whole request
    with closing(client), suppress(ConnectionError):  # the server may have closed before the half of a head comes
        client.sock.sendall(b"GET / HTTP/1.1\r\nx: 1\r\n")
        assert client.sock.recv(65536) == b""  # without an answer


def test_s15_a_body_that_never_ends_is_let_go() -> None:
    async def silent() -> Message:
        await asyncio.sleep(60)
        return {}

    with pytest.raises(Problem) as refused:
        asyncio.run(whole_body(silent, within_s=0.05))
    assert refused.value.code == "too_slow"


def test_s7_a_body_is_given_whole_and_never_over_its_size() -> None:
    async def of(parts: list[bytes]) -> bytes:
        waiting = [{"type": "http.request", "body": part, "more_body": True} for part in parts]
        waiting[-1]["more_body"] = False

        async def receive() -> Message:
            return waiting.pop(0)

        return bytes((await (await whole_body(receive))())["body"])

    assert asyncio.run(of([b"ab", b"", b"c"])) == b"abc"
    assert len(asyncio.run(of([b"x" * (MOST_BODY_BYTES - 1), b"y"]))) == MOST_BODY_BYTES
    with pytest.raises(Problem) as refused:
        asyncio.run(of([b"x" * MOST_BODY_BYTES, b"y"]))
    assert refused.value.code == "too_large"


def test_s15_connections_are_counted(served: Served, monkeypatch: pytest.MonkeyPatch) -> None:
    monkeypatch.setattr(PatientProtocol, "most_connections", 8)
    held = [socket.create_connection(("127.0.0.1", served.port), timeout=LONG_S) for _ in range(12)]
    try:
        closed, _, _ = select.select(held, [], [], LONG_S)  # the server says nothing to who says nothing: it can only close
        assert closed
    finally:
        for connection in held:
            connection.close()


def test_s15_who_dawdles_shuts_nobody_out(served: Served, monkeypatch: pytest.MonkeyPatch) -> None:
    """Of twice as many as are taken, each with half a request, the longest idle give way, and a whole request is answered."""
    monkeypatch.setattr(PatientProtocol, "most_connections", 8)
    held = [socket.create_connection(("127.0.0.1", served.port), timeout=LONG_S) for _ in range(16)]
    try:
        for connection in held:
            with suppress(OSError):  # those that had to give way already
                connection.sendall(b"GET / HTTP/1.1\r\n")
        with socket.create_connection(("127.0.0.1", served.port), timeout=LONG_S) as asking:
            asking.sendall(f"GET /nowhere HTTP/1.1\r\n{OURS.format(port=served.port)}\r\n".encode())
            assert asking.recv(100).startswith(b"HTTP/1.1 404 ")
        closed, _, _ = select.select(held[:1], [], [], LONG_S)
        assert closed
    finally:
        for connection in held:
            connection.close()


def test_answers_do_not_wait_for_an_acknowledgement() -> None:
    """The event loop sends at once only on sockets that say they are TCP; else each answer takes 40 ms more."""

    async def without_delay() -> int:
        told: asyncio.Future[int] = asyncio.get_running_loop().create_future()

        class Telling(asyncio.Protocol):
            def connection_made(self, transport: asyncio.BaseTransport) -> None:
                taken = transport.get_extra_info("socket")
                told.set_result(taken.getsockopt(socket.IPPROTO_TCP, socket.TCP_NODELAY))
                transport.close()

        with listen(0) as listening:
            server = await asyncio.get_running_loop().create_server(Telling, sock=listening)
            async with server:
                await asyncio.open_connection("127.0.0.1", listening.getsockname()[1])
                return await told

    assert asyncio.run(without_delay())


def _is_problem(headers: dict[str, str], body: bytes, status: int) -> None:
    found: dict[str, Any] = json.loads(body)
    assert headers["content-type"].startswith("application/problem+json")
    assert headers["cache-control"] == "no-store" and "default-src 'none'" in headers["content-security-policy"]
    assert set(found) == {"type", "title", "status", "errors", "id"}
    assert found["status"] == status
    assert found["id"]

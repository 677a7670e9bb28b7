"""What stands before the routes (docs/security.md, S1 to S6 and S15)."""

import socket
from collections.abc import Iterator
from pathlib import Path

import httpx
import pytest

from collum.web.bodies import MOST_BODY_BYTES
from collum.web.security import MOST_REQUESTS_PER_S
from collum.web.sessions import LINK_LIFE_S, Sessions
from tests.web.conftest import Served
from tests.web.making import refused


def raw(served: Served, request: str) -> tuple[int, str]:
    """Send bytes as they stand and return status and the whole answer."""
    with socket.create_connection(("127.0.0.1", served.port), timeout=60) as connection:
        connection.sendall(request.encode())
        answer = b""
        while part := connection.recv(65536):
            answer += part
    text = answer.decode("utf-8", "replace")
    return int(text.split(" ", 2)[1]), text


def test_s1_our_own_names_are_served(served: Served) -> None:
    for host in ("127.0.0.1", "localhost", "[::1]"):
        status, _ = raw(served, f"GET / HTTP/1.1\r\nHost: {host}:{served.port}\r\nConnection: close\r\n\r\n")
        assert status == 200


def test_s2_no_answer_opens_itself_to_other_origins(served: Served) -> None:
    answer = served.api("GET", "/cases", Origin="http://evil.example")
    assert not [name for name in answer.headers if name.startswith("access-control")]


@pytest.mark.parametrize(
    "headers",
    [{"Origin": "http://evil.example"}, {"Origin": "null"}, {"Sec-Fetch-Site": "cross-site"}, {"Sec-Fetch-Site": "same-site"}],
)
def test_s2_an_unsafe_request_from_elsewhere_is_refused(served: Served, headers: dict[str, str]) -> None:
    answer = served.api("POST", "/cases", {"document": {}}, **headers)
    refused(answer, 403)


def test_s2_an_unsafe_request_without_origin_is_refused(served: Served) -> None:
    answer = served.client.post("/api/v1/cases", json={"document": {}}, headers={"Collum-Session": served.token})
    refused(answer, 403)


@pytest.mark.parametrize("media", ["text/plain", "application/x-www-form-urlencoded", "multipart/form-data; boundary=x", ""])
def test_s2_only_json_is_taken(served: Served, media: str) -> None:
    answer = served.api("POST", "/plan", {"document": {}}, **{"Content-Type": media})
    refused(answer, 415)


def test_s3_without_a_token_there_is_only_the_shell(served: Served) -> None:
    assert served.client.get("/").status_code == 200
    for headers in ({}, {"Cookie": f"collum-session={served.token}"}, {"Collum-Session": "x" * 43}):
        answer = served.client.get("/api/v1/cases", headers=headers)
        refused(answer, 401)
    assert served.client.get(f"/api/v1/cases?Collum-Session={served.token}").status_code == 401


def test_s3_a_link_works_once(served: Served) -> None:
    secret = served.link().split("#link=")[1]
    answers = [
        served.client.post("/api/v1/session", json={"link": secret}, headers={"Collum-Session": "", "Origin": served.origin})
        for _ in range(2)
    ]
    assert [a.status_code for a in answers] == [200, 401]
    assert len(answers[0].json()["token"]) >= 43  # 256 bits


def test_s3_a_link_expires() -> None:
    now = [0.0]
    sessions = Sessions(clock_s=lambda: now[0])
    early, late = sessions.new_link(), sessions.new_link()
    now[0] = LINK_LIFE_S
    token = sessions.swap(early)
    assert token is not None and sessions.known(token)
    now[0] = LINK_LIFE_S + 0.01
    assert sessions.swap(late) is None
    assert not sessions.known("")


def test_s3_no_secret_stands_in_the_log(served: Served) -> None:
    written = "".join(p.read_text() for p in Path(served.data).rglob("*.jsonl"))
    assert served.token not in written


def test_s4_the_process_listens_on_loopback_only() -> None:
    listening = set()
    for table in ("tcp", "tcp6"):
        for line in Path(f"/proc/self/net/{table}").read_text().splitlines()[1:]:
            fields = line.split()
            if fields[3] == "0A" and fields[9] in _own_inodes():
                listening.add(fields[1].split(":")[0])
    assert listening <= {"0100007F", "00000000000000000000000001000000"}
    assert listening


def test_s5_s6_every_answer_carries_its_headers(served: Served) -> None:
    for answer in (
        served.client.get("/"),
        served.client.get("/nowhere"),
        served.api("GET", "/cases"),
        served.client.get("/api/v1/cases"),
        served.client.get("/", headers={"Host": "evil.example"}),
    ):
        policy = answer.headers["content-security-policy"]
        assert "default-src 'none'" in policy and "unsafe" not in policy and "frame-ancestors 'none'" in policy
        assert answer.headers["cache-control"] == "no-store"
        assert answer.headers["referrer-policy"] == "no-referrer"
        assert answer.headers["x-content-type-options"] == "nosniff"
        assert answer.headers["cross-origin-opener-policy"] == "same-origin"
        assert answer.headers["cross-origin-resource-policy"] == "same-origin"
        assert "server" not in answer.headers


def test_s6_the_framework_shows_no_pages_of_its_own(served: Served) -> None:
    for path in ("/docs", "/redoc", "/openapi.json", "/api/v1/docs"):
        assert served.client.get(path).status_code in (401, 404)


def test_s7_a_body_too_large_is_refused_unread(served: Served) -> None:
    huge = "x" * (MOST_BODY_BYTES + 10)
    answer = served.api("POST", "/plan", {"document": {"note": huge}, "generation": 1})
    refused(answer, 413)


def test_s7_a_body_that_hides_its_length_is_cut_off(served: Served) -> None:
    def parts() -> Iterator[bytes]:
        for _ in range(3):
            yield b"x" * (MOST_BODY_BYTES // 2)

    headers = {"Collum-Session": served.token, "Origin": served.origin, "Content-Type": "application/json"}
    try:
        answer = served.client.post("/api/v1/plan", content=parts(), headers=headers)
    except httpx.TransportError:
        return  # closed while we were still sending
    assert answer.status_code == 413


@pytest.mark.parametrize(
    "path", ["/assets/..%2f..%2fserver.py", "/assets/../index.html", "/assets/.", "/static/", "//etc/passwd"]
)
def test_s8_no_path_leads_out_of_the_shell(served: Served, path: str) -> None:
    status, text = raw(served, f"GET {path} HTTP/1.1\r\nHost: 127.0.0.1:{served.port}\r\nConnection: close\r\n\r\n")
    assert status == 404
    assert "root:" not in text and "import" not in text


def test_s15_a_flood_is_held_off_and_verdicts_are_not(served: Served) -> None:
    token = served.new_token()
    answers = [served.api("GET", "/about", **{"Collum-Session": token}).status_code for _ in range(MOST_REQUESTS_PER_S + 10)]
    assert 429 in answers
    assert served.api("POST", "/plan/verdict", {}, **{"Collum-Session": token}).status_code == 422


def _own_inodes() -> set[str]:
    found = set()
    for link in Path("/proc/self/fd").iterdir():
        try:
            target = str(link.readlink())
        except OSError:
            continue
        if target.startswith("socket:["):
            found.add(target[8:-1])
    return found

"""Nothing that was typed about a patient, and no passphrase, reaches the disk in a form that can be read.

Strings that occur nowhere else are put into every free text of a case and into the passphrase. The program may open files for
writing in its folder alone; everything it left there, while it ran and after it, is searched for them, in six encodings,
decoded, and inflated from every offset at which a compressed stream could begin.
"""

import base64
import http.client
import json
import os
import re
import shutil
import signal
import subprocess
import sys
import urllib.error
import urllib.parse
import urllib.request
import zlib
from collections.abc import Iterator
from contextlib import suppress
from pathlib import Path
from time import monotonic, sleep
from typing import Any

import pytest

from collum.case import to_document
from tests.cli.test_process import environment
from tests.making.environment import CHEAP_COMMAND_LINE
from tests.making.teeth import case_of, healthy_premolar

pytestmark = [
    pytest.mark.slow,
    pytest.mark.strace,
    pytest.mark.skipif(shutil.which("strace") is None, reason="needs strace"),
]
CODE, PASSPHRASE, NEXT_PASSPHRASE = "QX7", "zq7Lw3 ukk9Vd2 passphrase", "pv4Rk8 jjx6Wm1 passphrase"
ARCHIVE_PASSPHRASE = "bt6Yh2 wwc4Nf8 passphrase"
PLACES = ("note", "reference", "drug", "stop", "wish", "tooth", "kind", "remark", "operator", "file", "content", "label", "why")
TEXTS = {place: f"vx{number}Kq9Zt{place[:2]}7Rw" for number, place in enumerate(PLACES)}
SENTINELS = (*TEXTS.values(), PASSPHRASE, NEXT_PASSPHRASE, ARCHIVE_PASSPHRASE)
INFLATED_BYTES = 4096  # looked at from each offset: several of the texts are within a page of any stream that holds them
OPENED = re.compile(r'openat\([^"]*"(?P<path>[^"]+)", (?P<flags>[A-Z_|0-9]+)')
WRITTEN = re.compile(r'write(?:64)?\(\d+<(?P<path>/[^>]+)>, (?P<content>"[^"]*")')
PROBE = '"blat"'  # what the standard library writes once to see whether it may use the folder for temporary files


def test_no_file_holds_what_was_typed(tmp_path: Path) -> None:
    folder, trace, seen = tmp_path / "data", tmp_path / "trace", tmp_path / "seen"
    seen.mkdir()
    looking = ["strace", "-f", "-y", "-s", "200", "-e", "trace=openat,creat,write,pwrite64", "-o", str(trace)]
    command = [*looking, sys.executable, "-c", CHEAP_COMMAND_LINE, "serve", "--port", "0"]
    variables = {**environment(folder), "COLLUM_DRAWS": "300"}
    served = subprocess.Popen(command, stdout=subprocess.PIPE, stderr=subprocess.PIPE, text=True, env=variables)
    try:
        a_day(served, folder, seen)
    finally:
        running = json.loads((folder / "instance.json").read_text(encoding="utf-8"))["pid"]
        os.kill(running, signal.SIGTERM)
        printed = "".join(served.communicate(timeout=120))
    assert not [text for text in SENTINELS if text in printed]
    assert set(written_outside(trace, folder).values()) <= {PROBE}
    assert (seen / "plan" / "practice.db-wal").stat().st_size > 20_000  # what was typed is among what is searched
    for file in sorted(path for where in (folder, seen) for path in where.rglob("*") if path.is_file()):
        assert found_in(file.read_bytes()) == set(), file.name


def a_day(served: "subprocess.Popen[str]", folder: Path, seen: Path) -> None:
    """Set up a record, type, plan, print, override, lock and unlock; keep a copy of every file as it is after each step."""
    assert served.stdout is not None
    origin, link = served.stdout.readline().strip().split("/#link=")
    send = Sender(origin, str(Sender(origin, "", folder).json("POST", "/session", {"link": link})["token"]), folder)
    send.json("POST", "/lock/set-up", {"code": CODE, "passphrase": PASSPHRASE})
    case = send.json("POST", "/cases", {"document": typed()})
    keep(folder, seen, "case")
    path = f"/cases/{case['case_id']}"
    visit = {"base_revision": 1, "kind": TEXTS["kind"], "by": TEXTS["operator"]}
    case = send.json("POST", f"{path}/visits", visit)
    document = {**case["document"], "note": f"{TEXTS['note']} again"}
    case = send.json("PUT", path, {"base_revision": case["revision"], "document": document})
    plan = send.json("POST", f"{path}/plans", {"revision": case["revision"]})
    for paper in ("plan-sheet", "findings-sheet"):
        send.bytes("GET", f"/plans/{plan['plan_id']}/papers/{paper}?tooth=0")
    attach(send, path, seen)
    keep(folder, seen, "plan")
    send.json("POST", "/lock/passphrase", {"passphrase": PASSPHRASE, "following": NEXT_PASSPHRASE})
    send.json("POST", "/lock", {"why": "hand"})
    keep(folder, seen, "locked")
    send.json("POST", "/lock/unlock", {"code": CODE, "passphrase": PASSPHRASE}, fails=True)
    send.json("POST", "/lock/unlock", {"code": CODE, "passphrase": NEXT_PASSPHRASE})
    assert TEXTS["note"] in send.json("GET", path)["document"]["note"]
    keep(folder, seen, "unlocked")
    out_and_in(send, path)


def out_and_in(send: "Sender", path: str) -> None:
    """Give everything on the person out and take it in again as a second case."""
    archive = send.bytes("POST", f"{path}/export", {"passphrase": ARCHIVE_PASSPHRASE})
    assert found_in(archive[:20_000]) == set()
    passphrase = {"Collum-Passphrase": base64.b64encode(ARCHIVE_PASSPHRASE.encode()).decode()}
    taken = json.loads(send.bytes("POST", "/cases/import", archive, passphrase))
    assert TEXTS["note"] in taken["document"]["note"]


def attach(send: "Sender", path: str, seen: Path) -> None:
    """Add a file, take it out, and begin another that is never whole; keep a copy of what is there half-way."""
    content = f"{TEXTS['content']} ".encode() * 5_000
    query = urllib.parse.urlencode({"name": f"{TEXTS['file']}.txt", "note": TEXTS["label"], "kind": "letter"})
    added = json.loads(send.bytes("POST", f"{path}/attachments?{query}", content))
    of_file = f"{path}/attachments/{added['attachment_id']}"
    assert send.bytes("GET", f"{of_file}/content") == content
    send.json("POST", f"{of_file}/remove", {"reason": TEXTS["why"]})
    half = send.begun(f"{path}/attachments?{query}", 4 * len(content))
    half.send(content * 2)
    end = monotonic() + 60
    while not any(file.stat().st_size > 1000 for file in (send.folder / "attachments").glob("*.part")):
        assert monotonic() < end
        sleep(0.01)
    keep(send.folder, seen, "half a file")
    half.close()


def typed() -> dict[str, Any]:
    document = to_document(case_of(healthy_premolar()))
    document["note"] = TEXTS["note"]
    document["patient"] = {**document["patient"], "reference": TEXTS["reference"], "wish": TEXTS["wish"]}
    document["patient"] |= {"drugs": [TEXTS["drug"]], "stops": [TEXTS["stop"]]}
    document["teeth"][0]["note"] = TEXTS["tooth"]
    document["visits"] = [{"date": "2026-05-01", "kind": TEXTS["kind"], "note": TEXTS["remark"], "by": TEXTS["operator"]}]
    return document


class Sender:
    """Sends requests as the page does."""

    def __init__(self, origin: str, token: str, folder: Path) -> None:
        self._origin, self._token, self.folder = origin, token, folder

    def bytes(self, method: str, path: str, body: object = None, more: dict[str, str] | None = None) -> bytes:
        kind = "application/octet-stream" if isinstance(body, bytes) else "application/json"
        headers = (more or {}) | {"Origin": self._origin, "Content-Type": kind, "Collum-Session": self._token}
        data = body if isinstance(body, bytes) else None if body is None else json.dumps(body).encode()
        request = urllib.request.Request(f"{self._origin}/api/v1{path}", data, headers, method=method)
        with urllib.request.urlopen(request, timeout=120) as answer:
            return bytes(answer.read())

    def begun(self, path: str, size: int) -> http.client.HTTPConnection:
        """Return a connection on which a file of `size` bytes was announced."""
        connection = http.client.HTTPConnection(self._origin.removeprefix("http://"))
        connection.putrequest("POST", f"/api/v1{path}")
        said = {"Origin": self._origin, "Content-Type": "application/octet-stream", "Collum-Session": self._token}
        for name, value in (said | {"Content-Length": str(size)}).items():
            connection.putheader(name, value)
        connection.endheaders()
        return connection

    def json(self, method: str, path: str, body: object = None, *, fails: bool = False) -> dict[str, Any]:
        try:
            return dict(json.loads(self.bytes(method, path, body)))
        except urllib.error.HTTPError:
            if fails:
                return {}
            raise


def keep(folder: Path, seen: Path, name: str) -> None:
    """Copy what is on the disk at this moment: the log of the database is gone when the program has ended.

    A note that is just taking the place of the one before, under a name of its own, may be gone when it is copied.
    """
    shutil.copytree(folder, seen / name, ignore=shutil.ignore_patterns("lock", "*.part"), copy_function=_copy_if_there)


def _copy_if_there(source: str, target: str) -> None:
    with suppress(FileNotFoundError):
        shutil.copy2(source, target)


def written_outside(trace: Path, folder: Path) -> dict[str, str]:
    """Return each file outside the folder that was opened for writing, with what was written into it."""
    written: dict[str, str] = {}
    for line in trace.read_text(encoding="utf-8", errors="replace").splitlines():
        opened = OPENED.search(line)
        if opened is not None and {"O_WRONLY", "O_RDWR", "O_CREAT"} & set(opened["flags"].split("|")) and "ENOENT" not in line:
            written.setdefault(opened["path"], "")
        content = WRITTEN.search(line)
        if content is not None and content["path"] in written:
            written[content["path"]] += content["content"]
    return {
        path: content
        for path, content in written.items()
        if not Path(path).is_relative_to(folder) and not path.startswith(("/dev/", "/proc/"))
    }


def found_in(content: bytes) -> set[str]:
    """Return which sentinels are in some bytes, read as they are or unpacked."""
    spelt = {text: spellings(text) for text in SENTINELS}
    parts = [content, *decoded(content)]
    held = [*parts, *(inflated for part in parts for inflated in unpacked(part))]
    return {text for text, ways in spelt.items() if any(way in part for way in ways for part in held)}


def spellings(text: str) -> set[bytes]:
    """Return a text in UTF-8, UTF-16 both ways, hexadecimal, percent encoding, and base 64 at each of its three alignments."""
    plain = text.encode()
    ways = {plain, text.encode("utf-16-le"), text.encode("utf-16-be"), plain.hex().encode(), plain.hex().upper().encode()}
    ways.add(urllib.parse.quote(text).encode())
    for shift in range(3):
        coded = base64.b64encode(b"\0" * shift + plain)
        ways.add(coded[4 if shift else 0 : -4])
    return ways


def decoded(content: bytes) -> Iterator[bytes]:
    """Yield what a long run of base 64 or of hexadecimal digits stands for."""
    for run in re.findall(rb"[A-Za-z0-9+/]{40,}", content):
        for start in range(4):
            yield base64.b64decode(run[start : start + (len(run) - start) // 4 * 4])
    for run in re.findall(rb"[0-9a-fA-F]{40,}", content):
        yield bytes.fromhex(run[: len(run) // 2 * 2].decode())


def unpacked(content: bytes) -> Iterator[bytes]:
    """Yield what inflates at any offset: with the head of zlib or gzip, or raw."""
    for offset in range(len(content)):
        for window in (15, 31, -15):
            if window > 0 and content[offset : offset + 1] not in (b"\x78", b"\x1f"):
                continue
            try:
                part = zlib.decompressobj(window).decompress(content[offset : offset + INFLATED_BYTES], INFLATED_BYTES)
            except zlib.error:
                continue
            if len(part) > len(min(SENTINELS, key=len)):
                yield part


def test_the_search_finds_each_form() -> None:
    text = PASSPHRASE
    for way in spellings(text):
        assert found_in(b"\x00\x81" + way + b"\xff") == {text}
    compressor = zlib.compressobj(wbits=-15)
    for packed in (zlib.compress(text.encode()), compressor.compress(text.encode()) + compressor.flush()):
        assert found_in(b"\x07\x99\x13" + packed + b"\x55") == {text}
        assert found_in(b"\x07" + base64.b64encode(b"\0" * 40 + packed) + b'"') == {text}
        assert found_in(b"\x07" + packed.hex().encode() + b'"') == {text}
    assert found_in(os.urandom(20_000)) == set()

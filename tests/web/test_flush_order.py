"""What is answered was flushed before: the log is on the disk before the first byte of the answer leaves."""

import json
import os
import re
import shutil
import signal
import subprocess
import sys
import urllib.request
from collections.abc import Iterator
from pathlib import Path

import pytest

from collum.case import to_document
from tests.cli.test_process import environment
from tests.making.environment import CHEAP_COMMAND_LINE
from tests.making.teeth import case_of, overgrown_premolar

pytestmark = [
    pytest.mark.slow,
    pytest.mark.strace,
    pytest.mark.skipif(shutil.which("strace") is None, reason="needs strace"),
]
CALLS = "fdatasync,fsync,pwrite64,sendto,sendmsg,write,writev"
LINE = re.compile(r"^(?P<thread>\d+) +(?:<\.\.\. )?(?P<call>[a-z0-9]+)(?:\(|(?P<resumed> resumed>))(?P<rest>.*)$")
LOG = "practice.db-wal>"


def events(trace: str) -> Iterator[str]:
    """Yield what counts, in order: `log` is written, `flushed` is the log, an `answer` begins to leave."""
    flushing: set[str] = set()
    for found in filter(None, map(LINE.match, trace.splitlines())):
        thread, call, rest = found["thread"], found["call"], found["rest"]
        if call in ("fdatasync", "fsync"):
            of_log = LOG in rest or (found["resumed"] and thread in flushing)
            flushing.discard(thread)
            if of_log and "unfinished" in rest:
                flushing.add(thread)
            elif of_log and rest.endswith("= 0"):
                yield "flushed"
        elif call in ("pwrite64", "write") and LOG in rest:
            yield "log"
        elif '"HTTP/1.1 20' in rest:
            yield "answer"


def test_the_log_is_flushed_before_each_answer_to_a_write(tmp_path: Path) -> None:
    folder, trace = tmp_path / "data", tmp_path / "trace"
    looking = ["strace", "-f", "-y", "-s", "40", "-e", f"trace={CALLS}", "-o", str(trace)]
    command = [*looking, sys.executable, "-c", CHEAP_COMMAND_LINE, "serve", "--port", "0"]
    served = subprocess.Popen(command, stdout=subprocess.PIPE, stderr=subprocess.PIPE, text=True, env=environment(folder))
    assert served.stdout is not None
    try:
        origin, link = served.stdout.readline().strip().split("/#link=")
        token = send(origin, "POST", "/session", {"link": link})["token"]
        send(origin, "POST", "/lock/set-up", {"code": "AB", "passphrase": "seven wooden spoons"}, token)
        document = to_document(case_of(overgrown_premolar()))
        began = len(list(events(trace.read_text(encoding="utf-8"))))
        case = send(origin, "POST", "/cases", {"document": document}, token)
        for number in range(1, 6):
            body = {"base_revision": number, "document": {**case["document"], "note": f"save {number}"}}
            assert send(origin, "PUT", f"/cases/{case['case_id']}", body, token)["revision"] == number + 1
    finally:
        running = json.loads((folder / "instance.json").read_text(encoding="utf-8"))["pid"]
        os.kill(running, signal.SIGTERM)
        served.communicate(timeout=60)
    answered = " ".join(list(events(trace.read_text(encoding="utf-8")))[began:]).split("answer")
    assert len(answered) == 7  # a case, five saves, and what follows the last answer
    for before in answered[:-1]:
        assert re.fullmatch(r"(log )+(flushed )+", before.lstrip()), answered


def send(origin: str, method: str, path: str, body: object, token: str = "") -> dict[str, object]:
    headers = {"Origin": origin, "Content-Type": "application/json", "Collum-Session": token}
    request = urllib.request.Request(f"{origin}/api/v1{path}", json.dumps(body).encode(), headers, method=method)
    with urllib.request.urlopen(request, timeout=60) as answer:
        return dict(json.loads(answer.read()))


def test_the_reader_of_the_trace_sees_an_answer_that_came_too_early() -> None:
    early = """\
7 pwrite64(5</d/practice.db-wal>, "x"..., 24, 32) = 24
7 fdatasync(5</d/practice.db-wal> <unfinished ...>
8 sendto(9<socket:[1]>, "HTTP/1.1 201 Created\\r\\n"..., 300, 0, NULL, 0) = 300
7 <... fdatasync resumed>) = 0
7 fdatasync(6</d/practice.db>) = 0
7 fdatasync(5</d/practice.db-wal>) = -1 EIO (Input/output error)
"""
    assert list(events(early)) == ["log", "answer", "flushed"]

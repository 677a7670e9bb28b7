"""The command line as a process of its own: start, pipes, signals, and what it leaves behind."""

import json
import os
import signal
import socket
import subprocess
import sys
import urllib.error
import urllib.request
from collections.abc import Iterator
from contextlib import contextmanager
from pathlib import Path

import pytest

from collum.app.demo import demo_cases
from collum.app.record.instance import ask_for_link

COLLUM = [sys.executable, "-c", "from collum.cli.main import run; run()"]
SENTINEL = "ZQX-7731"
posix = pytest.mark.skipif(os.name == "nt", reason="signals of this kind exist on POSIX only")


def environment(folder: Path, **more: str) -> dict[str, str]:
    kept = {name: value for name, value in os.environ.items() if not name.startswith(("COLLUM_", "COV_"))}
    return kept | {"COLLUM_DATA": str(folder), "XDG_DATA_HOME": str(folder / "xdg"), "COLLUM_DRAWS": "300", **more}


def collum(*arguments: object, folder: Path, stdin: bytes | None = None, **more: str) -> subprocess.CompletedProcess[bytes]:
    command = [*COLLUM, *(str(argument) for argument in arguments)]
    return subprocess.run(command, input=stdin, capture_output=True, env=environment(folder, **more), check=False)


def test_help_imports_nothing_heavy() -> None:
    """Budget: the help is on screen within 0.15 s; what would break that is an import, which can be counted without a clock."""
    script = (
        "import sys, collum.cli.main as cli\n"
        "assert cli.main(['--help']) == 0\n"
        "heavy = {'numpy', 'scipy', 'pydantic', 'sqlalchemy', 'alembic', 'fastapi', 'uvicorn', 'rich', 'typst', 'structlog'}\n"
        "print(sorted(heavy & set(sys.modules)), file=sys.stderr)\n"
    )
    ran = subprocess.run([sys.executable, "-c", script], capture_output=True, check=True)
    assert ran.stderr.strip() == b"[]"
    assert b"Commands:" in ran.stdout


@posix
def test_no_image_of_the_process_is_left_when_it_dies() -> None:
    script = (
        "import resource, sys, collum.cli.main as cli\n"
        "cli.main = lambda arguments: print(resource.getrlimit(resource.RLIMIT_CORE)) or 0\n"
        "cli.run()\n"
    )
    ran = subprocess.run([sys.executable, "-c", script], capture_output=True, check=True)
    assert ran.stdout.strip() == b"(0, 0)"


@pytest.mark.slow
@posix
def test_a_closed_pipe_ends_quietly(tmp_path: Path, case_file: Path) -> None:
    reading, writing = os.pipe()
    os.close(reading)
    for arguments in (["evidence"], ["plan", str(case_file)]):
        ran = subprocess.run(
            [*COLLUM, *arguments], stdout=writing, stderr=subprocess.PIPE, env=environment(tmp_path), check=False
        )
        assert (ran.returncode, ran.stderr) == (0, b"")
    os.close(writing)


@pytest.mark.slow
def test_no_run_of_broken_input_shows_a_traceback_or_leaves_a_file(tmp_path: Path) -> None:
    folder = tmp_path / "data"
    for arguments, status in (
        (["plan", "-"], 2),
        (["report", "-", "--pdf", tmp_path / "out.pdf"], 2),
        (["serve", "--port", "99999"], 2),
        (["open"], 4),
    ):
        ran = collum(*arguments, folder=folder, stdin=b"{")
        assert (ran.returncode, ran.stdout) == (status, b""), arguments
        assert ran.stderr and b"Traceback" not in ran.stderr
    assert list(tmp_path.iterdir()) == []


@contextmanager
def serving(folder: Path, *options: str) -> Iterator[tuple[subprocess.Popen[str], str]]:
    """A workbench in a process of its own, and the first line it prints."""
    command = [*COLLUM, "serve", "--port", "0", *options]
    process = subprocess.Popen(command, stdout=subprocess.PIPE, stderr=subprocess.PIPE, text=True, env=environment(folder))
    assert process.stdout is not None
    try:
        yield process, process.stdout.readline().strip()
    finally:
        process.kill()
        process.communicate()


def ask(link: str, path: str, **headers: str) -> int:
    request = urllib.request.Request(link.split("#")[0].rstrip("/") + path, headers=headers)
    try:
        with urllib.request.urlopen(request, timeout=60) as answer:
            return int(answer.status)
    except urllib.error.HTTPError as refused:
        return refused.code


@pytest.mark.slow
@posix
@pytest.mark.parametrize("wish", [signal.SIGTERM, signal.SIGINT])
def test_serving_from_its_link_to_its_end(tmp_path: Path, wish: signal.Signals) -> None:
    folder = tmp_path / "data"
    with serving(folder) as (process, link):
        assert link.startswith("http://127.0.0.1:") and "/#link=" in link
        assert ask(link, "/") == 200
        assert ask(link, "/api/v1/cases") == 401
        second = collum("serve", folder=folder)
        assert (second.returncode, second.stdout.decode().strip()) == (0, link.split("#")[0])
        process.send_signal(wish)
        assert process.wait(timeout=60) == 0
        assert process.stderr is not None
        told = process.stderr.read()
        assert "Traceback" not in told
        assert f"open --data {folder}" in told
    assert {file.name for file in folder.iterdir()} == {"lock", "log"}


@pytest.mark.slow
def test_a_port_of_another_program_is_never_changed_in_silence(tmp_path: Path) -> None:
    with socket.socket() as other:
        other.bind(("127.0.0.1", 0))
        other.listen()
        ran = collum("serve", "--port", other.getsockname()[1], folder=tmp_path / "data")
    assert (ran.returncode, ran.stdout) == (4, b"")
    assert ran.stderr.startswith(b"Port ") and b"is taken by another program" in ran.stderr


@pytest.mark.slow
@posix
def test_open_prints_a_link_and_hands_the_browser_another_that_no_command_line_shows(tmp_path: Path) -> None:
    folder = tmp_path / "data"
    seen = tmp_path / "seen"
    browser = tmp_path / "browser"
    browser.write_text(f'#!/bin/sh\necho "$@" > "{seen}"\n', encoding="utf-8")
    browser.chmod(0o700)
    with serving(folder) as (_process, link):
        ran = collum("open", folder=folder, BROWSER=str(browser))
        printed = ran.stdout.decode().strip()
        assert ran.returncode == 0 and printed.startswith(link.split("=")[0]) and printed != link
        page = folder / "open.html"
        assert seen.read_text(encoding="utf-8").strip() == page.as_uri()
        given = page.read_text(encoding="utf-8")
        assert "#link=" in given and link not in given and printed not in given
        assert page.stat().st_mode & 0o777 == 0o600
        assert ask_for_link(folder) not in (None, link)
        # What Chromium sends when that page leads it on.
        led_on = {"Sec-Fetch-Site": "cross-site", "Sec-Fetch-Mode": "navigate", "Sec-Fetch-Dest": "document"}
        assert ask(link, "/", **led_on) == 200
        assert ask(link, "/api/v1/cases", **led_on) in (401, 403)


@pytest.mark.slow
def test_the_demo_loads_plans_and_keeps(tmp_path: Path) -> None:
    folder = tmp_path / "demo"
    first = collum("demo", "--data", folder, folder=tmp_path / "unused")
    assert first.returncode == 0, first.stderr
    assert b"Invented case. No patient." in first.stdout
    assert f"{len(demo_cases())} invented cases loaded".encode() in first.stderr
    again = collum("demo", "--data", folder, folder=tmp_path / "unused")
    assert again.stdout == first.stdout
    assert b"are there already" in again.stderr
    assert b"loaded" in collum("demo", "--data", folder, "--reset", folder=tmp_path / "unused").stderr
    assert not (tmp_path / "unused").exists()


@pytest.mark.slow
def test_the_demo_never_takes_a_practice_of_patients(tmp_path: Path) -> None:
    from collum.records import Store

    Store.open(tmp_path).close()
    for options in ((), ("--reset",)):
        ran = collum("demo", "--data", tmp_path, *options, folder=tmp_path / "unused")
        assert (ran.returncode, ran.stdout) == (2, b"")
        assert ran.stderr.startswith(b"--data: holds a practice that is not the demo practice")


@pytest.mark.slow
def test_what_a_reader_must_not_find_is_in_no_log_and_no_error(tmp_path: Path, case_file: Path) -> None:
    folder = tmp_path / "data"
    document = json.loads(case_file.read_text(encoding="utf-8"))
    document["patient"]["reference"] = SENTINEL
    document["note"] = SENTINEL
    named = tmp_path / f"{SENTINEL}.json"
    named.write_text(json.dumps(document), encoding="utf-8")
    planned = collum("plan", named, folder=folder)
    assert planned.returncode == 0 and SENTINEL.encode() in planned.stdout
    assert SENTINEL.encode() not in planned.stderr
    assert collum("report", named, "--pdf", tmp_path / "out.pdf", folder=folder).returncode == 0
    with serving(folder) as (process, _link):
        process.terminate()
        assert process.wait(timeout=60) == 0
    left = [file for file in tmp_path.rglob("*") if file.is_file() and file.name not in ("practice.db", "out.pdf")]
    assert [file.name for file in left if SENTINEL.encode() in file.read_bytes()] == [named.name]

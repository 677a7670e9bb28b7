"""`collum browsers`, `collum desktop-entry`, `collum open --start`: what they print, write and remove."""

import errno
import json
import os
import signal
import subprocess
from collections.abc import Callable
from datetime import UTC, datetime
from pathlib import Path

import pytest

from collum.app.desktop_entry import entry_text
from collum.app.record.kept_browsers import IDLE_LIFE, KeptBrowsers
from collum.records import StorageError
from tests.cli.conftest import Run
from tests.cli.test_process import COLLUM, collum, environment, posix, serving

KEPT_AT = datetime(2026, 5, 1, 8, 0, tzinfo=UTC)


@pytest.fixture
def kept(tmp_path: Path, monkeypatch: pytest.MonkeyPatch) -> KeptBrowsers:
    """Two kept browsers in the data directory of `run`; the second alone was used of late."""
    (tmp_path / "data").mkdir()
    ids = iter(f"00000000-0000-7000-8000-{number:012d}" for number in (1, 2, 3))
    moments = [KEPT_AT]
    made = KeptBrowsers(tmp_path / "data" / "browsers", lambda: moments[-1], lambda: next(ids))
    browsers = [made.keep(name, "a key") for name in ("Surgery 1", "Office")]
    moments.append(KEPT_AT + IDLE_LIFE * 2)
    made.used(browsers[1].browser_id)
    monkeypatch.setattr("collum.app.environment.SystemEnvironment.now", lambda _self: moments[-1])
    return made


def test_a_disk_that_takes_no_kept_browser_is_said_as_of_the_record(
    kept: KeptBrowsers, monkeypatch: pytest.MonkeyPatch
) -> None:
    def refuse(code: int) -> Callable[..., None]:
        def refused(*_: object, **__: object) -> None:
            raise OSError(code, "refused")

        return refused

    monkeypatch.setattr(Path, "mkdir", refuse(errno.ENOSPC))
    with pytest.raises(StorageError, match="full"):
        kept.keep("Surgery 2", "a key")
    monkeypatch.setattr(Path, "unlink", refuse(errno.EROFS))
    with pytest.raises(StorageError, match="read_only"):
        kept.revoke(kept.all()[0].browser_id)


def test_kept_browsers_are_listed_and_revoked_by_name_or_id(run: Run, kept: KeptBrowsers) -> None:
    idle, used = run("browsers").out.splitlines()
    assert idle.startswith("Surgery 1   kept 2026-05-01T08:00:00Z, last used 2026-05-01T08:00:00Z: needs a new link")
    assert used.startswith("Office ") and "needs a new link" not in used
    listed = json.loads(run("browsers", "--json").out)
    assert [(one["name"], one["idle"]) for one in listed] == [("Surgery 1", True), ("Office", False)]
    assert set(listed[0]) == {"browser", "name", "kept_at", "used_at", "idle"}
    unknown = run("browsers", "revoke", "../practice")
    assert (unknown.status, unknown.out) == (2, "")
    assert unknown.err.startswith("BROWSER: is no browser that is kept (../practice)")
    assert run("browsers", "revoke", "surgery 1").err.startswith("Surgery 1 is kept no longer")
    assert run("browsers", "revoke", listed[1]["browser"]).status == 0
    assert run("browsers").out == "" and json.loads(run("browsers", "--json").out) == []
    assert list(kept.folder.iterdir()) == []


@pytest.mark.parametrize(
    ("argument", "written"),
    [
        ("/opt/a folder/collum", '"/opt/a folder/collum"'),
        ('a"b', r'"a\\"b"'),
        ("a$b`c", r'"a\\$b\\`c"'),
        ("a\\b", r'"a\\\\b"'),  # doubled within quotes, and each doubled again as a string value: the standard's own example
        ("100%", '"100%%"'),
        ("a\nb", r'"a\nb"'),
    ],
)
def test_an_argument_of_an_entry_is_quoted_as_the_standard_says(argument: str, written: str) -> None:
    text = entry_text([argument], name="x", comment="y", icon=None)
    assert f"\nExec={written}\n" in text


@pytest.mark.skipif(os.sys.platform in ("win32", "darwin"), reason="entries of this kind exist on Linux only")
def test_the_desktop_entry_is_written_for_this_directory_and_removed(
    run: Run, tmp_path: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    monkeypatch.setenv("XDG_DATA_HOME", str(tmp_path / "xdg"))
    file = tmp_path / "xdg" / "applications" / "collum.desktop"
    assert run("desktop-entry").out.strip() == str(file)
    lines = file.read_text(encoding="utf-8").splitlines()
    assert lines[0] == "[Desktop Entry]" and {"Type=Application", "Name=Collum", "Terminal=false"} <= set(lines)
    (command,) = [line for line in lines if line.startswith("Exec=")]
    assert command.endswith(f'"open" "--start" "--data" "{tmp_path / "data"}"') and command.startswith('Exec="/')
    assert run("desktop-entry", "--remove").err == f"{file} was removed.\n"
    assert not file.exists()
    assert "no entry" in run("desktop-entry", "--remove").err


@pytest.mark.parametrize(("platform", "words"), [("win32", "Shortcut"), ("darwin", "Run Shell Script")])
def test_elsewhere_it_says_what_to_do(run: Run, monkeypatch: pytest.MonkeyPatch, platform: str, words: str) -> None:
    monkeypatch.setattr("sys.platform", platform)
    ran = run("desktop-entry")
    assert (ran.status, ran.err) == (0, "")
    assert words in ran.out and "open --start --data" in ran.out


@pytest.fixture
def browser(tmp_path: Path) -> Path:
    """A browser that notes what it was to open, in `seen`."""
    program = tmp_path / "browser"
    program.write_text(f'#!/bin/sh\necho "$@" >> "{tmp_path / "seen"}"\n', encoding="utf-8")
    program.chmod(0o700)
    return program


@pytest.mark.slow
@posix
def test_the_icon_starts_the_workbench_once_and_prints_no_link(tmp_path: Path, browser: Path) -> None:
    folder, seen = tmp_path / "data", tmp_path / "seen"
    variables = environment(folder, BROWSER=str(browser), COLLUM_PORT="0")
    command = [*COLLUM, "open", "--start"]
    both = [subprocess.Popen(command, stdout=subprocess.PIPE, stderr=subprocess.PIPE, env=variables) for _ in range(2)]
    ended = [process.wait(120) for process in both if process is not _serving(both)]
    assert ended == [0]
    assert [line for line in seen.read_text(encoding="utf-8").splitlines()] == [(folder / "open.html").as_uri()] * 2
    (serving_one,) = [process for process in both if process.poll() is None]
    serving_one.send_signal(signal.SIGTERM)
    told = [process.communicate(timeout=60) for process in both]
    assert [process.returncode for process in both] == [0, 0]
    assert [out for out, _err in told] == [b"", b""]  # what it prints may end in a log that others read
    assert b"#link=" not in b"".join(err for _out, err in told)


def _serving(both: list[subprocess.Popen[bytes]]) -> subprocess.Popen[bytes]:
    """Wait until one of them has done its part and return the other."""
    while all(process.poll() is None for process in both):
        try:
            both[0].wait(0.1)
        except subprocess.TimeoutExpired:
            continue
    return next(process for process in both if process.poll() is None)


@pytest.mark.slow
@posix
def test_what_keeps_the_icon_from_starting_is_shown_in_the_browser(tmp_path: Path, browser: Path) -> None:
    folder = tmp_path / "data"
    with serving(tmp_path / "other") as (_process, link):
        port = link.split(":")[2].split("/")[0]
        ran = collum("open", "--start", folder=folder, BROWSER=str(browser), COLLUM_PORT=port)
    assert (ran.returncode, ran.stdout) == (4, b"")
    assert (folder / "open.html").as_uri() in (tmp_path / "seen").read_text(encoding="utf-8")
    assert f"Port {port} is taken" in (folder / "open.html").read_text(encoding="utf-8")

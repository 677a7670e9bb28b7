"""Set-up installs once, heals when it was interrupted, builds again only what is stale, and speaks in one clear sentence."""

import ast
import itertools
import os
import re
import shutil
import subprocess
import sys
from pathlib import Path

import pytest

from tests.contracts.tracked import ROOT
from tools import browser, checks, frontend_stamp, set_up, tracer


@pytest.fixture
def environment(tmp_path: Path) -> "Recorded":
    """An environment that writes down what it would install and make."""
    return Recorded(tmp_path / "env")


class Recorded(set_up.Environment):
    """Makes empty programs instead of real ones and counts what was done."""

    done: list[str]

    def __init__(self, folder: Path) -> None:
        super().__init__(folder)
        self.done = []

    def _create(self) -> None:
        self.done.append("made")
        self.programs.mkdir(parents=True, exist_ok=True)
        self.python.touch()

    def _pip(self, *arguments: str) -> None:
        self.done.append("installed" if "--require-hashes" in arguments else "this project")

    def check(self, level: str) -> None:
        pass


@pytest.fixture(params=["pretended", "found"])
def too_old(request: pytest.FixtureRequest, tmp_path: Path) -> tuple[str, str]:
    """A Python that is too old: this one under the version of an older, and the oldest that the machine has."""
    found = oldest_python() if request.param == "found" else None
    if found:
        return found
    pretends = tmp_path / "python"
    start = "import runpy, sys; sys.version_info = (3, 9, 0); runpy.run_path(sys.argv[1], run_name='__main__')"
    pretends.write_text(f'#!/bin/sh\nexec \'{sys.executable}\' -c "{start}" "$@"\n', encoding="utf-8")
    pretends.chmod(0o755)
    return str(pretends), "3.9"


def oldest_python() -> tuple[str, str] | None:
    """Return the oldest Python on PATH, or among the versions of a version manager, that is too old, with its version."""
    ask = "import sys; sys.stdout.write('%d.%d' % sys.version_info[:2])"
    for version in ("2.7", *(f"3.{minor}" for minor in range(4, 11))):
        managed = sorted(Path(os.environ.get("PYENV_ROOT", "")).glob(f"versions/{version}.*/bin/python{version}"))
        for program in [*map(str, managed), f"python{version}"]:
            answer = (
                subprocess.run([program, "-c", ask], capture_output=True, text=True, check=False)
                if shutil.which(program)
                else None
            )
            if answer and answer.stdout == version:
                return program, version
    return None


def test_the_first_set_up_makes_and_installs_and_the_second_does_nothing(environment: Recorded) -> None:
    environment.prepare("run")
    assert environment.done == ["made", "installed", "this project"]
    environment.prepare("run")
    assert environment.done == ["made", "installed", "this project"]


def test_a_higher_level_holds_the_lower_one(environment: Recorded) -> None:
    environment.prepare("test")
    environment.prepare("run")
    assert environment.done == ["made", "installed", "this project"]
    environment.prepare("bench")
    assert environment.done[3:] == ["installed", "this project"]


def test_an_interrupted_set_up_is_done_again_from_the_start(environment: Recorded, monkeypatch: pytest.MonkeyPatch) -> None:
    def stopped(*_: str) -> None:
        raise KeyboardInterrupt

    with monkeypatch.context() as patch:
        patch.setattr(environment, "_pip", stopped)
        with pytest.raises(KeyboardInterrupt):
            environment.prepare("run")
    environment.prepare("run")
    assert environment.done == ["made", "made", "installed", "this project"]


def test_another_python_makes_a_new_environment(environment: Recorded, monkeypatch: pytest.MonkeyPatch) -> None:
    environment.prepare("run")
    monkeypatch.setattr(set_up, "this_python", lambda: "3.99.0 linux")
    environment.prepare("run")
    assert environment.done[3:] == ["made", "installed", "this project"]


def test_a_changed_lock_is_installed(environment: Recorded, monkeypatch: pytest.MonkeyPatch, tmp_path: Path) -> None:
    root = tmp_path / "root"
    (root / "requirements").mkdir(parents=True)
    for name in (
        "pyproject.toml",
        "requirements/run.lock",
        "requirements/build.lock",
        "requirements/test.lock",
        "requirements/bench.lock",
    ):
        (root / name).write_bytes((ROOT / name).read_bytes())
    monkeypatch.setattr(set_up, "ROOT", root)
    environment.prepare("run")
    with (root / "requirements/run.lock").open("a", encoding="utf-8") as lock:
        lock.write("# a new line\n")
    environment.prepare("run")
    assert environment.done[3:] == ["installed", "this project"]


def test_a_command_keeps_compiled_modules_and_sees_no_other_python(
    environment: Recorded, monkeypatch: pytest.MonkeyPatch
) -> None:
    for name in ("PYTHONDONTWRITEBYTECODE", "PYTHONPATH", "PYTHONHOME"):
        monkeypatch.setenv(name, "1")
    assert not environment.variables().keys() & {"PYTHONDONTWRITEBYTECODE", "PYTHONPATH", "PYTHONHOME"}


def test_no_ensurepip_and_no_right_to_install_is_one_clear_sentence(
    capsys: pytest.CaptureFixture[str], monkeypatch: pytest.MonkeyPatch
) -> None:
    monkeypatch.setitem(sys.modules, "ensurepip", None)
    monkeypatch.setattr(os, "geteuid", lambda: 1000, raising=False)
    with pytest.raises(SystemExit) as stopped:
        set_up._have_ensurepip()
    assert stopped.value.code == 1
    said = capsys.readouterr().err.strip().splitlines()
    assert len(said) == 1 and re.search(r"install the package python3\.\d+-venv", said[0])


def test_no_ensurepip_as_root_installs_the_package_of_the_distribution(monkeypatch: pytest.MonkeyPatch) -> None:
    done: list[list[str]] = []
    monkeypatch.setitem(sys.modules, "ensurepip", None)
    monkeypatch.setattr(os, "geteuid", lambda: 0, raising=False)
    monkeypatch.setattr(set_up.shutil, "which", lambda name: f"/usr/bin/{name}")
    monkeypatch.setattr(set_up, "checked", lambda command, **_: done.append(command))
    set_up._have_ensurepip()
    assert [command[:2] for command in done] == [["apt-get", "update"], ["apt-get", "install"]]
    assert re.fullmatch(r"python3\.\d+-venv", done[1][-1])


def test_any_python_can_read_the_first_script() -> None:
    first = (ROOT / "tools/bootstrap.py").read_text(encoding="utf-8")
    tree = ast.parse(first, feature_version=(3, 7))
    newer = (ast.JoinedStr, ast.AnnAssign, ast.FunctionDef, ast.Starred, ast.NamedExpr)
    assert [type(node).__name__ for node in ast.walk(tree) if isinstance(node, newer)] == []
    early = list(itertools.takewhile(lambda node: not isinstance(node, ast.If), tree.body))
    assert {name.name for node in early if isinstance(node, ast.Import | ast.ImportFrom) for name in node.names} == {
        "os",
        "sys",
    }
    assert first.isascii()


def test_a_python_that_is_too_old_ends_with_one_sentence(too_old: tuple[str, str]) -> None:
    program, version = too_old
    answer = subprocess.run([program, "tools/bootstrap.py", "run"], cwd=ROOT, capture_output=True, text=True, check=False)
    assert answer.returncode == 1
    assert answer.stderr == f"collum: Collum needs Python 3.11 or later; this one is {version}. Name another with PY=3.13.\n"
    assert answer.stdout == ""


def test_the_browser_part_is_stale_when_a_source_or_a_sentence_changed(tmp_path: Path) -> None:
    source, sentence = tmp_path / "frontend/src/main.ts", tmp_path / "src/collum/wording/en/screen.toml"
    built = tmp_path / frontend_stamp.BUILT
    for path in (source, sentence, built / "index.html", tmp_path / "frontend/node_modules/x/index.js"):
        path.parent.mkdir(parents=True, exist_ok=True)
        path.write_text("one", encoding="utf-8")
    assert not frontend_stamp.is_current(tmp_path)
    frontend_stamp.write_stamp(tmp_path, frontend_stamp.sources_digest(tmp_path))
    assert frontend_stamp.is_current(tmp_path)
    (tmp_path / "frontend/node_modules/x/index.js").write_text("two", encoding="utf-8")
    assert frontend_stamp.is_current(tmp_path)
    (tmp_path / frontend_stamp.TYPES).parent.mkdir()
    (tmp_path / frontend_stamp.TYPES).write_text("made at set-up", encoding="utf-8")
    assert frontend_stamp.is_current(tmp_path)
    for path in (source, sentence):
        path.write_text("two", encoding="utf-8")
        assert not frontend_stamp.is_current(tmp_path)
        path.write_text("one", encoding="utf-8")
    source.rename(source.with_name("start.ts"))
    assert not frontend_stamp.is_current(tmp_path)


def test_the_browser_is_looked_for_in_the_agreed_order(monkeypatch: pytest.MonkeyPatch) -> None:
    here = {"chromium-browser": "/usr/bin/chromium-browser", "google-chrome": "/opt/chrome", "/mine": "/mine"}
    monkeypatch.setattr(browser.shutil, "which", here.get)
    monkeypatch.delenv(browser.VARIABLE, raising=False)
    assert browser.find() == "/usr/bin/chromium-browser"
    monkeypatch.setenv(browser.VARIABLE, "/mine")
    assert browser.find() == "/mine"
    monkeypatch.setenv(browser.VARIABLE, "/not-there")
    assert browser.obtain() is None


@pytest.mark.parametrize(("required", "code", "last"), [("", 0, checks.NO_BROWSER), ("browser", 1, "")])
def test_without_a_browser_the_last_line_says_so_or_the_run_fails(
    required: str, code: int, last: str, monkeypatch: pytest.MonkeyPatch, capsys: pytest.CaptureFixture[str]
) -> None:
    monkeypatch.setattr(browser, "obtain", lambda: None)
    monkeypatch.setattr(tracer, "obtain", lambda: "strace")
    monkeypatch.setenv("COLLUM_REQUIRE", required)
    monkeypatch.setattr(checks.subprocess, "run", lambda *_, **__: subprocess.CompletedProcess([], 0))
    assert checks.run_tests(failed_before=[], arguments=[]) == code
    assert capsys.readouterr().out.strip() == last


@pytest.mark.parametrize(("there", "said"), [("strace", ""), (None, checks.NO_TRACER)])
def test_without_a_tracer_its_tests_are_left_out_and_that_is_said(
    there: str | None, said: str, monkeypatch: pytest.MonkeyPatch, capsys: pytest.CaptureFixture[str]
) -> None:
    asked: list[str] = []

    def ran(command: list[str], **_named: object) -> subprocess.CompletedProcess[str]:
        asked.extend(command)
        return subprocess.CompletedProcess(command, 0)

    monkeypatch.setattr(browser, "obtain", lambda: "chromium")
    monkeypatch.setattr(tracer, "obtain", lambda: there)
    monkeypatch.setattr(checks.subprocess, "run", ran)
    assert checks.run_tests(failed_before=[], arguments=[]) == 0
    assert capsys.readouterr().out.strip() == said
    assert ("not campaign and not strace" in asked) == (there is None)


def test_ci_runs_the_checks_and_insists_on_a_browser() -> None:
    script = (ROOT / ".ci/run").read_text(encoding="utf-8")
    assert "export COLLUM_REQUIRE=browser" in script and "exec make test" in script
    assert os.access(ROOT / ".ci/run", os.X_OK)

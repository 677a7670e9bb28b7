"""A clone that was never built sets itself up; installed directly, or packed and installed, it works without Node."""

import os
import shutil
import subprocess
import sys
import tarfile
import venv
import zipfile
from collections.abc import Mapping
from pathlib import Path

import pytest

from tests.contracts.pips import HERE, fetched_pip
from tests.contracts.tracked import ROOT, tracked_files
from tools import frontend_stamp, set_up

LARGEST_WHEEL_BYTES = 3_000_000
pytestmark = [pytest.mark.slow, pytest.mark.timeout(900)]
# The release of pip that resolves most eagerly, where this Python can run it, else the oldest that it can.
EAGER_PIP = "23.2.1" if "23.2.1" in HERE else HERE[0]


@pytest.fixture(scope="module")
def clone(tmp_path_factory: pytest.TempPathFactory) -> Path:
    """A copy of the tracked files, in which nothing was ever built; it is set up by the first test that needs it."""
    folder = tmp_path_factory.mktemp("clone")
    for path in tracked_files():
        (folder / path.relative_to(ROOT)).parent.mkdir(parents=True, exist_ok=True)
        shutil.copy(path, folder / path.relative_to(ROOT))
    return folder


@pytest.fixture(scope="module")
def without_node(tmp_path_factory: pytest.TempPathFactory) -> dict[str, str]:
    """The variables of this process with no program of the machine, but for the shell that npm needs.

    Pip compiles none of what it installs: nearly all of it is never imported here.
    """
    folder = tmp_path_factory.mktemp("programs")
    if shell := shutil.which("sh"):
        (folder / "sh").symlink_to(shell)
    assert shutil.which("node", path=(path := os.pathsep.join([str(Path(sys.executable).parent), str(folder)]))) is None
    return {**os.environ, "PATH": path, "PIP_COMPILE": "no"}


@pytest.fixture(scope="module")
def environment(clone: Path, without_node: dict[str, str]) -> set_up.Environment:
    """The environment of that clone: made beforehand with the eager pip, so that set-up goes on from there."""
    environment = set_up.Environment(clone / ".venv")
    venv.create(environment.folder, with_pip=True, symlinks=not set_up.WINDOWS)
    eager = fetched_pip(EAGER_PIP, clone.parent)
    said([environment.python, "-m", "pip", "install", "--no-index", "--no-deps", eager], clone, os.environ)
    environment.stamp.write_text(f"{set_up.this_python()}\n", encoding="utf-8")
    start_up = [sys.executable, "tools/bootstrap.py", "run", "collum", "--help"]
    assert "COMMAND" in said(start_up, clone, without_node)
    return environment


@pytest.fixture(scope="module")
def wheel(clone: Path, environment: set_up.Environment, without_node: dict[str, str]) -> Path:
    """The wheel, built from the source archive as an installer would build it."""
    assert environment.stamp.is_file()
    pack = [sys.executable, "-m", "build", "--no-isolation"]
    said([*pack, "--sdist"], clone, without_node)
    with tarfile.open(next(clone.glob("dist/*.tar.gz"))) as archive:
        archive.extractall(clone / "unpacked", filter="data")
    unpacked = next((clone / "unpacked").iterdir())
    said([*pack, "--wheel"], unpacked, without_node)
    return next(unpacked.glob("dist/*.whl"))


def test_a_clone_that_was_never_built_sets_itself_up_once(
    clone: Path, environment: set_up.Environment, without_node: dict[str, str]
) -> None:
    pip = said([environment.python, "-m", "pip", "--version"], clone, without_node)
    assert f"pip {EAGER_PIP} " in pip
    assert frontend_stamp.is_current(clone)
    again = [sys.executable, "tools/bootstrap.py", "run", "collum", "--help"]
    answer = subprocess.run(again, cwd=clone, env=without_node, capture_output=True, text=True, check=False)
    assert answer.returncode == 0 and answer.stderr == ""


def test_the_wheel_holds_what_it_needs_and_nothing_else(wheel: Path) -> None:
    names = zipfile.ZipFile(wheel).namelist()
    for needed in ("collum/web/static/index.html", "collum/wording/en/plan.toml", "collum/web/static/.made-from"):
        assert needed in names
    assert any(name.endswith("/licenses/LICENSE") for name in names)
    assert any(name.endswith("/licenses/THIRD_PARTY.md") for name in names)
    assert [name for name in names if not name.startswith(("collum/", "collum-"))] == []
    assert wheel.stat().st_size <= LARGEST_WHEEL_BYTES


def test_a_clone_installs_without_a_first_set_up_and_without_node(
    clone: Path, environment: set_up.Environment, without_node: dict[str, str], tmp_path: Path
) -> None:
    shutil.rmtree(clone / frontend_stamp.BUILT)
    said([environment.python, "-m", "pip", "install", "--disable-pip-version-check", clone], tmp_path, without_node)
    variables = {"PATH": str(environment.programs), "HOME": str(tmp_path), "COLLUM_DATA": str(tmp_path / "data")}
    assert shutil.which("node", path=variables["PATH"]) is None
    place = "import collum, pathlib; print(pathlib.Path(collum.__file__).parent)"
    installed = Path(said([environment.python, "-c", place], tmp_path, variables).strip())
    assert environment.folder in installed.parents
    assert (installed / "web/static" / frontend_stamp.FIRST_PAGE).is_file()
    said([environment.programs / "collum", "demo", "--check"], tmp_path, variables)


def said(command: list[str | Path], folder: Path, variables: Mapping[str, str]) -> str:
    """Return what a command prints; it must succeed."""
    answer = subprocess.run(command, cwd=folder, env=variables, capture_output=True, text=True, check=False)
    assert answer.returncode == 0, f"(does the package registry answer?) {answer.stdout[-2000:]}{answer.stderr[-2000:]}"
    return answer.stdout

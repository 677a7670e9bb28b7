"""What is shipped works on its own: source archive, then wheel, then an empty environment on a machine without Node."""

import os
import shutil
import subprocess
import sys
import tarfile
import venv
import zipfile
from pathlib import Path

import pytest

from tests.contracts.tracked import ROOT, tracked_files
from tools import frontend_stamp

LARGEST_WHEEL_BYTES = 3_000_000
pytestmark = [pytest.mark.slow, pytest.mark.timeout(300), pytest.mark.xdist_group("wheel")]


@pytest.fixture(scope="module")
def clone(tmp_path_factory: pytest.TempPathFactory) -> Path:
    """A copy of the tracked files and of the built browser part, so that building leaves nothing in the tree."""
    folder = tmp_path_factory.mktemp("clone")
    for path in tracked_files():
        (folder / path.relative_to(ROOT)).parent.mkdir(parents=True, exist_ok=True)
        shutil.copy(path, folder / path.relative_to(ROOT))
    shutil.copytree(ROOT / frontend_stamp.BUILT, folder / frontend_stamp.BUILT)
    return folder


@pytest.fixture(scope="module")
def wheel(clone: Path) -> Path:
    """The wheel, built from the source archive as an installer would build it."""
    build(clone, "--sdist", "--wheel")
    with tarfile.open(next(clone.glob("dist/*.tar.gz"))) as archive:
        archive.extractall(clone / "unpacked", filter="data")
    unpacked = next((clone / "unpacked").iterdir())
    build(unpacked, "--wheel")
    return next(unpacked.glob("dist/*.whl"))


def test_the_wheel_answers_a_request_in_an_empty_environment_without_node(wheel: Path, tmp_path: Path) -> None:
    programs = tmp_path / "env" / ("Scripts" if sys.platform == "win32" else "bin")
    venv.create(tmp_path / "env", with_pip=True)
    pip = [programs / "python", "-m", "pip", "-qq", "install", "--disable-pip-version-check"]
    subprocess.run([*pip, "--require-hashes", "--only-binary", ":all:", "-r", ROOT / "requirements/run.lock"], check=True)
    subprocess.run([*pip, "--no-deps", "--no-index", wheel], check=True)
    variables = {"PATH": str(programs), "HOME": str(tmp_path), "COLLUM_DATA": str(tmp_path / "data")}
    assert shutil.which("node", path=variables["PATH"]) is None
    command = [programs / "collum", "demo", "--check"]
    answer = subprocess.run(command, cwd=tmp_path, env=variables, capture_output=True, text=True, check=False)
    assert answer.returncode == 0, answer.stdout + answer.stderr


def test_the_wheel_holds_what_it_needs_and_nothing_else(wheel: Path) -> None:
    names = zipfile.ZipFile(wheel).namelist()
    for needed in ("collum/web/static/index.html", "collum/wording/en/plan.toml", "collum/web/static/.made-from"):
        assert needed in names
    assert any(name.endswith("/licenses/LICENSE") for name in names)
    assert any(name.endswith("/licenses/THIRD_PARTY.md") for name in names)
    assert [name for name in names if not name.startswith(("collum/", "collum-"))] == []
    assert wheel.stat().st_size <= LARGEST_WHEEL_BYTES


def test_packing_is_refused_in_words_when_the_browser_part_is_stale_or_absent(clone: Path, tmp_path: Path) -> None:
    copy = tmp_path / "copy"
    shutil.copytree(clone, copy, ignore=shutil.ignore_patterns("dist", "unpacked"))
    page = copy / frontend_stamp.SOURCES / frontend_stamp.FIRST_PAGE
    page.write_text(page.read_text(encoding="utf-8") + "<!-- changed -->", encoding="utf-8")
    assert "is absent or older than" in refused(copy)
    shutil.rmtree(copy / frontend_stamp.BUILT)
    assert "is absent or older than" in refused(copy)


def build(folder: Path, *what: str) -> None:
    """Build in place with the backend that is installed here."""
    command = [sys.executable, "-m", "build", "--no-isolation", *what]
    answer = subprocess.run(command, cwd=folder, env=without_machine_path(), capture_output=True, text=True, check=False)
    assert answer.returncode == 0, answer.stdout + answer.stderr


def refused(folder: Path) -> str:
    """Return what the backend says when it will not build."""
    command = [sys.executable, "-m", "build", "--no-isolation", "--wheel"]
    answer = subprocess.run(command, cwd=folder, env=without_machine_path(), capture_output=True, text=True, check=False)
    assert answer.returncode != 0
    return answer.stdout + answer.stderr


def without_machine_path() -> dict[str, str]:
    """Return the environment without any way to Node."""
    return {**os.environ, "PATH": str(Path(sys.executable).parent)}

"""Set-up installs the locks with the pip that each supported Python brings along, also where a newer release has appeared."""

import hashlib
import subprocess
import sys
import zipfile
from pathlib import Path

import pytest

from tests.contracts.pips import HERE, fetched_pip
from tests.contracts.tracked import ROOT
from tools import set_up

# The locks are tried with the pips that releases of this Python bring along: the oldest, and the one that resolves most
# eagerly. Upkeep is tried with that one; another test has it install `run`, and what `make test` needs was installed by its own
# set-up. The packages made here, which show the same fault without a network, are tried with every pip.
LEVELS_OF = {"22.3": ("run",), "23.2.1": ("upkeep",), "24.2": ("run",), "25.2": ("run",)}
LEVELS = [(version, level) for version in HERE if version in (HERE[0], "23.2.1") for level in LEVELS_OF[version]]
pytestmark = [pytest.mark.slow, pytest.mark.timeout(600)]


@pytest.fixture(scope="session")
def pips(tmp_path_factory: pytest.TempPathFactory) -> dict[str, Path]:
    """Each pip as the wheel it comes in, which can be run as it is."""
    return {version: fetched_pip(version, tmp_path_factory.mktemp("pip")) for version in HERE}


@pytest.mark.parametrize("version", HERE)
def test_a_locked_package_with_an_extra_is_installed_though_a_newer_release_is_there(
    version: str, pips: dict[str, Path], tmp_path: Path
) -> None:
    first = wheel(tmp_path, "first", "1.0", "Requires-Dist: second[extra]>=1")
    second = wheel(tmp_path, "second", "1.0", "Provides-Extra: extra")
    wheel(tmp_path, "second", "2.0", "Provides-Extra: extra")
    (tmp_path / "requirements").mkdir()
    (tmp_path / "requirements/test.lock").write_text(f"first==1.0 {hash_of(first)}\nsecond==1.0 {hash_of(second)}\n")
    said = tried(pips[version], "test", tmp_path, "--no-index", "--find-links", str(tmp_path))
    assert said.splitlines()[-1] == "Would install first-1.0 second-1.0"


@pytest.mark.parametrize(("version", "level"), LEVELS)
def test_the_locks_of_a_level_install_as_they_are(version: str, level: str, pips: dict[str, Path]) -> None:
    assert "Would install" in tried(pips[version], level, ROOT)


def test_what_is_installed_here_fits_together(pips: dict[str, Path]) -> None:
    answer = subprocess.run([sys.executable, f"{pips[HERE[0]]}/pip", "check"], capture_output=True, text=True, check=False)
    assert answer.returncode == 0, answer.stdout


def test_packages_that_do_not_fit_together_end_set_up_with_one_sentence(
    monkeypatch: pytest.MonkeyPatch, capsys: pytest.CaptureFixture[str]
) -> None:
    answer = subprocess.CompletedProcess([], 1, stdout="first 1.0 requires second, which is not installed.\n", stderr="")
    monkeypatch.setattr(set_up.subprocess, "run", lambda *_, **__: answer)
    with pytest.raises(SystemExit) as stopped:
        set_up.Environment(ROOT / ".venv").check("run")
    assert stopped.value.code == 1
    said = capsys.readouterr().err
    assert said.count("\n") == 1 and "'run' do not fit together: first 1.0 requires second, which is not installed." in said


def tried(pip: Path, level: str, folder: Path, *more: str) -> str:
    """Return what a pip says that it would install for a level, by the very arguments that set-up uses."""
    command = [sys.executable, f"{pip}/pip", *set_up.locked_packages(level), "--dry-run", "--ignore-installed", *more]
    answer = subprocess.run(command, cwd=folder, capture_output=True, text=True, check=False)
    assert answer.returncode == 0, f"pip {pip.name} (does the package registry answer?): {answer.stderr[-2000:]}"
    return answer.stdout


def wheel(folder: Path, name: str, version: str, told: str) -> Path:
    """Return a wheel that holds one empty module and one line about itself."""
    path = folder / f"{name}-{version}-py3-none-any.whl"
    about = f"{name}-{version}.dist-info"
    with zipfile.ZipFile(path, "w") as packed:
        packed.writestr(f"{name}.py", "")
        packed.writestr(f"{about}/METADATA", f"Metadata-Version: 2.1\nName: {name}\nVersion: {version}\n{told}\n")
        packed.writestr(f"{about}/WHEEL", "Wheel-Version: 1.0\nRoot-Is-Purelib: true\nTag: py3-none-any\n")
        packed.writestr(f"{about}/RECORD", "")
    return path


def hash_of(path: Path) -> str:
    """Return the option of a lock file that gives the hash of a file."""
    return f"--hash=sha256:{hashlib.sha256(path.read_bytes()).hexdigest()}"

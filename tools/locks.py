"""Write the lock files, or say whether they are still what the package index would give today.

The locks hold names, versions and hashes, never an address: where packages come from is a matter of the user's own pip and
npm settings. Run by `make lock` and `make lock-check` inside the environment of upkeep, which has `uv`.
"""

from __future__ import annotations

import shutil
import subprocess
import sys
import tempfile
from pathlib import Path

ROOT = Path(__file__).resolve().parent.parent
LOWEST_PYTHON = "3.11"
# In this order: each later lock is held to the versions of the earlier ones.
INPUTS_OF = {
    "run": ("pyproject.toml",),
    "build": ("requirements/build.in",),
    "test": ("pyproject.toml", "requirements/test.in"),
    "bench": ("pyproject.toml", "requirements/bench.in"),
    "upkeep": ("requirements/upkeep.in",),
}
WHEEL_PLATFORMS = ("x86_64-unknown-linux-gnu", "aarch64-unknown-linux-gnu", "aarch64-apple-darwin", "x86_64-pc-windows-msvc")
SUPPORTED_PYTHONS = ("3.11", "3.12", "3.13", "3.14")


def main(arguments: list[str]) -> int:
    """Write the locks (`write`) or compare them with fresh ones (`check`); return the exit code."""
    if arguments == ["write"]:
        for name in INPUTS_OF:
            _compile(name, into=ROOT)
        return 0
    if arguments == ["check"]:
        return _check()
    print("usage: locks.py write | check", file=sys.stderr)
    return 2


def _compile(name: str, *, into: Path) -> None:
    command = [_uv(), "pip", "compile", "--quiet", "--universal", "--generate-hashes", "--no-emit-index-url"]
    command += ["--no-header", "--no-annotate", "--python-version", LOWEST_PYTHON, "--output-file", f"requirements/{name}.lock"]
    subprocess.run([*command, *INPUTS_OF[name]], cwd=into, check=True)


def _check() -> int:
    stale: list[str] = []
    with tempfile.TemporaryDirectory() as folder:
        copy = Path(folder)
        shutil.copytree(ROOT / "requirements", copy / "requirements")
        shutil.copy(ROOT / "pyproject.toml", copy / "pyproject.toml")
        for name in INPUTS_OF:
            _compile(name, into=copy)
            fresh = (copy / f"requirements/{name}.lock").read_bytes()
            if fresh != (ROOT / f"requirements/{name}.lock").read_bytes():
                stale.append(name)
    for name in stale:
        print(f"requirements/{name}.lock does not fit its inputs: run `make lock`", file=sys.stderr)
    return 1 if stale or not _wheels_everywhere() else 0


def _wheels_everywhere() -> bool:
    """Say whether the run lock installs from wheels alone on every supported platform and Python."""
    all_found = True
    for platform in WHEEL_PLATFORMS:
        for python in SUPPORTED_PYTHONS:
            command = [_uv(), "pip", "compile", "--quiet", "--only-binary", ":all:", "--python-platform", platform]
            command += ["--python-version", python, "--constraints", "requirements/run.lock", "pyproject.toml"]
            found = subprocess.run(command, cwd=ROOT, stdout=subprocess.DEVNULL, check=False).returncode == 0
            print(f"wheels only, {platform}, Python {python}: {'found' if found else 'NOT FOUND'}")
            all_found = all_found and found
    return all_found


def _uv() -> str:
    beside_this_python = Path(sys.executable).with_name("uv.exe" if sys.platform == "win32" else "uv")
    return str(beside_this_python) if beside_this_python.exists() else "uv"


if __name__ == "__main__":
    raise SystemExit(main(sys.argv[1:]))

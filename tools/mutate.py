"""Plant each fault of tests/mutations.toml in a copy of the program and see that the tests named there catch it.

A fault that survives means that a limit, a sign or a comparison stands unguarded. Arguments are the numbers of faults to plant;
without them all are. `make test` compares the list with the source, so a fault that cannot be planted is noticed.
"""

from __future__ import annotations

import os
import shutil
import subprocess
import sys
import tempfile
import time
import tomllib
from dataclasses import dataclass
from pathlib import Path

ROOT = Path(__file__).resolve().parent.parent
LIST = ROOT / "tests/mutations.toml"


@dataclass(frozen=True, slots=True, kw_only=True)
class Mutation:
    """One fault: in `path` the text `old` becomes `new`; `tests` must notice."""

    path: str
    old: str
    new: str
    tests: tuple[str, ...]


def main(arguments: list[str]) -> int:
    """Plant the faults and print each with its fate; return 1 when one survived."""
    chosen = [int(argument) for argument in arguments] or list(range(1, len(mutations()) + 1))
    survived: list[int] = []
    with tempfile.TemporaryDirectory() as folder:
        copy = copy_of_the_program(Path(folder))
        for number in chosen:
            mutation = mutations()[number - 1]
            started_s = time.monotonic()
            caught = is_caught(mutation, copy)
            fate = "caught  " if caught else "SURVIVED"
            took_s = time.monotonic() - started_s
            print(f"{number:3} {fate} {took_s:5.1f} s  {mutation.path}: {mutation.old!r} -> {mutation.new!r}", flush=True)
            if not caught:
                survived.append(number)
    print(f"{len(chosen) - len(survived)} of {len(chosen)} caught; survived: {survived or 'none'}")
    return 1 if survived else 0


def mutations() -> list[Mutation]:
    """Return the faults in the order of the list."""
    entries = tomllib.loads(LIST.read_text(encoding="utf-8"))["mutation"]
    return [Mutation(path=e["path"], old=e["old"], new=e["new"], tests=tuple(e["tests"])) for e in entries]


def copy_of_the_program(folder: Path) -> Path:
    """Copy what the tests need; return the root of the copy."""
    without = shutil.ignore_patterns("__pycache__", "static", "node_modules", "*.egg-info")
    for part in ("src", "tests", "docs", "tools"):
        shutil.copytree(ROOT / part, folder / part, ignore=without)
    shutil.copy(ROOT / "pyproject.toml", folder)
    return folder


def is_caught(mutation: Mutation, copy: Path) -> bool:
    """Plant one fault in the copy, run its tests, take the fault out again; return whether a test failed."""
    path = copy / mutation.path
    whole = path.read_text(encoding="utf-8")
    if whole.count(mutation.old) != 1:
        raise ValueError(f"{mutation.path}: {mutation.old!r} stands there {whole.count(mutation.old)} times, not once")
    path.write_text(whole.replace(mutation.old, mutation.new), encoding="utf-8")
    try:
        variables = {**os.environ, "PYTHONPATH": str(copy / "src"), "PYTHONDONTWRITEBYTECODE": "1"}
        command = [sys.executable, "-m", "pytest", "-q", "-x", "-p", "no:cacheprovider", *mutation.tests]
        answer = subprocess.run(command, cwd=copy, env=variables, capture_output=True, text=True, check=False)
    finally:
        path.write_text(whole, encoding="utf-8")
    if answer.returncode not in (0, 1):
        raise RuntimeError(f"the tests of this fault could not run:\n{answer.stdout}{answer.stderr}")
    return answer.returncode == 1


if __name__ == "__main__":
    raise SystemExit(main(sys.argv[1:]))

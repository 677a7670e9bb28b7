"""Plant each fault of tests/mutations.toml in a copy of the program and see that the tests named there catch it.

A fault that survives means that a limit, a sign or a comparison stands unguarded. Arguments are the numbers of faults to plant;
without them all are. `make test` compares the list with the source, so a fault that cannot be planted is noticed. A test of the
browser part is named as `frontend/tests/x.test.ts` and is run by Vitest with the packages of the checkout.
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
BROWSER_PART = "frontend/"


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
    for part in ("src", "tests", "docs", "tools", "frontend"):
        shutil.copytree(ROOT / part, folder / part, ignore=without)
    (folder / "frontend/node_modules").symlink_to(ROOT / "frontend/node_modules")
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
        return any(_fails(command, folder) for command, folder in _commands(mutation, copy))
    finally:
        path.write_text(whole, encoding="utf-8")


def _commands(mutation: Mutation, copy: Path) -> list[tuple[list[str], Path]]:
    """Return the commands that run the tests of a fault, each with the folder it is run in."""
    of_browser = [test.removeprefix(BROWSER_PART) for test in mutation.tests if test.startswith(BROWSER_PART)]
    of_program = [test for test in mutation.tests if not test.startswith(BROWSER_PART)]
    pytest = [sys.executable, "-m", "pytest", "-q", "-x", "-p", "no:cacheprovider", *of_program]
    vitest = ["node", "node_modules/vitest/vitest.mjs", "run", "--bail=1", *of_browser]
    return [*([(pytest, copy)] if of_program else []), *([(vitest, copy / BROWSER_PART)] if of_browser else [])]


def _fails(command: list[str], folder: Path) -> bool:
    """Run tests in the copy; return whether one failed. Raises RuntimeError where they could not run."""
    copy = folder.parent if folder.name == BROWSER_PART.rstrip("/") else folder
    variables = {**os.environ, "PYTHONPATH": str(copy / "src"), "PYTHONDONTWRITEBYTECODE": "1"}
    answer = subprocess.run(command, cwd=folder, env=variables, capture_output=True, text=True, check=False)
    if answer.returncode not in (0, 1) or "No test files found" in answer.stderr + answer.stdout:
        raise RuntimeError(f"the tests of this fault could not run:\n{answer.stdout}{answer.stderr}")
    return answer.returncode == 1


if __name__ == "__main__":
    raise SystemExit(main(sys.argv[1:]))

"""Check form, types and the tests of what changed: `make quick`, for the minute between two edits.

What changed is every file that differs from the merge base with main, committed or not. The names of the tests mirror those of
the source; slow and browser tests are left to `make test`, and so is what would not end within the time of this command.
"""

from __future__ import annotations

import subprocess
import sys
import time
from collections.abc import Callable, Iterable
from pathlib import PurePosixPath

import pytest

from tools.set_up import ROOT

TESTS_FOR_S = 35  # the rest of the minute is for the start and for the types
TRUNK = ("main", "origin/main")
MARKED = "not slow and not browser and not campaign"
# Folders of the source whose tests have another name.
OTHERWISE = {"demo_practice": "demo"}
FRONTEND = "frontend/"
SCREEN = (FRONTEND, "src/collum/wording/")
LINTED = (".ts", ".svelte")


class Budget:
    """Ends a run of pytest once its time is used up, between two tests."""

    def __init__(self, seconds: float) -> None:
        """Begin to count now."""
        self.ends_s = time.monotonic() + seconds
        self.used_up = False
        self.left = 0

    def pytest_collection_finish(self, session: pytest.Session) -> None:
        """Note how many tests there are to run."""
        self.left = len(session.items)

    @pytest.hookimpl(hookwrapper=True)
    def pytest_runtest_protocol(self, item: pytest.Item) -> Iterable[None]:
        """Count a test, and stop after it if the time is used up and others are left."""
        yield
        self.left -= 1
        if self.left and time.monotonic() > self.ends_s:
            self.used_up = True
            item.session.shouldstop = "the time of `make quick` is used up"


def main() -> int:
    """Run form and types beside the tests of what changed; return 0 if all of it passed."""
    changed = changed_files()
    beside = {"lint": checks("lint")}
    if any(path.startswith(SCREEN) for path in changed):
        linted = linted_of(changed, lambda path: (ROOT / path).exists())
        beside["browser-part"] = checks("browser-part", *([] if linted is None else ["--lint", *linted]))
    passed = run_tests(tests_of_all(changed, lambda path: (ROOT / path).exists()))
    for process in beside.values():
        told, _ = process.communicate()
        print(told, end="", flush=True)
        passed = passed and process.returncode == 0
    return 0 if passed else 1


def changed_files() -> list[str]:
    """Return the paths that differ from the merge base with main, those not committed yet first."""
    bases = (git("merge-base", "HEAD", trunk) for trunk in TRUNK)
    base = next((found[0] for found in bases if found), "HEAD")
    in_hand = (*git("diff", "--name-only", "HEAD"), *git("ls-files", "--others", "--exclude-standard"))
    return list(dict.fromkeys([*in_hand, *git("diff", "--name-only", base)]))


def tests_of_all(changed: Iterable[str], exists: Callable[[str], bool]) -> list[str]:
    """Return the tests of all paths in their order, but single files before folders, and each once."""
    found = dict.fromkeys(tests for path in changed if (tests := tests_of(path, exists)))
    return sorted(found, key=lambda tests: not tests.endswith(".py"))


def tests_of(path: str, exists: Callable[[str], bool]) -> str | None:
    """Return the nearest test file of a path's name, else the nearest folder of tests, or None where there is none."""
    parts = PurePosixPath(path).parts
    if parts[0] == "tests":
        return path if parts[-1].startswith("test_") and exists(path) else None
    if parts[:2] == ("src", "collum") and len(parts) > 3:
        top = OTHERWISE.get(parts[2], parts[2])
        folder = PurePosixPath("tests", top, *parts[3:-1])
    elif parts[0] in ("frontend", "benchmarks", "campaigns", "examples"):
        return None
    else:  # tools, pages and descriptions of the whole
        folder = PurePosixPath("tests/contracts")
    near = (folder, *folder.parents[:-2])
    named = (at / f"test_{PurePosixPath(path).stem}.py" for at in near)
    return next((str(tests) for tests in (*named, *near) if exists(str(tests))), None)


def run_tests(tests: list[str]) -> bool:
    """Run the tests that are neither slow nor in the browser, as many as the time allows; say whether they passed."""
    if not tests:
        print("collum: no tests mirror what changed", flush=True)
        return True
    budget = Budget(TESTS_FOR_S)
    code = pytest.main(["-q", "-p", "no:cacheprovider", "-m", MARKED, *tests], plugins=[budget])
    if budget.used_up:
        print(
            f"collum: {budget.left} tests of what changed were left out after {TESTS_FOR_S} s; `make test` runs them",
            flush=True,
        )
        return code == pytest.ExitCode.INTERRUPTED
    return code in (pytest.ExitCode.OK, pytest.ExitCode.NO_TESTS_COLLECTED)


def linted_of(changed: Iterable[str], exists: Callable[[str], bool]) -> list[str] | None:
    """Return which files of the browser part are linted, or None for all of them.

    All where a file changed that says how; linting them takes longer than everything else about the browser part.
    """
    parts = [path.removeprefix(FRONTEND) for path in changed if path.startswith(FRONTEND) and exists(path)]
    if not all(path.startswith(("src/", "tests/")) for path in parts):
        return None
    return [path for path in parts if path.endswith(LINTED)]


def checks(*part: str) -> subprocess.Popen[str]:
    """Start one part of the checks; what it prints is kept until it is asked for."""
    command = [sys.executable, "-m", "tools.checks", *part]
    return subprocess.Popen(command, cwd=ROOT, stdout=subprocess.PIPE, stderr=subprocess.STDOUT, text=True)


def git(*arguments: str) -> list[str]:
    """Return the lines that git prints, and none where it fails."""
    answer = subprocess.run(["git", *arguments], cwd=ROOT, capture_output=True, text=True, check=False)
    return answer.stdout.splitlines() if answer.returncode == 0 else []


if __name__ == "__main__":
    raise SystemExit(main())

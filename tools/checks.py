"""Run every check: form, types, direction of imports, the browser part, the tests. `make test` and `make lint` call this.

All stages run even when an early one fails, so that one run shows everything; the tests come last and their summary names the
stages that failed before. Without a browser the browser tests are left out, the last line says so, and the run still counts,
unless COLLUM_REQUIRE=browser asks for them.
"""

from __future__ import annotations

import json
import os
import subprocess
import sys
import time
from collections.abc import Callable
from concurrent.futures import ThreadPoolExecutor
from functools import partial
from pathlib import Path

from tools import browser, browser_part, set_up, tracer

ROOT = set_up.ROOT
NO_BROWSER = "browser tests NOT RUN (no Chromium)"
NO_TRACER = "order of flush and answer NOT RUN (no strace, or it may not trace here)"
LINT = {
    "mypy": ["mypy"],
    "ruff format": ["ruff", "format", "--check", "."],
    "ruff check": ["ruff", "check", "--quiet", "."],
    "import contracts": ["lint-imports"],
}
# Scripts of frontend/package.json; one that is not there is a fault of the list, not a reason to be silent.
BROWSER_PART = ("lint", "check", "test")
BESIDE = 2  # stages at a time, each on one core; those that take longest come first in both lists
# Twice the two cores that the limit of time is for: tests also wait for a browser, a registry, a disk or another process.
SHARED_OUT = ("-n", "4", "--dist=loadscope", "--no-loadscope-reorder")
# The parts in which every branch counts; too few of them taken is a failed run.
COVERAGE = (
    *(f"--cov=src/collum/{part}" for part in ("core", "plan", "wire", "case", "records")),
    "--cov-branch",
    "--cov-fail-under=90",
)
Stage = Callable[[], bool]  # runs it and says whether it passed
PARTS = ("all", "lint", "browser-part", "python")


def main(arguments: list[str]) -> int:
    """Run the checks named: `all`, `lint`, `browser-part`, or `python` (the tests alone, with further arguments for pytest).

    `browser-part --lint FILE ...` lints these files of frontend/ alone, and none where none are named.
    """
    if not arguments or arguments[0] not in PARTS:
        print(f"usage: checks.py {' | '.join(PARTS)} [arguments for pytest]", file=sys.stderr)
        return 2
    part, rest = arguments[0], arguments[1:]
    linted = rest[1:] if part == "browser-part" and rest[:1] == ["--lint"] else None
    stages = lint_stages() if part in ("all", "lint") else {}
    if part in ("all", "browser-part"):
        stages |= browser_part_stages(linted)
    with ThreadPoolExecutor(BESIDE) as beside:
        passed = list(beside.map(lambda stage: stage(), stages.values()))
    failed = [name for name, did in zip(stages, passed, strict=True) if not did]
    if part in ("lint", "browser-part"):
        return 1 if failed else 0
    return run_tests(failed_before=failed, arguments=rest)


def lint_stages() -> dict[str, Stage]:
    """Return the stages that check form, types and direction of imports."""
    return {name: partial(_stage, name, command) for name, command in LINT.items()}


def browser_part_stages(linted: list[str] | None = None) -> dict[str, Stage]:
    """Return the stages of the browser part, linting all of it or the files named, with what they need installed."""
    only = {} if linted is None else {"lint": linted}
    browser_part.set_up_sources(ROOT, set_up.Environment(Path(sys.prefix)).node())
    return {f"browser part: {name}": partial(_npm_stage, name, only.get(name)) for name in BROWSER_PART if only.get(name) != []}


def run_tests(*, failed_before: list[str], arguments: list[str]) -> int:
    """Run pytest over everything this machine can run; return the exit code of the whole."""
    chromium = browser.obtain()
    required = "browser" in os.environ.get("COLLUM_REQUIRE", "").split(",")
    if chromium is None and required:
        print("collum: COLLUM_REQUIRE=browser, but there is no Chromium and it cannot be installed here", file=sys.stderr)
        return 1
    variables = dict(os.environ)
    traced = tracer.obtain()
    left_out = ["campaign", *([] if chromium else ["browser"]), *([] if traced else ["strace"])]
    if chromium:
        variables[browser.VARIABLE] = chromium
    command = [sys.executable, "-m", "pytest", *SHARED_OUT, "--durations=15", "--count-skips"]
    command += ["-m", " and ".join(f"not {mark}" for mark in left_out)]
    command += ["--failed-before", ", ".join(failed_before), *(arguments or COVERAGE)]
    code = subprocess.run(command, cwd=ROOT, env=variables, check=False).returncode
    if traced is None:
        print(NO_TRACER, flush=True)
    if chromium is None:
        print(NO_BROWSER, flush=True)
    return code


def _npm_stage(script: str, files: list[str] | None) -> bool:
    environment = set_up.Environment(Path(sys.prefix))
    if script not in json.loads((ROOT / "frontend/package.json").read_text(encoding="utf-8"))["scripts"]:
        print(f"collum: frontend/package.json has no script {script!r}", file=sys.stderr)
        return False
    npm = [str(environment.node().program), str(environment.node().npm)]
    command = [*npm, "run", "--silent", script] if files is None else [*npm, "exec", "--offline", "--", "eslint", *files]
    return _stage(f"browser part: {script}", command, folder=ROOT / "frontend", variables=environment.variables())


def _stage(name: str, command: list[str], *, folder: Path = ROOT, variables: dict[str, str] | None = None) -> bool:
    """Run one stage and print how long it took; what it printed itself is shown only when it failed."""
    started_s = time.monotonic()
    answer = subprocess.run(command, cwd=folder, env=variables, capture_output=True, text=True, check=False)
    passed = answer.returncode == 0
    print(f"{name:<28} {'passed' if passed else 'FAILED'} in {time.monotonic() - started_s:5.1f} s", flush=True)
    if not passed:
        print(answer.stdout + answer.stderr, flush=True)
    return passed


if __name__ == "__main__":
    raise SystemExit(main(sys.argv[1:]))

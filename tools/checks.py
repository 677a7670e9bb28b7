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
from concurrent.futures import ThreadPoolExecutor
from pathlib import Path

from tools import browser, browser_part, set_up, tracer

ROOT = set_up.ROOT
NO_BROWSER = "browser tests NOT RUN (no Chromium)"
NO_TRACER = "order of flush and answer NOT RUN (no strace, or it may not trace here)"
LINT = {
    "ruff format": ["ruff", "format", "--check", "."],
    "ruff check": ["ruff", "check", "--quiet", "."],
    "mypy": ["mypy"],
    "import contracts": ["lint-imports"],
}
# Scripts of frontend/package.json, in this order; one that is not there is a fault of the list, not a reason to be silent.
BROWSER_PART = ("check", "lint", "test")
# One more than the two cores that the limit of time is for: tests also wait for a browser, a registry or a clock.
SHARED_OUT = ("-n", "3", "--dist=loadscope", "--no-loadscope-reorder")
# The parts in which every branch counts; too few of them taken is a failed run.
COVERAGE = (
    *(f"--cov=src/collum/{part}" for part in ("core", "plan", "wire", "case", "records")),
    "--cov-branch",
    "--cov-fail-under=90",
)
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
    checks = (("lint", lint), ("browser-part", lambda: check_browser_part(linted)))
    wanted = [check for name, check in checks if part in ("all", name)]
    with ThreadPoolExecutor() as beside:  # each of the two uses one core alone
        failed = [name for names in beside.map(lambda check: check(), wanted) for name in names]
    if part in ("lint", "browser-part"):
        return 1 if failed else 0
    return run_tests(failed_before=failed, arguments=rest)


def lint() -> list[str]:
    """Check form, types and direction of imports; return the names of the stages that failed."""
    return [name for name, command in LINT.items() if not _stage(name, command)]


def check_browser_part(linted: list[str] | None = None) -> list[str]:
    """Run the scripts of the browser part, linting all of it or the files named; return the names of those that failed."""
    only = {} if linted is None else {"lint": linted}
    return [name for name in BROWSER_PART if only.get(name) != [] and not _npm_stage(name, only.get(name))]


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
    browser_part.set_up_sources(ROOT, environment.node())
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

"""Ask the public lists of known faults about everything the locks name, and write the dated answer to docs/audit.md.

Needs the network; run by `make audit` in the environment of upkeep. `make test` checks only what is local.
"""

from __future__ import annotations

import subprocess
import sys
from datetime import UTC, datetime
from pathlib import Path

from tools import bootstrap

ROOT = bootstrap.ROOT
PAGE = ROOT / "docs/audit.md"
LOCKS = ("run", "build", "test", "bench", "upkeep")


def main() -> int:
    """Audit both worlds, write the page, and return 0 only when every answer came and named no fault."""
    today = datetime.now(tz=UTC).date().isoformat()  # noqa: TID251 - the date of the audit is its point
    rows = [f"| {name} | {answer} |" for name, answer in (*_python(), _browser_part())]
    head = ["# Known faults of what Collum depends on", "", f"Asked by `make audit` on {today}.", ""]
    PAGE.write_text("\n".join([*head, "| lock | answer |", "|---|---|", *rows]) + "\n", encoding="utf-8")
    print(PAGE.read_text(encoding="utf-8"))
    return 0 if all("none known" in row for row in rows) else 1


def _python() -> list[tuple[str, str]]:
    rows = []
    for name in LOCKS:
        command = [sys.executable, "-m", "pip_audit", "--require-hashes", "--disable-pip", "-r", f"requirements/{name}.lock"]
        rows.append((f"requirements/{name}.lock", _answer(command, ROOT)))
    return rows


def _browser_part() -> tuple[str, str]:
    environment = bootstrap.Environment(ROOT / ".venv")
    command = [str(environment.node()), str(environment.npm()), "audit", "--audit-level=low"]
    return "frontend/package-lock.json", _answer(command, ROOT / "frontend")


def _answer(command: list[str], folder: Path) -> str:
    answer = subprocess.run(command, cwd=folder, capture_output=True, text=True, check=False)
    if answer.returncode == 0:
        return "none known"
    print(answer.stdout + answer.stderr, file=sys.stderr)
    return "**faults known, or no answer from the registry in use**; its words stand on the terminal, not here"


if __name__ == "__main__":
    raise SystemExit(main())

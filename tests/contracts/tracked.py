"""Which files belong to the project: what git tracks, as paths below the root."""

from __future__ import annotations

import subprocess
from functools import cache
from pathlib import Path

ROOT = Path(__file__).resolve().parents[2]


@cache
def tracked_files() -> tuple[Path, ...]:
    """Return every tracked file that is still there, absolute, in git's order."""
    answer = subprocess.run(["git", "ls-files", "-z"], cwd=ROOT, capture_output=True, check=True)
    names = answer.stdout.decode().split("\0")
    return tuple(path for name in names if name and (path := ROOT / name).is_file())


def text_of(path: Path) -> str | None:
    """Return the text of a file, or None where it is not text."""
    try:
        return path.read_text(encoding="utf-8")
    except UnicodeDecodeError:
        return None

"""Remove everything that was built or installed in this clone; the demo practice and everything git tracks stay."""

from __future__ import annotations

import shutil
from pathlib import Path

ROOT = Path(__file__).resolve().parent.parent
MADE = (
    *(
        ".venv",
        ".venv-upkeep",
        ".mypy_cache",
        ".pytest_cache",
        ".ruff_cache",
        ".import_linter_cache",
        ".hypothesis",
        ".coverage",
    ),
    *("dist", "build", "frontend/node_modules", "frontend/src/api/schema.d.ts", "src/collum/web/static"),
)


def main() -> int:
    """Remove what set-up, build and checks made; return the exit code."""
    for name in MADE:
        path = ROOT / name
        if path.is_dir():
            shutil.rmtree(path)
        else:
            path.unlink(missing_ok=True)
    for place in ("src", "tests", "tools", "benchmarks", "campaigns"):
        for cache in list((ROOT / place).rglob("__pycache__")):
            shutil.rmtree(cache)
    return 0


if __name__ == "__main__":
    raise SystemExit(main())

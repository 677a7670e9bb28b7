"""Say from which sources the built browser part was made, and whether they are still the same.

The digest covers every file of `frontend/` that can change the result and the catalogue of sentences the screens are built
with. It is written beside the built files, so that a later start, the packing of the wheel and a reader of a shipped wheel can
all answer the same question without Node and without git.
"""

from __future__ import annotations

import hashlib
from pathlib import Path

SOURCES = "frontend"
SENTENCES = "src/collum/wording/en"
BUILT = "src/collum/web/static"
STAMP = ".made-from"
FIRST_PAGE = "index.html"
# Types alone, made from openapi.json at set-up: nothing that is built depends on them.
TYPES = "frontend/src/api/schema.d.ts"
# Folders in frontend/ that are results or belong to a tool, never sources.
NOT_SOURCES = frozenset({"node_modules", "dist", "coverage", "test-results", ".svelte-kit", ".vite"})


def sources_digest(root: Path) -> str:
    """Return the SHA-256 over names and contents of all sources of the browser part, in hexadecimal."""
    digest = hashlib.sha256()
    for path in _sources(root):
        content = path.read_bytes()
        digest.update(f"{path.relative_to(root).as_posix()} {len(content)}\n".encode())
        digest.update(content)
    return digest.hexdigest()


def is_current(root: Path) -> bool:
    """Say whether the built browser part is there, whole, and made from today's sources."""
    stamp = root / BUILT / STAMP
    if not stamp.is_file() or not (root / BUILT / FIRST_PAGE).is_file():
        return False
    return stamp.read_text(encoding="utf-8").strip() == sources_digest(root)


def write_stamp(root: Path, digest: str) -> None:
    """Write beside the built files the digest of the sources they were made from."""
    (root / BUILT / STAMP).write_text(f"{digest}\n", encoding="utf-8")


def _sources(root: Path) -> list[Path]:
    found = [
        path
        for path in (root / SOURCES).rglob("*")
        if path.is_file() and path != root / TYPES and not NOT_SOURCES.intersection(path.relative_to(root / SOURCES).parts)
    ]
    found += (root / SENTENCES).glob("*.toml")
    return sorted(found, key=lambda path: path.relative_to(root).as_posix())

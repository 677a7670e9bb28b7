"""Small files in the data directory for its owner alone."""

import os
from pathlib import Path


def write_own(file: Path, text: str) -> None:
    """Write a file that only its owner may read; it appears whole. Raises OSError."""
    beside = file.with_name(f".{file.name}")
    with os.fdopen(os.open(beside, os.O_WRONLY | os.O_CREAT | os.O_TRUNC, 0o600), "w", encoding="utf-8") as out:
        out.write(text)
    beside.replace(file)

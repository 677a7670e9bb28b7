"""Writing what a command made."""

import os
from collections.abc import Iterable
from pathlib import Path

from collum.cli.ending import trouble


def write_whole(target: Path, data: bytes) -> None:
    """Write a file whole or not at all; see `write_parts`."""
    write_parts(target, [data])


def write_parts(target: Path, parts: Iterable[bytes]) -> None:
    """Write a file whole or not at all: into a file of ours beside the target, which then takes its name."""
    beside = target.with_name(f".{target.name[:200]}.{os.getpid()}.part")
    try:
        with os.fdopen(os.open(beside, os.O_WRONLY | os.O_CREAT | os.O_EXCL, 0o600), "wb") as file:
            for part in parts:
                file.write(part)
            file.flush()
            os.fsync(file.fileno())
        beside.replace(target)
    except OSError:
        trouble("target")
    finally:
        beside.unlink(missing_ok=True)

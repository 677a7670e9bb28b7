"""Reading a case for a command, from a file or the standard input."""

import sys
from pathlib import Path
from typing import TYPE_CHECKING

from collum.cli.ending import faulty

if TYPE_CHECKING:
    from collum.case import Case

_MOST_READ_BYTES = 1_000_001  # one more than a case file may have: enough to see that it has too many


def read_case(name: str) -> "Case":
    """Return the case in the file `name`, or on the standard input where it is `-`. Raises CaseFaults."""
    from collum.case import kind_of, read

    data = _bytes_of(name)
    return read(data, kind=kind_of(name, data))


def _bytes_of(name: str) -> bytes:
    if name == "-":
        return sys.stdin.buffer.read(_MOST_READ_BYTES)
    try:
        with Path(name).open("rb") as file:
            return file.read(_MOST_READ_BYTES)
    except (OSError, ValueError):
        faulty("CASE", "no_file", "file")

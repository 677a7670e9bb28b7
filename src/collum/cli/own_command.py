"""How the reader has to type this program: by its name where a terminal finds it, else by the path it was started with."""

import shlex
import shutil
import sys
from pathlib import Path

_NAME = "collum"


def own_command(*arguments: str) -> str:
    """Return a command of this program as it can be typed in the terminal that started it."""
    started = Path(sys.argv[0])
    program = _NAME if shutil.which(_NAME) or started.stem != _NAME else str(started)
    return shlex.join([program, *arguments])


def own_program() -> list[str]:
    """Return how another program starts this one: by whole paths, for it may look elsewhere for programs."""
    started = Path(sys.argv[0])
    found = shutil.which(sys.argv[0]) if started.stem == _NAME else None
    beside = Path(sys.executable).with_name(f"{_NAME}{started.suffix if started.stem == _NAME else ''}")
    return [str(Path(found or beside).absolute())]

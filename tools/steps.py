"""Run one step of the set-up: its words go to the standard error, and a step that fails ends it with one clear sentence."""

from __future__ import annotations

import subprocess
import sys
from pathlib import Path
from typing import NoReturn


def say(sentence: str) -> None:
    """Print one sentence of the set-up on the standard error."""
    print(f"collum: {sentence}", file=sys.stderr, flush=True)


def stop(sentence: str) -> NoReturn:
    """End with one sentence and exit code 1."""
    say(sentence)
    raise SystemExit(1)


def checked(command: list[str], *, folder: Path, variables: dict[str, str] | None = None) -> None:
    """Run a command in a folder; end with one sentence that names it if it fails."""
    try:
        code = subprocess.run(command, cwd=folder, env=variables, stdout=sys.stderr, check=False).returncode
    except KeyboardInterrupt:
        raise SystemExit(130) from None
    if code != 0:
        step = " ".join([Path(command[0]).name, *command[1:]])
        stop(f"set-up stopped, because `{step}` ended with {code}; start again when the cause is mended")

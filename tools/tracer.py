"""Find the tracer of system calls that shows whether a save is flushed before its answer, or install it where allowed."""

from __future__ import annotations

import shutil
import subprocess

from tools import browser

NAME = "strace"


def obtain() -> str | None:
    """Return the path of a tracer that may trace here, installing the package of the distribution if none is there."""
    if shutil.which(NAME) is None and browser.may_install():
        browser.install(NAME, "the test of the order of flush and answer")
    found = shutil.which(NAME)
    return found if found is not None and _may_trace(found) else None


def _may_trace(tracer: str) -> bool:
    """Say whether this machine lets one process trace another; some containers do not."""
    tried = [tracer, "-o", "/dev/null", "true"]
    return subprocess.run(tried, stdout=subprocess.DEVNULL, stderr=subprocess.DEVNULL, check=False).returncode == 0

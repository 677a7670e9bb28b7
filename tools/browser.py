"""Find the Chromium that drives the browser tests, or install the one of the distribution where that is allowed.

Nothing is ever downloaded from a place of our own choosing: the order is the variable COLLUM_CHROMIUM, then a browser of the
Chromium family on PATH, then, as root on a machine with apt, the package `chromium`.
"""

from __future__ import annotations

import os
import shutil
import subprocess
import sys

VARIABLE = "COLLUM_CHROMIUM"
FAMILY = (
    "chromium",
    "chromium-browser",
    "google-chrome-stable",
    "google-chrome",
    "chrome",
    "microsoft-edge-stable",
    "microsoft-edge",
    "brave-browser",
    "vivaldi",
)


def find() -> str | None:
    """Return the path of a browser that is there already, or None. A path named in COLLUM_CHROMIUM must exist."""
    named = os.environ.get(VARIABLE)
    if named:
        return shutil.which(named)
    return next((path for name in FAMILY if (path := shutil.which(name))), None)


def obtain() -> str | None:
    """Return the path of a browser, installing the package of the distribution if none is there and that is allowed."""
    found = find()
    if found or os.environ.get(VARIABLE) or not may_install():
        return found
    install("chromium", "the browser tests")
    return find()


def install(package: str, purpose: str) -> None:
    """Install a package of the distribution; where that fails, it is simply not there."""
    print(f"collum: installing the package {package} for {purpose} (once)", file=sys.stderr, flush=True)
    variables = {**os.environ, "DEBIAN_FRONTEND": "noninteractive"}
    subprocess.run(["apt-get", "update", "-qq"], env=variables, check=False)
    command = ["apt-get", "install", "-qq", "--yes", "--no-install-recommends", package]
    subprocess.run(command, env=variables, stdout=subprocess.DEVNULL, check=False)


def may_install() -> bool:
    """Say whether packages of the distribution may be installed: as root, with apt."""
    return hasattr(os, "geteuid") and os.geteuid() == 0 and shutil.which("apt-get") is not None

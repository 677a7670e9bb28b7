"""The releases of pip that set-up has to get on with, and where to get them."""

from __future__ import annotations

import subprocess
import sys
from pathlib import Path

import pytest

# The oldest pip that a release of each supported Python brings along, the SHA-256 of its wheel, and the newest Python that it
# runs on for certain: the one that brings it along. 23.2.1 comes with some releases of 3.11, too.
PIPS = {
    "22.3": ("1daab4b8d3b97d1d763caeb01a4640a2250a0ea899e257b1e44b9eded91e15ab", (3, 11)),
    "23.2.1": ("7ccf472345f20d35bdc9d1841ff5f313260c2c33fe417f48c30ac46cccabf5be", (3, 12)),
    "24.2": ("2cd581cf58ab7fcfca4ce8efa6dcacd0de5bf8d0a3eb9ec927e07405f4d9e2a2", (3, 13)),
    "25.2": ("6d67a2b4e7f14d8b31b8b52648866fa717f45a1eb70e83002f4331d07e953717", (3, 14)),
}
HERE = [version for version, (_, newest) in PIPS.items() if sys.version_info[:2] <= newest]


def fetched_pip(version: str, folder: Path) -> Path:
    """Return the wheel of a pip, from the package registry in use and with its hash checked."""
    (folder / "wanted.txt").write_text(f"pip=={version} --hash=sha256:{PIPS[version][0]}\n", encoding="utf-8")
    command = [sys.executable, "-m", "pip", "download", "--no-deps", "--require-hashes", "-r", "wanted.txt"]
    answer = subprocess.run(command, cwd=folder, capture_output=True, text=True, check=False)
    if answer.returncode != 0:
        pytest.fail(f"pip {version} cannot be fetched to try set-up with it: {answer.stderr[-500:]}", pytrace=False)
    return next(folder.glob("pip-*.whl"))

